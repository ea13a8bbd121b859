"""What fills a rectangle with the most worth, by straight cuts, where pieces are not limited.

Exact, in whole numbers: the best of a rectangle is the best of one piece, or of the two parts of
the best cut. Cuts only pay at sums of the pieces' sizes (Herz 1972, Christofides and Whitlock
1977), so only those places are looked at, or the fewer that ``layouts.raster`` leaves of them.
Tables are arrays, for there may be many places.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

import numpy

from .layouts import padded
from .types import ACROSS, ALONG, Form, Node, Split

# Larger tables take too long.
MOST_CELLS = 160_000
# Two sums of worths fit the machine's whole numbers.
_MOST_WORTH = 2**61


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
            if form.wide <= x and form.tall <= y and self.worth[place] == target:
                return padded(place, (form.wide, form.tall), (x, y))
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


_Others = list[tuple[numpy.ndarray, numpy.ndarray]]


def fill_table(forms: Sequence[Form], worth: Sequence[int], xs: list[int], ys: list[int]) -> Table:
    """The table of all rectangles at these places. Raises OverflowError where worths are too large
    to be summed exactly."""
    fitting = [form for form in forms if form.wide <= xs[-1] and form.tall <= ys[-1]]
    if fitting:
        across = xs[-1] // min(form.wide for form in fitting) + 1
        along = ys[-1] // min(form.tall for form in fitting) + 1
        if max(worth) * across * along > _MOST_WORTH:
            raise OverflowError("worths too large to be summed exactly")
    best = numpy.zeros((len(xs), len(ys)), dtype="int64")
    for form, value in zip(forms, worth, strict=True):
        i, j = bisect_left(xs, form.wide), bisect_left(ys, form.tall)
        if i < len(xs) and j < len(ys):
            best[i, j] = max(best[i, j], value)
    splits = _others(xs), _others(ys)
    while True:
        # All cuts one way, then all the other way, until neither gains: parts of parts come out.
        before = best
        best = _cut_apart(_cut_apart(best.copy(), splits[0]).T.copy(), splits[1]).T.copy()
        if (best == before).all():
            return Table(xs, ys, tuple(forms), tuple(worth), best)


def _cut_apart(best: numpy.ndarray, others: _Others) -> numpy.ndarray:
    """Every row made at least as good as two rows that its size can be cut into."""
    for at, (first, second) in enumerate(others):
        if at:
            numpy.maximum(best[at], best[at - 1], out=best[at])
        if len(first):
            numpy.maximum(best[at], (best[first] + best[second]).max(axis=0), out=best[at])
    return best


def _others(places: list[int]) -> _Others:
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
    xs, ys = table.xs, table.ys
    right, above = _further(xs, wide), _further(ys, tall)
    rest = numpy.zeros_like(table.best)
    while True:
        before = rest
        rest = _grown(rest.copy(), table.best, right)
        rest = _grown(rest.T.copy(), table.best.T.copy(), above).T.copy()
        if (rest == before).all():
            return rest


def _further(places: list[int], room: int) -> list[numpy.ndarray]:
    """For each place up to the room, the places that it becomes by what is put beside it."""
    array = numpy.array(places)
    found = []
    for place in places[: bisect_right(places, room)]:
        last = bisect_right(places, room - place)
        found.append(numpy.searchsorted(array, place + array[1:last]))
    return found


def _grown(rest: numpy.ndarray, best: numpy.ndarray, further: list[numpy.ndarray]) -> numpy.ndarray:
    """Every row made at least what a block gains by growing to a larger row, or by waste beside."""
    last = len(further) - 1
    for at in range(last, -1, -1):
        if at < last:
            numpy.maximum(rest[at], rest[at + 1], out=rest[at])
        to = further[at]
        if len(to):
            numpy.maximum(rest[at], (best[1 : len(to) + 1] + rest[to]).max(axis=0), out=rest[at])
    return rest
