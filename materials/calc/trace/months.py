"""What was spent in or up to a month, explained: each part opens to the rows of those days."""

from collections.abc import Sequence
from datetime import date, timedelta
from fractions import Fraction

from ..exact import add_up
from .parts import Part, Trace

ZERO = Fraction(0)
SPENT_IN, SO_FAR = "spent_", "to_"
# What is summed, in the order in which the amounts are given, and the rows that hold it.
_PARTS = (
    ("+", "Landed cost received", "lines_in"),
    ("+", "Paid labour", "paid_labour_in"),
    ("+", "Extra cost of conversions", "conversions_in"),
    ("−", "Proceeds of sales", "sold_in"),
)


def days_of(name: str) -> tuple[date | None, date] | None:
    """First and last day that a figure's name asks for; no first day: from the beginning.

    ``spent_2026-05`` is that month, ``spent_to_2026-05`` all up to its end.
    """
    month = name.removeprefix(SPENT_IN)
    try:
        first = date.fromisoformat(f"{month.removeprefix(SO_FAR)}-01")
    except ValueError:
        return None
    if not name.startswith(SPENT_IN) or first.year == date.max.year:
        return None
    last = (first + timedelta(days=31)).replace(day=1) - timedelta(days=1)
    return None if month.startswith(SO_FAR) else first, last


def spent_within(first: date | None, last: date, amounts: Sequence[Fraction]) -> Trace:
    """The trace of those days; ``amounts`` in the order of the parts."""
    month = f"{last:%Y-%m}" if first else f"{SO_FAR}{last:%Y-%m}"
    parts = tuple(
        Part(sign, label, amount, f"{rows}:{month}")
        for (sign, label, rows), amount in zip(_PARTS, amounts, strict=True)
    )
    signed = (-part.amount if part.sign == "−" else part.amount for part in parts if part.amount)
    return Trace(
        f"{SPENT_IN}{month}",
        f"Spent in {last:%B %Y}" if first else f"Spent up to the end of {last:%B %Y}",
        "Cash that went out for this build.",
        add_up(signed),
        parts,
    )
