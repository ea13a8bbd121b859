"""What fills a rectangle with the most worth, by straight cuts, where pieces are not limited.

Exact, in whole numbers: the best of a rectangle is the best of one piece, or of the two parts of
the best cut. Cuts only pay at sums of the pieces' sizes (Herz 1972, Christofides and Whitlock
1977), so only those places are looked at. Tables are arrays, for there may be many places.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy

from .layouts import padded
from .types import ACROSS, ALONG, Form, Node, Split

# Larger tables take too long.
MOST_CELLS = 160_000


@dataclass(frozen=True)
class Table:
    """``best[i][j]`` is the most worth that a rectangle of ``xs[i]`` by ``ys[j]`` can hold."""

    xs: list[int]
    ys: list[int]
    forms: tuple[Form, ...]
    worth: tuple[int, ...]
    best: numpy.ndarray

    def of(self, wide: int, tall: int) -> int:
        """The most that a rectangle of any size can hold."""
        i, j = bisect_right(self.xs, wide) - 1, bisect_right(self.ys, tall) - 1
        return int(self.best[i, j])

    def tree(self, wide: int, tall: int) -> Node:
        """How a rectangle is cut for it."""
        i, j = bisect_right(self.xs, wide) - 1, bisect_right(self.ys, tall) - 1
        target = self.best[i, j]
        if target <= 0:
            return None
        while i > 0 and self.best[i - 1, j] == target:
            i -= 1
        while j > 0 and self.best[i, j - 1] == target:
            j -= 1
        return padded(self._filled(i, j), (self.xs[i], self.ys[j]), (wide, tall))

    def _filled(self, i: int, j: int) -> Node:
        target, x, y = self.best[i, j], self.xs[i], self.ys[j]
        for place, form in enumerate(self.forms):
            if form.wide == x and form.tall == y and self.worth[place] == target:
                return place
        for k in range(1, i):
            other = bisect_right(self.xs, x - self.xs[k]) - 1
            if self.best[k, j] + self.best[other, j] == target:
                at = self.xs[k]
                return Split(ACROSS, at, self.tree(at, y), self.tree(x - at, y))
        for k in range(1, j):
            other = bisect_right(self.ys, y - self.ys[k]) - 1
            if self.best[i, k] + self.best[i, other] == target:
                at = self.ys[k]
                return Split(ALONG, at, self.tree(x, at), self.tree(x, y - at))
        # Least in both sizes, it is one piece or a cut.
        raise AssertionError("a rectangle's worth has no source")


def fill_table(forms: Sequence[Form], worth: Sequence[int], xs: list[int], ys: list[int]) -> Table:
    """The table of all rectangles at these places."""
    best = numpy.zeros((len(xs), len(ys)), dtype="int64")
    for form, value in zip(forms, worth, strict=True):
        i, j = bisect_right(xs, form.wide) - 1, bisect_right(ys, form.tall) - 1
        if i >= 0 and j >= 0 and xs[i] == form.wide and ys[j] == form.tall:
            best[i, j] = max(best[i, j], value)
    across, along = _others(xs), _others(ys)
    for i in range(len(xs)):
        row = best[i]
        if i:
            numpy.maximum(row, best[i - 1], out=row)
            first, second = across[i]
            if len(first):
                numpy.maximum(row, (best[first] + best[second]).max(axis=0), out=row)
        for j in range(1, len(ys)):
            first, second = along[j]
            value = max(row[j], row[j - 1])
            if len(first):
                value = max(value, (row[first] + row[second]).max())
            row[j] = value
    return Table(xs, ys, tuple(forms), tuple(worth), best)


def _others(places: list[int]) -> list[tuple[numpy.ndarray, numpy.ndarray]]:
    """For each place, the places up to its half, and those of what is left behind them."""
    array = numpy.array(places)
    found = []
    for at, place in enumerate(places):
        half = bisect_right(places, place // 2)
        first = numpy.arange(1, max(1, min(half, at)))
        second = numpy.searchsorted(array, place - array[first], side="right") - 1
        found.append((first, second))
    return found


def beyond(table: Table, wide: int, tall: int) -> numpy.ndarray:
    """``[i][j]``: what a sheet can hold at most beside a block of that size in its corner.

    The block grows by what lies right of it or above it, each as high or wide as the block
    (Viswanathan and Bagchi 1993). The places of the table are closed under sums.
    """
    xs, ys, best = table.xs, table.ys, table.best
    x_at = numpy.array(xs)
    y_at = numpy.array(ys)
    rest = numpy.zeros_like(best)
    last_x, last_y = bisect_right(xs, wide) - 1, bisect_right(ys, tall) - 1
    for i in range(last_x, -1, -1):
        right = bisect_right(xs, wide - xs[i])
        to_i = numpy.searchsorted(x_at, xs[i] + x_at[1:right])
        for j in range(last_y, -1, -1):
            # Beside waste, the block counts as larger.
            value = max(rest[i + 1, j] if i < last_x else 0, rest[i, j + 1] if j < last_y else 0)
            if right > 1:
                value = max(value, (best[1:right, j] + rest[to_i, j]).max())
            above = bisect_right(ys, tall - ys[j])
            if above > 1:
                to_j = numpy.searchsorted(y_at, ys[j] + y_at[1:above])
                value = max(value, (best[i, 1:above] + rest[i, to_j]).max())
            rest[i, j] = value
    return rest
