"""From what was typed to base quantities, with the component's own contents."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Protocol

from ..calc.money import round_half_up
from ..calc.quantities import (
    Contents,
    ParsedQuantity,
    QuantityError,
    parse_contents,
    parse_quantity,
    taught,
    to_base,
)
from ..calc.shopping import Pack
from ..calc.units import Unit, find_unit
from ..calc.yields import Side
from ..models import PurchaseLine

PLACES = 6
# Typed quantities repeat a lot in a ledger; parsing one takes far longer than finding it again.
_parse = lru_cache(maxsize=4096)(parse_quantity)
_contents = lru_cache(maxsize=1024)(parse_contents)
_unit = lru_cache(maxsize=256)(find_unit)


class Measured(Protocol):
    """What quantities ask of a component: one that is stored, or one an import would make."""

    @property
    def name(self) -> str: ...
    @property
    def unit(self) -> str: ...
    @property
    def contents(self) -> str: ...


def parsed(text: str) -> ParsedQuantity:
    """A typed quantity. Raises QuantityError with a sentence for the user."""
    return _parse(text)


def base_unit(component: Measured) -> Unit:
    """The component's base unit."""
    return _unit(component.unit)


def contents_of(component: Measured) -> Contents:
    """What one piece or pack of the component holds."""
    return _contents(component.contents)


def exact_base(text: str, component: Measured) -> Fraction:
    """A typed quantity in the component's base unit, unrounded.

    Raises QuantityError when it cannot be read or converted.
    """
    return to_base(parsed(text), base_unit(component), contents_of(component))


def taught_by(text: str, component: Measured) -> str:
    """Contents that a typed quantity teaches of a component; empty where it teaches nothing."""
    return taught(parsed(text), base_unit(component), contents_of(component))


def with_unit(text: str, unit: Unit) -> str:
    """The typed quantity; a bare number gets the unit. Raises QuantityError.

    The ledger keeps quantities as typed and reads them without knowing a default.
    """
    try:
        parsed(text)
        return text
    except QuantityError:
        parse_quantity(text, unit)
        # Units without a short symbol are words, and words have a plural.
        is_word = unit.symbol == unit.name and text.strip() != "1"
        completed = f"{text} {unit.plural if is_word else unit.symbol}"
        parsed(completed)
        return completed


def stored(value: Fraction) -> Decimal:
    """A quantity as it is stored: six places."""
    return round_half_up(value, PLACES)


def base_quantity(text: str, component: Measured) -> Decimal:
    """A typed quantity in the base unit as stored.

    Raises QuantityError when it cannot be read, converted, or is too small to be stored.
    """
    value = stored(exact_base(text, component))
    if value <= 0:
        raise QuantityError(f"“{text.strip()}” is zero: enter a quantity above zero.")
    return value


def price_per(text: str, component: Measured) -> Fraction:
    """How many base units a price is for: “100 sq ft”, “gal”; empty means one base unit."""
    if not text.strip():
        return Fraction(1)
    value = exact_base(_counted(text), component)
    if stored(value) <= 0:
        raise QuantityError(f"A price cannot be per “{text.strip()}”: enter more than zero.")
    return value


def one_of(text: str, component: Measured) -> str:
    """One of what was typed, as what a price is per: “dozen”, “1 @ 2x8x6”; empty for a base unit.

    Raises QuantityError.
    """
    typed = parsed(text)
    sized = typed.text.partition("@")
    if says_base(text, base_quantity(text, component), component):
        return ""
    if not sized[1]:
        return typed.unit.name if typed.unit.is_counted else typed.unit.symbol
    is_bare = sized[0].strip()[-1:].isdigit()
    return f"{'1' if is_bare else typed.unit.name} @ {sized[2].strip()}"


def priced_units(quantity_text: str, per_text: str, component: Measured) -> Fraction:
    """How often a unit price applies to a typed quantity.

    Without ``per_text`` the price is for one of what was typed (20 gal: 20 times).
    """
    quantity = parsed(quantity_text)
    if not per_text.strip():
        return quantity.count
    per = parsed(_counted(per_text))
    if not per.count:
        raise QuantityError(f"A price cannot be per “{per_text.strip()}”: enter more than zero.")
    return to_base(quantity, per.unit, contents_of(component)) / per.count


@dataclass(frozen=True)
class UnitPrice:
    """A price before charges of what ``words`` name: “each”, “per dozen”, “per 100 sq ft”.

    ``is_of_several``: the word typed counts several things or a pack, so that “each” could be
    taken otherwise.
    """

    amount: Fraction
    words: str
    is_of_several: bool


def unit_price_of(line: PurchaseLine, price: Decimal | None) -> UnitPrice | None:
    """What one of what was typed costs: as stated, or out of the line's price.

    None when the price is not known, or is that of one thing. Raises QuantityError.
    """
    quantity, per = parsed(line.quantity_text), line.price_per_text.strip()
    if line.unit_price is None:
        if price is None or quantity.count == 1:
            return None
        amount, per = Fraction(price) / quantity.count, ""
    else:
        amount = Fraction(line.unit_price)
    unit = quantity.unit
    words = f"per {per or (unit.name if unit.is_counted else unit.symbol)}"
    if not per and unit.symbol == line.component.unit == "piece":
        # Beside six pieces made out of twelve shorter ones, “each” would be taken for one of six.
        base = base_quantity(line.quantity_text, line.component)
        is_same = says_base(line.quantity_text, base, line.component)
        size = quantity.text.partition("@")[2].strip()
        words = "each" if is_same else f"per piece of {size}"
    several = unit.is_counted and unit.symbol not in ("piece", line.component.unit)
    return UnitPrice(amount, words, several and not per)


def pack_of(per_text: str, per_qty: Decimal) -> Pack | None:
    """What a new price is for, when that is counted: “roll”, “piece”, “box”; None for a measure.

    ``per_qty`` is the whole text in base units, as stored.
    """
    if not per_text.strip():
        return None
    per = parsed(_counted(per_text))
    if not per.unit.is_counted or not per.count:
        return None
    return Pack(per.unit.symbol, Fraction(per_qty) / per.count)


def says_base(text: str, base_qty: Decimal, component: Measured) -> bool:
    """Whether what was typed is the quantity in base units already (“5 ea” of 5 pieces)."""
    typed = parsed(text)
    return typed.unit.symbol == component.unit and stored(typed.count) == base_qty


def side_of(text: str, component: Measured) -> Side:
    """One side of a conversion, for ``calc.yields``. Raises QuantityError."""
    return Side(component.name, parsed(text), base_unit(component), contents_of(component))


def _counted(text: str) -> str:
    text = text.strip()
    return text if text[:1].isdigit() or text[:1] in ".½¼¾" else f"1 {text}"
