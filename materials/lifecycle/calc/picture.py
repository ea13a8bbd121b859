"""Geometry of the picture of present cost over the years: one line for each alternative.

As in ``steps``: across in thousandths of the width, down in tenths of the text's size. Lines
differ by their dashes and carry a letter at their end, so that no colour is needed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ...calc.pictures.bars import WIDTH, across, down, length
from ...calc.pictures.over_time import OverTime

ZERO = Fraction(0)
LETTERS = "ABCDE"
# Where the field ends, so that letters stand beside it.
FIELD = 940
# Tenths of the text's size between two letters at the end of lines, and free above the lines.
APART, HEADROOM = 13, 8
# Years are written between these places, clear of the first and the last one.
LEAST, MOST = 170, 850
# Steps between marks below the ground, the first of which there are not too many.
MARKS = (1, 2, 5, 10, 20, 25)


@dataclass(frozen=True, slots=True)
class CostLine:
    """One line: its points in the field, and where its letter stands."""

    letter: str
    points: str
    letter_y: int

    @property
    def kind(self) -> str:
        """Name of its dashes."""
        return self.letter.lower()

    @property
    def letter_base(self) -> str:
        return down(self.letter_y)


@dataclass(frozen=True, slots=True)
class Mark:
    """A year marked below the ground; ``text`` is "" where it would not fit."""

    x: int
    text: str

    @property
    def left(self) -> str:
        return across(self.x)


@dataclass(frozen=True, slots=True)
class YearsPicture(OverTime):
    """Lines from the first day to the end of the last year."""

    lines: tuple[CostLine, ...]
    marks: tuple[Mark, ...]
    years: int
    height: int

    @property
    def field_wide(self) -> str:
        return across(FIELD)


def cost_over_years(
    rows: Sequence[tuple[str, Sequence[tuple[int, Fraction]]]], years: int, height: int = 190
) -> YearsPicture | None:
    """Lines of (letter, running sums by year); None when there is nothing to draw.

    Sums below 0 lie on the ground.
    """
    drawn = [(letter, sums) for letter, sums in rows if sums]
    top = max((value for _, sums in drawn for _, value in sums), default=ZERO)
    if top <= 0:
        return None

    def rise(value: Fraction) -> int:
        return height - length(value, top, height - HEADROOM)

    ends = {letter: rise(sums[-1][1]) for letter, sums in drawn}
    places = _apart(ends, height)
    lines = tuple(
        CostLine(letter, _steps(sums, years, rise, height), places[letter])
        for letter, sums in drawn
    )
    return YearsPicture(lines, _marks(years), years, height)


def _steps(
    sums: Sequence[tuple[int, Fraction]],
    years: int,
    rise: Callable[[Fraction], int],
    height: int,
) -> str:
    points, before = [(0, height)], height
    for year, value in sums:
        x, y = year * WIDTH // years, rise(value)
        points += [(x, before), (x, y)]
        before = y
    points.append((WIDTH, before))
    return " ".join(f"{x},{y}" for x, y in points)


def _apart(ends: dict[str, int], height: int) -> dict[str, int]:
    """Base lines of letters beside the ends of their lines, from the lowest up, none on another."""
    placed: dict[str, int] = {}
    below = height + APART
    for letter, y in sorted(ends.items(), key=lambda end: (-end[1], end[0])):
        below = min(y + 4, below - APART)
        placed[letter] = below
    return placed


def _marks(years: int) -> tuple[Mark, ...]:
    step = next((step for step in MARKS if years // step <= 10), MARKS[-1])
    made = []
    for year in range(step, years + 1, step):
        x = year * FIELD // years
        made.append(Mark(x, str(year) if LEAST < x < MOST else ""))
    return tuple(made)
