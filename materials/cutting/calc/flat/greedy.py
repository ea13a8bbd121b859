"""Sheets filled one piece after the other, as somebody would who looks no further ahead."""

from collections.abc import Callable, Sequence

from ..patterns import Kind
from ..program import Column
from .layouts import pattern_of
from .types import ACROSS, ALONG, Form, Node, Split

Rank = Callable[[int, int], tuple[int, ...]]


def fill_sheet(
    forms: Sequence[Form],
    wanted: Sequence[int],
    size: tuple[int, int],
    is_ripped: bool,
    weights: Sequence[int] | None = None,
) -> Node:
    """A filling: the largest piece that fits into the largest rest, and so on.

    ``weights``: by need, what a piece counts for instead of its area; 0: it is not taken.
    """
    filling = _Filling(forms, wanted, weights)
    return filling.board(*size) if is_ripped else filling.sheet(*size)


class _Filling:
    """One rectangle while it is filled."""

    def __init__(
        self, forms: Sequence[Form], wanted: Sequence[int], weights: Sequence[int] | None
    ) -> None:
        self.forms, self.left, self.weights = forms, list(wanted), weights

    def _weight(self, form: Form) -> int:
        if self.weights is None:
            return form.wide * form.tall
        return self.weights[form.need] * form.count

    def _take(self, wide: int, tall: int, exact: int | None = None) -> int | None:
        fitting = [
            (self._weight(form), form.wide * form.tall, -place)
            for place, form in enumerate(self.forms)
            if form.wide <= wide
            and form.tall <= tall
            and (exact is None or form.tall == exact)
            and form.count <= self.left[form.need]
            and self._weight(form) > 0
        ]
        if not fitting:
            return None
        place = -max(fitting)[2]
        self.left[self.forms[place].need] -= self.forms[place].count
        return place

    def sheet(self, wide: int, tall: int) -> Node:
        place = self._take(wide, tall)
        if place is None:
            return None
        form = self.forms[place]
        over, beside = tall - form.tall, wide - form.wide
        if beside * tall >= over * wide:
            rest = self.sheet(beside, tall)
            above = self.sheet(form.wide, over)
            column = Split(ALONG, form.tall, place, above) if over else place
            return Split(ACROSS, form.wide, column, rest) if beside else column
        rest = self.sheet(wide, over)
        more = self.sheet(beside, form.tall)
        row = Split(ACROSS, form.wide, place, more) if beside else place
        return Split(ALONG, form.tall, row, rest) if over else row

    def board(self, wide: int, tall: int) -> Node:
        place = self._take(wide, tall)
        if place is None:
            return None
        form = self.forms[place]
        rest = self._strip(wide - form.wide, form.tall)
        first: Node = place if form.wide == wide else Split(ACROSS, form.wide, place, rest)
        if form.tall == tall:
            return first
        return Split(ALONG, form.tall, first, self.board(wide, tall - form.tall))

    def _strip(self, wide: int, tall: int) -> Node:
        place = self._take(wide, tall, tall)
        if place is None:
            return None
        form = self.forms[place]
        if form.wide == wide:
            return place
        return Split(ACROSS, form.wide, place, self._strip(wide - form.wide, tall))


def fill_all(
    forms: Sequence[Form],
    demand: Sequence[int],
    kinds: Sequence[Kind],
    sizes: Sequence[tuple[int, int]],
    is_ripped: bool,
    rank: Rank,
) -> dict[Column, tuple[int, Node]] | None:
    """Sheets filled until all pieces are cut, with how many of each and their trees; None where
    sheets run out. ``rank`` says which is taken next, of (kind, area it would hold): the least."""
    left, stock = list(demand), [kind.most for kind in kinds]
    found: dict[Column, tuple[int, Node]] = {}
    while any(left):
        options = []
        for place, size in enumerate(sizes):
            if not stock[place]:
                continue
            tree = fill_sheet(forms, left, size, is_ripped)
            pattern = pattern_of(tree, forms, len(demand))
            if any(pattern):
                area = sum(n * least_area(forms, need) for need, n in enumerate(pattern))
                options.append((rank(place, area), place, pattern, tree))
        if not options:
            return None
        _, place, pattern, tree = min(options, key=lambda one: one[:3])
        times = min(n // c for n, c in zip(left, pattern, strict=True) if c)
        times = min(times, stock[place])
        stock[place] -= times
        left = [n - times * c for n, c in zip(left, pattern, strict=True)]
        before = found.get((place, pattern), (0, tree))
        found[place, pattern] = before[0] + times, before[1]
    return found


def least_area(forms: Sequence[Form], need: int) -> int:
    """The least that one piece of a need takes, in square steps and rounded down."""
    return min(f.wide * f.tall // f.count for f in forms if f.need == need)


def tidied(node: Node) -> Node:
    """A tree without cuts through what is left: two rests beside each other are one."""
    if not isinstance(node, Split):
        return node
    first, second = tidied(node.first), tidied(node.second)
    if first is None and second is None:
        return None
    return Split(node.axis, node.at, first, second)
