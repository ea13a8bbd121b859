"""What was spent in one month, explained: each part opens to the rows of those days."""

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

from ..exact import add_up
from .parts import Part, Trace

ZERO = Fraction(0)
SPENT_IN = "spent_"
# What is summed, in the order in which the amounts are given, and the rows that hold it.
_PARTS = (
    ("+", "Landed cost received", "lines_in"),
    ("+", "Paid labour", "paid_labour_in"),
    ("+", "Extra cost of conversions", "conversions_in"),
    ("−", "Proceeds of sales", "sold_in"),
)


def month_of(name: str) -> tuple[date, date] | None:
    """First and last day of the month that a figure's name asks for: ``spent_2026-05``."""
    try:
        first = date.fromisoformat(f"{name.removeprefix(SPENT_IN)}-01")
    except ValueError:
        return None
    if not name.startswith(SPENT_IN) or first.year == date.max.year:
        return None
    return first, (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)


def spent_in(first: date, amounts: Sequence[Fraction]) -> Trace:
    """The trace of a month; ``amounts`` in the order of the parts."""
    month = f"{first:%Y-%m}"
    parts = tuple(
        Part(sign, label, amount, f"{rows}:{month}")
        for (sign, label, rows), amount in zip(_PARTS, amounts, strict=True)
    )
    signed = (-part.amount if part.sign == "−" else part.amount for part in parts if part.amount)
    return Trace(
        f"{SPENT_IN}{month}",
        f"Spent in {first:%B %Y}",
        "Cash that went out for this build in that month.",
        add_up(signed),
        parts,
    )
