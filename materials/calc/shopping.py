"""What to get of what is still needed: things come whole, as they are sold.

Only a shopping list rounds. What is still needed, and every figure made of it, stays exact.
"""

from dataclasses import dataclass
from fractions import Fraction

from .contents import Contents, ratio_between
from .types import ComponentInput
from .units import UNITS, find_unit

ONE = Fraction(1)
# What is measured is planned by one unit, or by a tenth where few are needed.
FEW, TENTH = 10, Fraction(1, 10)
FINE = 10**6
# Measures that are sold whole: a roofing square (common practice, no published source).
SOLD_WHOLE = frozenset({"square"})
# What nobody opens or cuts for one buyer (common practice, no published source); from a roll or
# a load any length or amount can be had where the price is for a measure.
WHOLE_PACKS = ("piece", "sheet", "bundle", "bag", "box", "tube", "bucket", "can", "pack", "drum")


@dataclass(frozen=True, slots=True)
class Pack:
    """What a new price is for: one ``unit`` (a symbol) of ``size`` base units."""

    unit: str
    size: Fraction


@dataclass(frozen=True, slots=True)
class ToGet:
    """A quantity to get in a unit, and what it is in base units of what is got."""

    quantity: Fraction
    unit: str
    base: Fraction


def is_counted(unit: str) -> bool:
    """Whether a unit counts whole things: pieces and packs, not feet and gallons."""
    return find_unit(unit).is_counted


def comes_whole(unit: str) -> bool:
    """Whether only whole ones of a unit are sold."""
    return unit in SOLD_WHOLE or is_counted(unit)


def held_pack(unit: str, contents: Contents) -> Pack | None:
    """The smallest whole thing that measured material comes in, by its contents; None if unknown.

    What is smaller than one of its unit is no pack of it: a screw is none of a pound.
    """
    if comes_whole(unit):
        return None
    base = find_unit(unit)
    sizes = [(ratio_between(UNITS[pack], base, contents), pack) for pack in WHOLE_PACKS]
    packs = [(size, pack) for size, pack in sizes if size is not None and size > 1]
    return Pack(*min(packs)[::-1]) if packs else None


def step_of(quantity: Fraction) -> Fraction:
    """The smallest step in which a measured quantity is planned: one, a tenth where few are."""
    return ONE if quantity > FEW or not quantity else TENTH


def even_step(quantity: Fraction, step: Fraction) -> Fraction:
    """The step, made smaller so that a whole number of them comes to the quantity (above 0).

    To a millionth, as quantities are kept, and never less than the quantity.
    """
    return whole(quantity / whole(quantity / step) * FINE) / FINE


def whole(quantity: Fraction) -> Fraction:
    """The next whole number that is not less."""
    return Fraction(-(-quantity // 1))


def serving(quantity: Fraction, is_counted: bool) -> Fraction:
    """What serves of so much made or cut: only whole ones of what is counted."""
    return Fraction(quantity // 1) if is_counted else quantity


def round_to_get(quantity: Fraction, unit: str) -> Fraction:
    """As one asks for it in a shop, never too little: whole ones of what is counted and from
    ten up, tenths from one up, hundredths below."""
    if comes_whole(unit) or quantity >= 10:
        return whole(quantity)
    parts = 10 if quantity >= 1 else 100
    return whole(quantity * parts) / parts


def to_get(part: ComponentInput, needed: Fraction, pack: Pack | None = None) -> ToGet:
    """How much to get of the component itself: whole packs, or whole ones of its unit.

    ``pack`` None: it is not known to come in one, so that of a measure any quantity can be had.
    """
    if pack is None or (pack.unit == part.unit and pack.size == ONE):
        quantity = whole(needed) if comes_whole(part.unit) else needed
        return ToGet(quantity, part.unit, quantity)
    return _packs(needed, pack)


def to_get_new(
    part: ComponentInput, needed: Fraction, pack: Pack | None, held: Pack | None = None
) -> ToGet:
    """How much new material does that work: whole packs of what the new price is for.

    ``pack`` None: the new price is for a measure; then whole packs of what it comes in, ``held``.
    """
    return to_get(part, needed * part.new_per_one, pack or held)


def _packs(new: Fraction, pack: Pack) -> ToGet:
    count = whole(new / pack.size)
    return ToGet(count, pack.unit, count * pack.size)
