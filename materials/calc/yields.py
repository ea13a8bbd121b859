"""Does a conversion make more material than it used?

Ripping a board makes more length than it used, cross-cutting makes more pieces, and
resawing makes more area; nothing makes more volume or weight. So the two sides are compared
in the strongest dimension that both state: volume, else weight, else area. Lengths and
pieces alone tell nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from .contents import Contents
from .measures import plain
from .quantities import ParsedQuantity, QuantityError, convert, to_base
from .units import UNITS, Dimension, Unit

_REFERENCE = (
    (Dimension.VOLUME, UNITS["bf"]),
    (Dimension.MASS, UNITS["lb"]),
    (Dimension.AREA, UNITS["sq ft"]),
)
# A thousandth more comes of contents that were rounded when they were typed.
_TOLERANCE = Fraction(1001, 1000)


@dataclass(frozen=True, slots=True)
class Side:
    """A quantity of a component: as typed, with the component's base unit and contents."""

    name: str
    quantity: ParsedQuantity
    unit: Unit
    contents: Contents


def measure(side: Side, unit: Unit) -> Fraction | None:
    """A side in a unit, or None when neither the typed size nor the contents say."""
    for contents in (side.quantity.size, side.contents):
        try:
            return convert(side.quantity.count, side.quantity.unit, unit, contents)
        except QuantityError:
            continue
    try:
        base = to_base(side.quantity, side.unit, side.contents)
        return convert(base, side.unit, unit, side.contents)
    except QuantityError:
        return None


def too_much(used: Side, made: Sequence[Side]) -> str | None:
    """A sentence saying that more was made than used, or None when that is not the case."""
    for dimension, unit in _REFERENCE:
        before = measure(used, unit)
        after = [measure(side, unit) for side in made]
        known = [value for value in after if value is not None]
        if before is None or not known:
            continue
        if sum(known) <= before * _TOLERANCE:
            if len(known) == len(after):
                return None
            continue
        names = " and ".join(side.name for side in made)
        way_out = {
            Dimension.VOLUME: " Board feet count stock under 1 in as 1 in: state what thin stock"
            " holds in cu ft.",
            Dimension.AREA: (
                " If you split it in thickness, give both a volume in their contents, like "
                "‘1 sq ft = 2 bf’."
            ),
        }.get(dimension, "")
        return (
            f"More {names} {'is' if len(made) == 1 else 'are'} made than {used.name} used:"
            f" {_shown(sum(known))} {unit.plural} from {_shown(before)}."
            f" Check the two quantities and the components’ contents.{way_out}"
        )
    return None


def yield_share(used: Side, made: Sequence[Side]) -> tuple[Fraction, str] | None:
    """Share of what was used that became something, and the measure it was judged by.

    By the first of volume, weight, area and length that both sides state; None when they
    state none alike. More than 1 by length is ripping, not a fault.
    """
    for dimension, unit in (*_REFERENCE, (Dimension.LENGTH, UNITS["ft"])):
        before = measure(used, unit)
        after = [measure(side, unit) for side in made]
        known = [value for value in after if value is not None]
        if before and len(known) == len(after) and known:
            return sum(known, Fraction(0)) / before, dimension.value
    return None


def _shown(value: Fraction | int) -> str:
    return plain(Fraction(value), 2)
