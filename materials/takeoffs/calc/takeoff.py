"""From what was typed about a shape to what it comes to."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

from materials.calc.quantities import MAX_QUANTITY
from materials.takeoffs.calc import (
    coverings as takeoff_cover,
)
from materials.takeoffs.calc import (
    domes as takeoff_domes,
)
from materials.takeoffs.calc import (
    framing as takeoff_framing,
)
from materials.takeoffs.calc import (
    ground as takeoff_ground,
)
from materials.takeoffs.calc import (
    masonry as takeoff_masonry,
)
from materials.takeoffs.calc import (
    mixes as takeoff_mixes,
)
from materials.takeoffs.calc import (
    roofs as takeoff_roofs,
)
from materials.takeoffs.calc import (
    shed_roofs as takeoff_sheds,
)
from materials.takeoffs.calc import (
    walls as takeoff_walls,
)
from materials.takeoffs.calc import (
    water as takeoff_water,
)
from materials.takeoffs.calc.reading import is_metric, read_inputs
from materials.takeoffs.calc.types import Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say

SHAPES: Final[Mapping[str, Shape]] = MappingProxyType(
    {
        shape.code: shape
        for module in (
            takeoff_walls,
            takeoff_framing,
            takeoff_roofs,
            takeoff_sheds,
            takeoff_ground,
            takeoff_water,
            takeoff_cover,
            takeoff_masonry,
            takeoff_mixes,
            takeoff_domes,
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
    values, faults = read_inputs(shape.asks, typed)
    for fault in faults.values():
        raise fault
    worked = shape.work({**values, "say": Say(is_metric(shape.asks, typed))})
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
