"""Geometry of the picture of money over time: steps in a field, beside a level."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from .bars import WIDTH, across, down, length

ZERO = Fraction(0)
# Tenths of the text's size that stay free above everything, for the texts.
HEADROOM = 20
# More marks than this, and months become years.
MONTHS = 30
# At most so many marks are named, and none so near the right end that its name would not fit.
NAMED, LAST_NAMED = 9, 940
# Past the name of the month it begins with, which takes so much of a narrow phone.
AFTER_FIRST = 260
# At most so many values stand beside the field, none nearer than this to the level's text.
VALUES, APART = 4, 14


class OverTime:
    """A field with marks and dates below its ground; whoever draws one says its ``height``."""

    __slots__ = ()
    height: int

    @property
    def field(self) -> str:
        """View box of the field."""
        return f"0 0 {WIDTH} {self.height}"

    @property
    def field_tall(self) -> str:
        return down(self.height)

    @property
    def tall(self) -> str:
        """Height with the dates written below."""
        return down(self.height + 26)

    @property
    def mark_end(self) -> str:
        """Lower end of the marks."""
        return down(self.height + 6)

    @property
    def dates_base(self) -> str:
        return down(self.height + 20)


@dataclass(frozen=True, slots=True)
class StepPicture(OverTime):
    """A running sum over time, as steps in a field, beside a level (the budget).

    ``points`` are in thousandths of the width by tenths of the text's size, as ``field`` is.
    """

    points: str
    end_y: int
    level_y: int | None
    values: tuple[tuple[int, Fraction], ...]
    marks: tuple[int, ...]
    mark_days: tuple[date, ...]
    marks_are_years: bool
    first: date
    last: date
    height: int

    @property
    def ground(self) -> str:
        """The points closed along the ground."""
        return f"{self.points} {WIDTH},{self.height} 0,{self.height}"

    @property
    def marks_left(self) -> tuple[str, ...]:
        return tuple(across(mark) for mark in self.marks)

    @property
    def names(self) -> tuple[tuple[str, date], ...]:
        """Marks that have room for a name: where each stands, and its day."""
        every = -(-len(self.marks) // NAMED) or 1
        named = list(zip(self.marks, self.mark_days, strict=True))[::every]
        least = AFTER_FIRST if self.begins_apart else 0
        return tuple((across(at), day) for at, day in named if least <= at <= LAST_NAMED)

    @property
    def begins_apart(self) -> bool:
        """Whether the first mark leaves room for a name at the left end."""
        return not self.marks or self.marks[0] > WIDTH // 8

    @property
    def scale(self) -> tuple[tuple[str, str, Fraction], ...]:
        """Values beside the field: where the line of each is, the base of its text, and it."""
        return tuple((down(y), down(y - 3), value) for y, value in self.values)

    @property
    def level_top(self) -> str | None:
        """Where the level is drawn."""
        return None if self.level_y is None else down(self.level_y)

    @property
    def level_base(self) -> str | None:
        """Base line of the level's text, above it."""
        return None if self.level_y is None else down(self.level_y - 5)

    @property
    def end_base(self) -> str:
        """Base line of the last sum's text: below its end, or above where that is too low."""
        return down(self.end_y + 16 if self.end_y + 20 < self.height else self.end_y - 5)


def running_sum(
    entries: Sequence[tuple[date, Fraction]], level: Fraction | None, height: int = 140
) -> StepPicture | None:
    """Steps of a running sum by day; None when there is nothing to draw."""
    sums = sums_by_day(entries)
    if not sums:
        return None
    first, last = sums[0][0], sums[-1][0]
    top = max([*(total for _, total in sums), level or ZERO])
    if top <= 0:
        return None
    span = (last - first).days

    def place(day: date) -> int:
        return int(Fraction((day - first).days, span) * WIDTH) if span else 0

    def rise(value: Fraction) -> int:
        return height - length(value, top, height - HEADROOM)

    points, before = [(0, height)], height
    for day, total in sums:
        x, y = place(day), rise(total)
        points += [(x, before), (x, y)]
        before = y
    points.append((WIDTH, before))
    months = first_days(first, last)
    are_years = len(months) > MONTHS
    marks = [day for day in months if day.month == 1] if are_years else months
    return StepPicture(
        " ".join(f"{x},{y}" for x, y in points),
        before,
        None if level is None else rise(level),
        tuple(
            (rise(value), value)
            for value in round_values(top)
            if level is None or abs(rise(value) - rise(level)) >= APART
        ),
        tuple(place(day) for day in marks),
        tuple(marks),
        are_years,
        first,
        last,
        height,
    )


def round_values(top: Fraction) -> list[Fraction]:
    """Few round values up to ``top``, at equal steps of 1, 2 or 5 with noughts."""
    unit = Fraction(1)
    while unit * 10 <= top:
        unit *= 10
    while unit > top:
        unit /= 10
    step = next(step for step in (unit / 5, unit / 2, unit, unit * 2, unit * 5) if top / step < 5)
    return [step * n for n in range(1, min(VALUES, int(top / step)) + 1)]


def sums_by_day(entries: Sequence[tuple[date, Fraction]]) -> list[tuple[date, Fraction]]:
    """The running sum at the end of each day that has an entry."""
    by_day: dict[date, Fraction] = {}
    for day, amount in entries:
        by_day[day] = by_day.get(day, ZERO) + amount
    sums, so_far = [], ZERO
    for day in sorted(by_day):
        so_far += by_day[day]
        sums.append((day, so_far))
    return sums


def first_days(first: date, last: date) -> list[date]:
    """First days of the months after ``first``, up to ``last``."""
    made = []
    month = first.year * 12 + first.month
    while month // 12 <= date.max.year:
        day = date(month // 12, month % 12 + 1, 1)
        if day > last:
            break
        made.append(day)
        month += 1
    return made


@dataclass(frozen=True, slots=True)
class Month:
    """Money of one month and the running sum at its end."""

    first: date
    amount: Fraction
    so_far: Fraction


def by_month(entries: Sequence[tuple[date, Fraction]]) -> tuple[Month, ...]:
    """Months that have an entry, in order."""
    sums: dict[date, Fraction] = {}
    for day, amount in entries:
        month = day.replace(day=1)
        sums[month] = sums.get(month, ZERO) + amount
    made, so_far = [], ZERO
    for month in sorted(sums):
        so_far += sums[month]
        made.append(Month(month, sums[month], so_far))
    return tuple(made)


def passed_on(entries: Sequence[tuple[date, Fraction]], level: Fraction | None) -> date | None:
    """The day since when the running sum is above a level; None when it is not above it now."""
    if level is None:
        return None
    since = None
    for day, total in sums_by_day(entries):
        if total <= level:
            since = None
        elif since is None:
            since = day
    return since
