"""Bringing a price from one month to another, by a published index or by a plain yearly rate.

adjusted = base x index(now) / index(base). An index has values of months, as published. Where a
month has none, the last one published before it is used and named; nothing is carried beyond
what was published, and before the first value nothing is known.
"""

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

ONE = Fraction(1)


class EscalationError(ValueError):
    """A price that cannot be brought to another month; ``str()`` is a sentence for the user."""


@dataclass(frozen=True, slots=True)
class IndexValue:
    """One published value, above 0. ``month`` is the first day of its month."""

    month: date
    value: Fraction
    is_preliminary: bool = False


@dataclass(frozen=True, slots=True)
class Reading:
    """What an index says for a month: the value used, and the month that was asked for."""

    asked: date
    used: IndexValue

    @property
    def is_earlier(self) -> bool:
        """Whether nothing was published for the month and an earlier value stands in."""
        return self.used.month != self.asked

    @property
    def is_preliminary(self) -> bool:
        """Whether the value may still be changed by who publishes it."""
        return self.used.is_preliminary


@dataclass(frozen=True, slots=True)
class Adjusted:
    """A price brought to another month. ``notes``: what a reader must know of it, sentences."""

    base: Fraction
    factor: Fraction
    start: Reading
    end: Reading

    @property
    def amount(self) -> Fraction:
        """The price in the later month."""
        return self.base * self.factor

    @property
    def change(self) -> Fraction:
        """How far prices rose, as a share of one; below 0 when they fell."""
        return self.factor - 1

    @property
    def notes(self) -> tuple[str, ...]:
        """What a reader must know: stand-ins and preliminary values, each month once."""
        lines: list[str] = []
        for reading in (self.start, self.end):
            used = f"{reading.used.month:%B %Y}"
            if reading.is_earlier:
                lines.append(
                    f"Nothing is published for {reading.asked:%B %Y}: the last value before it,"
                    f" of {used}, is used."
                )
            if reading.is_preliminary:
                lines.append(f"The value of {used} is preliminary and may still change.")
        return tuple(dict.fromkeys(lines))


class IndexSeries:
    """A published index of prices: its name and its values by month."""

    def __init__(self, name: str, values: Iterable[IndexValue]):
        self.name = name
        self.values = tuple(sorted(values, key=lambda value: value.month))
        self._months = [value.month for value in self.values]
        if len(set(self._months)) < len(self._months):
            raise EscalationError(f"{name} has two values for one month: keep one of them.")
        if any(value.value <= 0 for value in self.values):
            raise EscalationError(f"{name} has a value that is not above zero.")
        if any(month.day != 1 for month in self._months):
            raise EscalationError(f"{name} has a value that is not of a whole month.")

    def read(self, day: date) -> Reading:
        """The value for the month of a day, or the last published before it.

        Raises EscalationError when nothing was published up to then.
        """
        month = day.replace(day=1)
        place = bisect_right(self._months, month)
        if not place:
            raise EscalationError(
                f"{self.name} has no value up to {month:%B %Y}: type or paste an earlier one."
            )
        return Reading(month, self.values[place - 1])

    def adjust(self, base: Fraction, start: date, end: date) -> Adjusted:
        """A price of the month of ``start`` in the prices of the month of ``end``.

        Raises EscalationError when nothing was published up to either.
        """
        one, other = self.read(start), self.read(end)
        return Adjusted(base, other.used.value / one.used.value, one, other)


def adjust_by_rate(base: Fraction, yearly: Fraction, years: int) -> Fraction:
    """A price after whole years at a yearly rate (3 % is 3/100); below 0 years, before them.

    Raises ValueError for a rate at or below −1.
    """
    if yearly <= -1:
        raise ValueError("a rate must be above minus one hundred per cent")
    return base * (ONE + yearly) ** years
