"""Ways to cut one rectangle, kept as trees of cuts."""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

from ..patterns import Pattern
from .packed import Packed
from .types import ACROSS, ALONG, Form, Node, Split

ANY, RIP, CROSS = "any", "rip", "cross"


def sums(sizes: Sequence[tuple[int, int]], room: int) -> list[int]:
    """All sums of sizes up to ``room``, 0 among them; each size comes with how often it may."""
    return list(_sums(tuple(sorted(set(sizes))), room))


@lru_cache(maxsize=256)
def _sums(sizes: tuple[tuple[int, int], ...], room: int) -> tuple[int, ...]:
    reach, mask = 1, (1 << (room + 1)) - 1
    for size, count in sizes:
        for _ in range(min(count, room // size)):
            more = (reach | reach << size) & mask
            if more == reach:
                break
            reach = more
    digits = bin(reach)[:1:-1]
    found, at = [], 0
    while at >= 0:
        found.append(at)
        at = digits.find("1", at + 1)
    return tuple(found)


def raster(sizes: Sequence[int], rooms: Sequence[int]) -> list[int]:
    """The places that are left of all sums when each is moved as far as the room allows.

    Of all sums p up to the room, the largest ones up to room - p (Scheithauer and Terno 1996):
    cuts at these alone hold as much, where pieces are not limited.
    """
    found = {0}
    for room in set(rooms):
        every = sums([(size, room // size) for size in sizes if size <= room], room)
        found |= {every[bisect_right(every, room - place) - 1] for place in every}
    return sorted(found)


def compact(node: Node, forms: Sequence[Form]) -> tuple[Node, int, int]:
    """A tree without room between its pieces, with the length and width it needs."""
    if node is None:
        return None, 0, 0
    if not isinstance(node, Split):
        return node, forms[node].wide, forms[node].tall
    first, wide, tall = compact(node.first, forms)
    second, more, high = compact(node.second, forms)
    if first is None or second is None:
        return (second, more, high) if first is None else (first, wide, tall)
    if node.axis == ACROSS:
        both = max(tall, high)
        left = padded(first, (wide, tall), (wide, both))
        right = padded(second, (more, high), (more, both))
        return Split(ACROSS, wide, left, right), wide + more, both
    both = max(wide, more)
    low = padded(first, (wide, tall), (both, tall))
    above = padded(second, (more, high), (both, high))
    return Split(ALONG, tall, low, above), both, tall + high


@dataclass(frozen=True)
class Rest:
    """What counts as a remnant: both sides at least ``keep`` when the kerf is taken off."""

    kerf: int
    keep: int

    def area(self, wide: int, tall: int) -> int:
        """Of a rectangle that is left, in square steps; 0 where it is of no use."""
        real = wide - self.kerf, tall - self.kerf
        return real[0] * real[1] if min(real) >= max(1, self.keep) else 0


def padded(node: Node, inner: tuple[int, int], outer: tuple[int, int]) -> Node:
    """A filled rectangle in the corner of a larger one; the larger rest stays in one."""
    (wide, tall), (out_wide, out_tall) = inner, outer
    if wide == out_wide and tall == out_tall:
        return node
    if wide == out_wide:
        return Split(ALONG, tall, node, None)
    if tall == out_tall:
        return Split(ACROSS, wide, node, None)
    if (out_wide - wide) * out_tall >= (out_tall - tall) * out_wide:
        return Split(ACROSS, wide, Split(ALONG, tall, node, None), None)
    return Split(ALONG, tall, Split(ACROSS, wide, node, None), None)


def pattern_of(node: Node, forms: Sequence[Form], needs: int) -> Pattern:
    """How many pieces of each need a tree yields."""
    counts = [0] * needs
    stack = [node]
    while stack:
        one = stack.pop()
        if isinstance(one, Split):
            stack += [one.first, one.second]
        elif one is not None:
            counts[forms[one].need] += forms[one].count
    return tuple(counts)


def leaves(node: Node, wide: int, tall: int) -> Iterator[tuple[Node, int, int]]:
    """Every rectangle that is not cut further, with its size."""
    if not isinstance(node, Split):
        yield node, wide, tall
    elif node.axis == ACROSS:
        yield from leaves(node.first, node.at, tall)
        yield from leaves(node.second, wide - node.at, tall)
    else:
        yield from leaves(node.first, wide, node.at)
        yield from leaves(node.second, wide, tall - node.at)


def largest_rest(node: Node, wide: int, tall: int, rest: Rest) -> int:
    """Area of the largest remnant of a tree."""
    return max(
        (rest.area(*size) for leaf, *size in leaves(node, wide, tall) if leaf is None), default=0
    )


# By pattern: area of the largest remnant that can stay beside it, and how.
Fillings = dict[Pattern, tuple[int, Node]]
# The same by packed counts, with trees as (axis, at, first, second).
_Found = dict[int, tuple[int, Any]]


class AllFillings:
    """Every pattern that rectangles can hold, with the largest remnant of each.

    ``steps``: how many pairs of fillings may be joined before it is given up.
    """

    def __init__(
        self, forms: Sequence[Form], demand: Sequence[int], rest: Rest, steps: int
    ) -> None:
        self.forms, self.demand, self.rest, self.steps = forms, tuple(demand), rest, steps
        self.packed = Packed(demand)
        self._known: dict[tuple[int, int, str], _Found] = {}
        self._places: dict[tuple[int, int], list[int]] = {}
        self.ranks = [
            self.packed.pack([form.count if at == form.need else 0 for at in range(len(demand))])
            if form.count <= demand[form.need]
            else None
            for form in forms
        ]

    def of(self, wide: int, tall: int, stage: str = ANY) -> Fillings | None:
        """All fillings of a rectangle, that of nothing among them; None where they are too many."""
        try:
            found = self._of(wide, tall, stage)
        except _TooMany:
            return None
        return {
            self.packed.unpack(counts): (area, _tree(node))
            for counts, (area, node) in found.items()
        }

    def _of(self, wide: int, tall: int, stage: str) -> _Found:
        key = wide, tall, stage
        if key not in self._known:
            self._known[key] = self._work_out(wide, tall, stage)
        return self._known[key]

    def _work_out(self, wide: int, tall: int, stage: str) -> _Found:
        found: _Found = {0: (self.rest.area(wide, tall), None)}
        fitting = [f for f in self.forms if f.wide <= wide and f.tall <= tall]
        if not fitting:
            return found
        for place, form in enumerate(self.forms):
            rank = self.ranks[place]
            if (form.wide, form.tall) == (wide, tall) and stage != RIP and rank is not None:
                found[rank] = 0, place
        if stage in (ANY, CROSS):
            self._cut(found, ACROSS, wide, tall, stage)
        if stage == CROSS:
            return found
        self._cut(found, ALONG, wide, tall, stage)
        if stage == RIP and any(form.tall == tall for form in fitting):
            for counts, one in self._of(wide, tall, CROSS).items():
                if counts not in found or found[counts][0] < one[0]:
                    found[counts] = one
        return found

    def _cut(self, found: _Found, axis: int, wide: int, tall: int, stage: str) -> None:
        room = wide if axis == ACROSS else tall
        first_stage = ANY if stage == ANY else CROSS
        for at in self._at(axis, room, stage):
            if at >= room:
                break
            if axis == ACROSS:
                one = self._of(at, tall, first_stage)
                other = self._of(wide - at, tall, stage)
            else:
                one = self._of(wide, at, first_stage)
                other = self._of(wide, tall - at, stage)
            self._join(found, axis, at, one, other)

    def _join(self, found: _Found, axis: int, at: int, one: _Found, other: _Found) -> None:
        self.steps -= len(one) * len(other)
        if self.steps < 0:
            raise _TooMany
        most, guard = self.packed.most, self.packed.guard
        for first, (area, node) in one.items():
            if node is None:
                # The part with pieces comes first where only one has any.
                continue
            for second, (more, beside) in other.items():
                counts = first + second
                if (most - counts) & guard == guard:
                    larger = area if area > more else more
                    if counts not in found or found[counts][0] < larger:
                        found[counts] = larger, (axis, at, node, beside)

    def _at(self, axis: int, room: int, stage: str) -> list[int]:
        """Where a cut can pay: at sums of sizes, or at one size where that ends a stage."""
        if stage != ANY:
            return sorted({(f.wide if axis == ACROSS else f.tall) for f in self.forms})
        if (axis, room) not in self._places:
            sizes = [
                (f.wide if axis == ACROSS else f.tall, -(-self.demand[f.need] // f.count))
                for f in self.forms
            ]
            self._places[axis, room] = sums(sizes, room)[1:]
        return self._places[axis, room]


class _TooMany(Exception):
    """More fillings than can be looked at."""


def _tree(node: Any) -> Node:
    if isinstance(node, tuple):
        axis, at, first, second = node
        return Split(axis, at, _tree(first), _tree(second))
    return node  # type: ignore[no-any-return]
