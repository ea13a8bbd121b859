"""Fillings of a rectangle that are worth so much, with no more pieces than are needed.

Blocks of pieces are joined side by side and one above the other, those that promise the most
first (Wang 1983; Viswanathan and Bagchi 1993). A block promises its own worth and the most that
can lie beside it. What promises too little is dropped, so whatever is left out is worth less.
"""

import heapq
from collections.abc import Sequence
from typing import Any, NamedTuple

from ..patterns import Pattern
from ..program import Clock
from .layouts import padded
from .packed import Packed
from .solver import Table, beyond
from .types import ACROSS, ALONG, Node, Split


class Block(NamedTuple):
    """Pieces joined to a rectangle: packed counts, what they are worth, and their tree as
    (axis, one block, other block), or the place of a form."""

    wide: int
    tall: int
    counts: int
    worth: int
    tree: Any


class Search:
    """Blocks in one sheet. ``limit``: how many blocks may be joined before it is given up."""

    def __init__(
        self,
        table: Table,
        demand: Sequence[int],
        values: Sequence[int],
        size: tuple[int, int],
        limit: int,
        left: Clock | None = None,
    ) -> None:
        self.table, self.demand, self.values = table, tuple(demand), values
        self.wide, self.tall = size
        self.limit, self.left = limit, left
        self.packed = Packed(demand)
        self.rest = beyond(table, *size).tolist()
        self.x_at = {x: at for at, x in enumerate(table.xs)}
        self.y_at = {y: at for at, y in enumerate(table.ys)}
        self.waiting: list[tuple[int, int, Block]] = []
        self.done: list[Block] = []
        self.seen: set[tuple[int, int, int]] = set()

    def best(self) -> tuple[int, Block | None]:
        """What no filling is worth more than, and the best found: both are one where proved."""
        best: Block | None = None
        self._begin(1)
        while self.waiting:
            promise, _, block = heapq.heappop(self.waiting)
            if best is not None and -promise <= best.worth:
                return best.worth, best
            if len(self.done) >= self.limit:
                return -promise, best
            least = (best.worth if best else 0) + 1
            for more in [block, *self._join(block, least)]:
                if best is None or more.worth > best.worth:
                    best = more
        return (best.worth if best else 0), best

    def worth_at_least(self, least: int) -> dict[Pattern, Node] | None:
        """Every filling worth so much; None where that is over the limit, or time is up."""
        found: dict[Pattern, Node] = {}
        self._begin(least)
        while self.waiting:
            if len(self.done) >= self.limit or (self.left is not None and self.left() <= 0):
                return None
            _, _, block = heapq.heappop(self.waiting)
            if block.worth >= least:
                found.setdefault(
                    self.packed.unpack(block.counts), whole(block, (self.wide, self.tall))
                )
            self._join(block, least)
        return found

    def _begin(self, least: int) -> None:
        for place, form in enumerate(self.table.forms):
            if form.count <= self.demand[form.need] and form.wide <= self.wide:
                counts = form.count << self.packed.shifts[form.need]
                worth = self.values[form.need] * form.count
                if form.tall <= self.tall:
                    self._add(form.wide, form.tall, counts, worth, place, least)

    def _add(
        self, wide: int, tall: int, counts: int, worth: int, tree: Any, least: int
    ) -> Block | None:
        promise = worth + self.rest[self.x_at[wide]][self.y_at[tall]]
        if promise < least:
            return None
        key = wide, tall, counts
        if key in self.seen:
            return None
        self.seen.add(key)
        block = Block(wide, tall, counts, worth, tree)
        heapq.heappush(self.waiting, (-promise, len(self.seen), block))
        return block

    def _join(self, block: Block, least: int) -> list[Block]:
        self.done.append(block)
        most, guard = self.packed.most, self.packed.guard
        wide, tall, counts, worth, _ = block
        added = []
        for other in self.done:
            both = counts + other.counts
            if (most - both) & guard != guard:
                continue
            value = worth + other.worth
            if wide + other.wide <= self.wide:
                tree = ACROSS, block, other
                high = max(tall, other.tall)
                added.append(self._add(wide + other.wide, high, both, value, tree, least))
            if tall + other.tall <= self.tall:
                tree = ALONG, block, other
                across = max(wide, other.wide)
                added.append(self._add(across, tall + other.tall, both, value, tree, least))
        return [one for one in added if one is not None]


def whole(block: Block, size: tuple[int, int]) -> Node:
    """A block as a filling of the whole sheet."""
    return padded(_tree(block), (block.wide, block.tall), size)


def _tree(block: Block) -> Node:
    if not isinstance(block.tree, tuple):
        place: Node = block.tree
        return place
    axis, one, other = block.tree
    if axis == ACROSS:
        at, sizes = one.wide, ((one.wide, block.tall), (other.wide, block.tall))
    else:
        at, sizes = one.tall, ((block.wide, one.tall), (block.wide, other.tall))
    first = padded(_tree(one), (one.wide, one.tall), sizes[0])
    second = padded(_tree(other), (other.wide, other.tall), sizes[1])
    return Split(axis, at, first, second)
