"""Drawings of shapes: lines, areas and words in a field of fixed width, to scale.

Places are whole units of the SVG's own field. The drawing says in ``words`` what it shows, so
that nothing has to be read off it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

WIDTH = 360
# Room for words around what is drawn.
LEFT, TOP, ACROSS, DOWN = 98, 26, 238, 178


@dataclass(frozen=True, slots=True)
class Mark:
    """One thing drawn. ``what``: area, line, round or text; ``kind`` chooses how it looks."""

    what: str
    kind: str
    points: str = ""
    x: int = 0
    y: int = 0
    wide: int = 0
    tall: int = 0
    text: str = ""
    anchor: str = "middle"

    @property
    def at_x(self) -> str:
        """Place across, as SVG reads it."""
        return str(self.x)

    @property
    def at_y(self) -> str:
        """Place down."""
        return str(self.y)

    @property
    def half_wide(self) -> str:
        return str(self.wide)

    @property
    def half_tall(self) -> str:
        return str(self.tall)


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing with its title, and what it shows in words."""

    title: str
    words: str
    marks: tuple[Mark, ...]
    key: tuple[tuple[str, str], ...] = ()

    @property
    def field(self) -> str:
        """The SVG's viewBox: the whole width, and as high as what is drawn."""
        heights = [
            place
            for mark in self.marks
            for place in (
                [int(point.partition(",")[2]) for point in mark.points.split()]
                or [mark.y - mark.tall, mark.y + mark.tall, mark.y - (12 if mark.text else 0)]
            )
        ]
        top = min(heights, default=0) - 6
        return f"0 {top} {WIDTH} {max(heights, default=0) + 6 - top}"


@dataclass(frozen=True, slots=True)
class Board:
    """A drawing board: real measures from a lower left corner to places in the field."""

    wide: Fraction
    tall: Fraction

    @property
    def scale(self) -> Fraction:
        """Units of the field for one of what is measured."""
        return min(Fraction(ACROSS) / self.wide, Fraction(DOWN) / self.tall)

    def place(self, x: Fraction | int, y: Fraction | int) -> tuple[int, int]:
        """Where a point is drawn; y goes up in the measures and down in the field."""
        left = LEFT + (ACROSS - self.wide * self.scale) / 2
        base = TOP + (DOWN + self.tall * self.scale) / 2
        return _whole(left + x * self.scale), _whole(base - y * self.scale)

    def area(self, kind: str, *points: Sequence[Fraction | int]) -> Mark:
        return Mark("area", kind, self._path(points))

    def line(self, kind: str, *points: Sequence[Fraction | int]) -> Mark:
        return Mark("line", kind, self._path(points))

    def box(
        self,
        kind: str,
        x: Fraction | int,
        y: Fraction | int,
        wide: Fraction | int,
        tall: Fraction | int,
    ) -> Mark:
        """A rectangle from its lower left corner."""
        return self.area(kind, (x, y), (x + wide, y), (x + wide, y + tall), (x, y + tall))

    def round(
        self, kind: str, x: Fraction | int, y: Fraction | int, wide: Fraction, tall: Fraction
    ) -> Mark:
        """An ellipse about its middle; ``wide`` and ``tall`` are its half axes."""
        at_x, at_y = self.place(x, y)
        half = max(1, _whole(wide * self.scale)), max(1, _whole(tall * self.scale))
        return Mark("round", kind, x=at_x, y=at_y, wide=half[0], tall=half[1])

    def below(self, text: str) -> Mark:
        """What the drawing measures across, written below it."""
        x, y = self.place(self.wide / 2, 0)
        return Mark("text", "", x=x, y=y + 20, text=text)

    def beside(self, text: str, height: Fraction | None = None) -> Mark:
        """What it measures upwards, written at its left."""
        x, y = self.place(0, (height or self.tall) / 2)
        return Mark("text", "", x=x - 6, y=y + 5, text=text, anchor="end")

    def above(self, text: str) -> Mark:
        """A word above it."""
        x, y = self.place(self.wide / 2, self.tall)
        return Mark("text", "", x=x, y=y - 8, text=text)

    def _path(self, points: Sequence[Sequence[Fraction | int]]) -> str:
        places = [self.place(x, y) for x, y in points]
        return " ".join(f"{x},{y}" for x, y in places)


def _whole(value: Fraction) -> int:
    return (value + Fraction(1, 2)).__floor__()


def boxes_in_a_row(
    board: Board, kind: str, sides: Sequence[tuple[Fraction, Fraction]], most: int = 12
) -> list[Mark]:
    """Rectangles standing side by side with even room between them, as far as they fit."""
    shown: list[tuple[Fraction, Fraction]] = []
    for wide, tall in sides[:most]:
        if sum((w for w, _ in shown), wide) <= board.wide and tall <= board.tall:
            shown.append((wide, tall))
    room = board.wide - sum((wide for wide, _ in shown), Fraction(0))
    gap = room / (len(shown) + 1)
    marks, x = [], gap
    for wide, tall in shown:
        # A low opening is a window: it stands off the floor.
        base = Fraction(0) if tall * 10 >= board.tall * 7 else (board.tall - tall) * 2 / 3
        marks.append(board.box(kind, x, base, wide, tall))
        x += wide + gap
    return marks
