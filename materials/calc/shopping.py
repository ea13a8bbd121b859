"""What to get of what is still needed: things that are counted come whole.

Only a shopping list rounds. What is still needed, and every figure made of it, stays exact.
"""

from dataclasses import dataclass
from fractions import Fraction

from .types import ComponentInput
from .units import find_unit

ONE = Fraction(1)


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


def whole(quantity: Fraction) -> Fraction:
    """The next whole number that is not less."""
    return Fraction(-(-quantity // 1))


def round_to_get(quantity: Fraction, unit: str) -> Fraction:
    """As one asks for it in a shop, never too little: whole ones of what is counted and from
    ten up, tenths from one up, hundredths below."""
    if is_counted(unit) or quantity >= 10:
        return whole(quantity)
    parts = 10 if quantity >= 1 else 100
    return whole(quantity * parts) / parts


def to_get(part: ComponentInput, needed: Fraction) -> ToGet:
    """How much to get of the component itself: whole ones where its unit counts."""
    quantity = whole(needed) if is_counted(part.unit) else needed
    return ToGet(quantity, part.unit, quantity)


def to_get_new(part: ComponentInput, needed: Fraction, pack: Pack | None) -> ToGet:
    """How much new material does that work: whole packs of what the new price is for.

    ``pack`` None: the new price is for a measure, so that any quantity can be had.
    """
    new = needed * part.new_per_one
    if pack is None or (pack.unit == part.unit and pack.size == ONE):
        return to_get(part, new)
    count = whole(new / pack.size)
    return ToGet(count, pack.unit, count * pack.size)
