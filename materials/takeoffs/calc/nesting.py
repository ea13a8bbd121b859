"""Triangles cut out of sheets, laid head to tail in rows."""

from dataclasses import dataclass
from fractions import Fraction

from materials.takeoffs.calc.roots import root

Corner = tuple[Fraction, Fraction]
Triangle = tuple[Corner, Corner, Corner]


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of triangles alike in one sheet, each on a ``base`` whose peak is over ``foot``.

    ``in_a_row`` of them, every other one turned by half a turn, in ``rows`` rows ``high``. Where
    ``is_turned`` the rows run along the height of the sheet.
    """

    base: Fraction = Fraction(1)
    foot: Fraction = Fraction(0)
    high: Fraction = Fraction(1)
    in_a_row: int = 0
    rows: int = 0
    is_turned: bool = False

    @property
    def count(self) -> int:
        """How many one sheet holds."""
        return self.in_a_row * self.rows

    def triangles(self, most: int) -> list[Triangle]:
        """Where the first of them lie, from a corner of the sheet."""
        # An even row is shorter by the longer part of the base if it starts with a turned one.
        rest = self.base - self.foot
        turned_first = self.in_a_row % 2 == 0 and rest < self.foot
        found: list[Triangle] = []
        for number in range(min(most, self.count)):
            row, n = divmod(number, self.in_a_row)
            low, top, x = row * self.high, (row + 1) * self.high, n // 2 * self.base
            if (n % 2 == 1) == turned_first:
                x += rest if turned_first else 0
                one: Triangle = ((x, low), (x + self.base, low), (x + self.foot, top))
            else:
                x += 0 if turned_first else self.foot
                one = ((x, top), (x + self.base, top), (x + rest, low))
            found.append(_turned(one) if self.is_turned else one)
        return found


def nest(sides: tuple[Fraction, Fraction, Fraction], wide: Fraction, tall: Fraction) -> Rows:
    """The most that rows along either side of the sheet give, with any side of them as base.

    None is flipped, so that a sheet with one good face will do. It is a count that can be cut, with
    no room for the saw; other layouts may hold more.
    """
    a, b, c = sides
    ways = [
        _rows(*turn, along, across, is_turned)
        for turn in ((a, b, c), (b, c, a), (c, a, b))
        for along, across, is_turned in ((wide, tall, False), (tall, wide, True))
    ]
    return max(ways, key=lambda way: way.count)


def _turned(triangle: Triangle) -> Triangle:
    (a, b), (c, d), (e, f) = triangle
    return (b, a), (d, c), (f, e)


def _rows(
    base: Fraction,
    left: Fraction,
    right: Fraction,
    along: Fraction,
    across: Fraction,
    is_turned: bool,
) -> Rows:
    """Rows of triangles that stand on ``base``; none where its peak is not above it."""
    foot = (base**2 + left**2 - right**2) / (2 * base)
    if not 0 <= foot <= base or foot >= left:
        return Rows()
    high = root(left**2 - foot**2)
    return Rows(
        base, foot, high, _in_a_row(base, foot, along), (across / high).__floor__(), is_turned
    )


def _in_a_row(base: Fraction, foot: Fraction, along: Fraction) -> int:
    """How many fit: two for each base but the last one, and one more in what is left."""
    whole = (along / base).__floor__()
    if not whole:
        return 0
    return 2 * whole - 1 + (along - whole * base >= min(foot, base - foot))
