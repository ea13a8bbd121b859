"""Material that goes from one build to another: what it is worth, and how much arrives.

The value is worked out once, when it is moved, and then stands in both builds. Were it worked
out anew each time, a later entry in one build would change the cost sheet of the other, and
builds that had moved material to and fro would hang on each other in a circle.
"""

from decimal import Decimal
from fractions import Fraction

from .contents import Contents, ratio_between
from .measures import QuantityError
from .money import round_half_up
from .quantities import ParsedQuantity, convert, to_base
from .units import Dimension, Unit

_COUNTED = (Dimension.COUNT, Dimension.PACK)


def value_moved(quantity: Fraction, average: Fraction | None, places: int) -> Decimal | None:
    """Quantity at the average landed cost, rounded to the minor unit; None when not known."""
    return None if average is None else round_half_up(quantity * average, places)


def arriving(typed: ParsedQuantity, own: Contents, arriving_in: Unit, there: Contents) -> Fraction:
    """What was typed where it leaves, in the base unit of where it arrives.

    ``own``: contents of the material that leaves; ``there``: of the component it arrives at. A
    piece here need not be a piece there: where both say what one measures, that measure carries
    over; else pieces are pieces. Raises QuantityError naming the content that is missing.
    """
    if arriving_in.dimension in _COUNTED:
        for measure in _measures(there):
            if ratio_between(measure, arriving_in, there) is None:
                continue
            try:
                value = to_base(typed, measure, own)
            except QuantityError:
                continue
            return convert(value, measure, arriving_in, there)
    for contents in (own, there):
        try:
            return to_base(typed, arriving_in, contents)
        except QuantityError:
            continue
    return to_base(typed, arriving_in, Contents((*own.equivalences, *there.equivalences)))


def _measures(contents: Contents) -> list[Unit]:
    """Units of length, area, volume or weight that contents speak of, in their order."""
    return [
        unit
        for _, one, _, other in contents.equivalences
        for unit in (one, other)
        if unit.dimension not in _COUNTED
    ]
