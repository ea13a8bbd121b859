"""The largest remnant of plans that cost and waste the same."""

from collections.abc import Sequence
from fractions import Fraction

from ....calc.solver import Row, search
from ..program import Clock, Column
from .fillers import Flat
from .greedy import tidied
from .layouts import ANY, RIP, AllFillings, compact, largest_rest, padded, pattern_of
from .types import Form, Node, Split

# Unlike time, so many branchings are the same on every machine.
_MOST_NODES = 3000
_STEPS = 40_000


def without_surplus(flat: Flat, boards: dict[Column, int]) -> dict[Column, int]:
    """The sheets without pieces beyond those needed, taken where the fewest pieces are."""
    columns = [column for column, count in boards.items() for _ in range(count)]
    patterns = [list(pattern) for _, pattern in columns]
    trees = [flat.trees[column] for column in columns]
    for need, wanted in enumerate(flat.demand):
        surplus = sum(pattern[need] for pattern in patterns) - wanted
        while surplus > 0:
            at = min(
                (i for i, pattern in enumerate(patterns) if pattern[need]),
                key=lambda i: sum(patterns[i]),
            )
            trees[at], taken = _less(flat, trees[at], need, surplus)
            patterns[at][need] -= taken
            surplus -= taken
    counted: dict[Column, int] = {}
    for (place, _), tree in zip(columns, trees, strict=True):
        pattern = pattern_of(tree, flat.forms, len(flat.demand))
        if any(pattern):
            column = place, pattern
            flat.trees.setdefault(column, tree)
            counted[column] = counted.get(column, 0) + 1
    return counted


def _less(flat: Flat, tree: Node, need: int, surplus: int) -> tuple[Node, int]:
    """A tree with up to so many pieces of a need left out, from one place, and how many."""
    if isinstance(tree, Split):
        first, taken = _less(flat, tree.first, need, surplus)
        if taken:
            return tidied(Split(tree.axis, tree.at, first, tree.second)), taken
        second, taken = _less(flat, tree.second, need, surplus)
        return tidied(Split(tree.axis, tree.at, tree.first, second)), taken
    if tree is None or flat.forms[tree].need != need:
        return tree, 0
    whole = flat.forms[tree]
    if whole.count <= surplus:
        return None, whole.count
    for place, form in enumerate(flat.forms):
        is_like = (form.need, form.turned) == (need, whole.turned)
        if is_like and form.count == whole.count - surplus and _holds(whole, form):
            return padded(place, (form.wide, form.tall), (whole.wide, whole.tall)), surplus
    return tree, 0


def _holds(whole: Form, form: Form) -> bool:
    return form.wide <= whole.wide and form.tall <= whole.tall


def largest_remnant(
    flat: Flat,
    boards: dict[Column, int],
    limits: Sequence[tuple[Sequence[int], int]],
    left: Clock,
) -> tuple[dict[Column, int], bool]:
    """A plan with the largest remnant, and whether no other of these limits has a larger one.

    ``limits``: what a sheet of each kind counts for, and the most that a plan may: cost, area.
    """
    if flat.fillings is None:
        return _laid_out_anew(flat, boards, left), False
    columns = [
        (place, pattern)
        for place, found in enumerate(flat.fillings)
        for pattern in found
        if any(pattern)
    ]
    areas = [flat.fillings[place][pattern][0] for place, pattern in columns]
    rows = _rows(flat, columns, limits)
    sizes = sorted(set(areas))
    best, is_known = boards, True
    low, high = 0, len(sizes) - 1
    for column in boards:
        low = max(low, sizes.index(flat.fillings[column[0]][column[1]][0]))
    while low < high:
        middle = (low + high + 1) // 2
        found = _one_as_large(flat, columns, areas, rows, sizes[middle], left)
        if isinstance(found, dict):
            best, low = found, middle
        else:
            is_known = is_known and found
            high = middle - 1
    return best, is_known


def _rows(
    flat: Flat, columns: Sequence[Column], limits: Sequence[tuple[Sequence[int], int]]
) -> list[Row]:
    rows = [
        Row({at: p[need] for at, (_, p) in enumerate(columns) if p[need]}, wanted, wanted)
        for need, wanted in enumerate(flat.demand)
    ]
    rows += [
        Row({at: 1 for at, (k, _) in enumerate(columns) if k == place}, high=kind.most)
        for place, kind in enumerate(flat.kinds)
    ]
    rows += [
        Row({at: parts[k] for at, (k, _) in enumerate(columns) if parts[k]}, high=most)
        for parts, most in limits
    ]
    return rows


def _one_as_large(
    flat: Flat,
    columns: Sequence[Column],
    areas: Sequence[int],
    rows: list[Row],
    size: int,
    left: Clock,
) -> dict[Column, int] | bool:
    """A plan with a remnant of such a size; True where it is proved that there is none."""
    time = left()
    if time <= 0:
        return False
    wanted = Row({at: 1 for at, area in enumerate(areas) if area >= size}, low=1)
    upper = [
        min(n // c for n, c in zip(flat.demand, pattern, strict=True) if c)
        for _, pattern in columns
    ]
    found = search(
        [1] * len(columns), [*rows, wanted], upper, Fraction(time, 1000), nodes=_MOST_NODES
    )
    if found.answer is None:
        return found.is_impossible
    return {c: n for c, n in zip(columns, found.answer.values, strict=True) if n}


def _laid_out_anew(flat: Flat, boards: dict[Column, int], left: Clock) -> dict[Column, int]:
    """The same sheets, each laid out so that the largest rest stays where that is soon found."""
    for place, pattern in boards:
        size = flat.sizes[place]
        if not flat.is_ripped:
            node, wide, tall = compact(flat.trees[place, pattern], flat.forms)
            close = padded(node, (wide, tall), size)
            area = largest_rest(flat.trees[place, pattern], *size, flat.rest)
            if largest_rest(close, *size, flat.rest) >= area:
                flat.trees[place, pattern] = close
        if left() <= 0:
            continue
        every = AllFillings(flat.forms, pattern, flat.rest, _STEPS)
        found = every.of(*size, RIP if flat.is_ripped else ANY)
        if found and pattern in found:
            area, node = found[pattern]
            if area > largest_rest(flat.trees[place, pattern], *size, flat.rest):
                flat.trees[place, pattern] = node
    return boards
