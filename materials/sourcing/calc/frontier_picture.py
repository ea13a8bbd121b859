"""Geometry of the picture of money against hours (places are written as in ``pictures``)."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ...calc.pictures.bars import across, down

# Across and down, from the edges: room for a mark, and for the words at its ends.
MARGIN, WIDE, TOP, TALL = 30, 940, 16, 130


@dataclass(frozen=True, slots=True)
class Mark:
    """One plan; ``is_chosen``: the one shown on the page."""

    x: int
    y: int
    is_chosen: bool

    @property
    def left(self) -> str:
        return across(self.x)

    @property
    def top(self) -> str:
        return down(self.y)


@dataclass(frozen=True, slots=True)
class FrontierPicture:
    """Plans from the least money (left, most hours: low) to the most."""

    marks: tuple[Mark, ...]

    @property
    def tall(self) -> str:
        return down(TOP + TALL + 38)

    @property
    def floor(self) -> str:
        """Where the line of no hours stands."""
        return down(TOP + TALL + 8)

    @property
    def words_base(self) -> str:
        """Base line of the words below."""
        return down(TOP + TALL + 26)

    @property
    def first(self) -> Mark:
        """Least money."""
        return self.marks[0]

    @property
    def last(self) -> Mark:
        """Fewest hours."""
        return self.marks[-1]


def draw_frontier(
    plans: Sequence[tuple[Fraction, Fraction]], chosen: tuple[Fraction, Fraction] | None
) -> FrontierPicture | None:
    """The picture of (money, hours); None with fewer than two plans. Hours stand from 0 up."""
    if len(plans) < 2:
        return None
    low, high = plans[0][0], plans[-1][0]
    most = max(hours for _, hours in plans)
    marks = []
    for money, hours in plans:
        x = MARGIN + (int((money - low) / (high - low) * WIDE) if high > low else 0)
        y = TOP + TALL - int(hours / most * TALL) if most > 0 else TOP + TALL
        marks.append(Mark(x, y, (money, hours) == chosen))
    return FrontierPicture(tuple(marks))
