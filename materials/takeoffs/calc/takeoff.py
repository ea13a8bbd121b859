"""From what was typed about a shape to what it comes to."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from materials.calc.quantities import MAX_QUANTITY
from materials.takeoffs.calc import (
    beds,
    coverings,
    domes,
    framing,
    frustums,
    ground,
    headroom,
    lumber_faces,
    masonry,
    mixes,
    mixes_by_parts,
    roofs,
    shed_roofs,
    trims,
    walls,
    water,
)
from materials.takeoffs.calc.reading import is_metric, read_inputs
from materials.takeoffs.calc.types import Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say

SHAPES: Final[Mapping[str, Shape]] = MappingProxyType(
    {
        shape.code: shape
        for module in (
            walls,
            framing,
            roofs,
            shed_roofs,
            headroom,
            ground,
            beds,
            water,
            frustums,
            coverings,
            lumber_faces,
            trims,
            masonry,
            mixes,
            mixes_by_parts,
            domes,
        )
        for shape in module.SHAPES
    }
)


def find_shape(code: str) -> Shape:
    """A shape by its code. Raises TakeoffError."""
    if code not in SHAPES:
        raise TakeoffError("There is no such shape: choose one of the list.")
    return SHAPES[code]


def work_out(code: str, typed: Mapping[str, Any]) -> Worked:
    """What a shape comes to. Raises TakeoffError with the first thing that is amiss."""
    shape = find_shape(code)
    values, faults = read_inputs(shape.questions, typed)
    for fault in faults.values():
        raise fault
    worked = shape.work({**values, "say": Say(is_metric(shape.questions, typed))})
    for figure in worked.figures:
        if figure.value > MAX_QUANTITY:
            raise TakeoffError(
                f"{figure.label} comes to more than {MAX_QUANTITY:,}: check the measures and their"
                " units."
            )
    return worked


def as_kept(worked: Worked) -> list[dict[str, str]]:
    """Figures as a takeoff keeps them: plain texts."""
    return [
        {
            "key": figure.key,
            "label": figure.label,
            "typed": figure.typed,
            "formula": figure.formula,
        }
        for figure in worked.figures
    ]
