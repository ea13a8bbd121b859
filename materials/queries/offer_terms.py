"""In what steps a line of an offer can be taken, how many there are, and at what prices."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import gcd, lcm
from typing import Any

from ..calc.price_breaks import parse_breaks
from ..calc.quantities import QuantityError, format_quantity, to_base
from ..models import PurchaseLine
from .quantities import base_unit, contents_of, exact_base, parsed, priced_units


class TermsError(QuantityError):
    """Terms that cannot be taken as they stand; ``field`` is the one to change."""

    def __init__(self, text: str, field: str):
        super().__init__(text)
        self.field = field


@dataclass(frozen=True)
class TypedTerms:
    """What is typed of a line that is no record yet; ``component``: its unit and contents."""

    component: Any
    quantity_text: str
    unit_price: Decimal | None
    price_per_text: str = ""
    price_breaks: str = ""
    most_text: str = ""
    step_text: str = ""


Line = PurchaseLine | TypedTerms


@dataclass(frozen=True)
class Terms:
    """``step`` and ``most`` (steps) of a line priced by the unit.

    ``step``: base units of one step, before the usable share. ``units``: how often the unit
    price falls due for it. ``tiers``: from how many steps on which price holds for all of them.
    """

    step: Fraction
    most: int
    units: Fraction
    tiers: tuple[tuple[int, Fraction], ...]


def has_terms(line: Line) -> bool:
    """Whether anything is stated beyond quantity and price."""
    return bool(line.price_breaks or line.most_text or line.step_text)


def check_terms(line: Line) -> None:
    """Refuse terms that cannot hold. Raises TermsError, or QuantityError for the quantity."""
    if not has_terms(line):
        return
    if line.unit_price is None:
        field = "price_breaks" if line.price_breaks else "most_text"
        field = field if line.price_breaks or line.most_text else "step_text"
        raise TermsError(
            "This is for what is sold by the unit. Enter a unit price too, or leave it empty.",
            field,
        )
    terms_of(line)


def terms_of(line: Line) -> Terms:
    """The terms of a line with a unit price. Raises TermsError or QuantityError.

    Without a step it is one of what was typed, or a part of one where the quantity asks for it.
    """
    typed, whole = parsed(line.quantity_text), exact_base(line.quantity_text, line.component)
    if whole <= 0:
        raise QuantityError("Enter a quantity above zero.")
    one = whole / typed.count
    step = _read(line, "step_text") or one * _common(Fraction(1), typed.count)
    most = _read(line, "most_text") or whole
    if most < whole:
        raise TermsError("This cannot be less than the quantity of this line.", "most_text")
    if most < step:
        raise TermsError("One step is more than there is: lower it.", "step_text")
    units = priced_units(line.quantity_text, line.price_per_text, line.component)
    tiers = [(1, Fraction(line.unit_price or 0))]
    try:
        breaks = parse_breaks(line.price_breaks, typed.unit)
        unit, contents = base_unit(line.component), contents_of(line.component)
        bounds = [to_base(one_break.quantity, unit, contents) for one_break in breaks]
    except QuantityError as error:
        raise TermsError(str(error), "price_breaks") from None
    for bound, one_break in zip(bounds, breaks, strict=True):
        start, price = int(-(-bound // step)), Fraction(one_break.price)
        if whole >= bound:
            raise TermsError(
                f"This line's own quantity reaches {one_break.quantity.text} already. "
                "Enter the smaller quantity that the unit price is for.",
                "price_breaks",
            )
        if start <= tiers[-1][0] or price >= tiers[-1][1]:
            raise TermsError(
                "Enter the breaks from the smallest quantity up, each cheaper than the one before.",
                "price_breaks",
            )
        if bound > most:
            there = format_quantity(most, unit)
            raise TermsError(
                f"The break at {one_break.quantity.text} is never reached: there are "
                f"{there}. Enter the most there is.",
                "price_breaks",
            )
        tiers.append((start, price))
    return Terms(step, int(most // step), units * step / whole, tuple(tiers))


def _read(line: Line, field: str) -> Fraction | None:
    text = getattr(line, field).strip()
    if not text:
        return None
    if field == "step_text" and not any(mark.isdigit() or mark in "½¼¾" for mark in text):
        text = f"1 {text}"
    try:
        value = exact_base(text, line.component)
    except QuantityError as error:
        raise TermsError(str(error), field) from None
    if value <= 0:
        raise TermsError("Enter more than zero, or leave it empty.", field)
    return value


def _common(one: Fraction, other: Fraction) -> Fraction:
    """The largest part that both are whole multiples of."""
    size = lcm(one.denominator, other.denominator)
    return Fraction(gcd(int(one * size), int(other * size)), size)
