"""Ways to fill one board, as whole numbers of pieces.

All lengths here are whole numbers of one small step, and every piece is as wide as its length and
one saw cut; a board's room is its usable length and one saw cut. So pieces fit when the sum of
their widths is at most the room: n pieces on a board that ends with the last of them take n - 1
cuts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction

Pattern = tuple[int, ...]
# Looking at one more step of a search costs a microsecond or two.
_STEPS_FOR_ONE = 40
_MOST_CELLS = 1_000_000


@dataclass(frozen=True)
class Kind:
    """A kind of board: its ``room``, and how many there are at ``most``."""

    room: int
    most: int


def full_patterns(
    widths: Sequence[int], demand: Sequence[int], room: int, limit: int
) -> list[Pattern] | None:
    """Every pattern to which no further needed piece can be added; None where over ``limit``.

    The order is the same each time: the most of the widest pieces first.
    """
    order = sorted(range(len(widths)), key=lambda i: (-widths[i], i))
    return _patterns(order, widths, demand, room, [0] * len(widths), 0, limit, ())


def useful_patterns(
    widths: Sequence[int],
    demand: Sequence[int],
    room: int,
    values: Sequence[int],
    at_least: int,
    limit: int,
    still: Sequence[Sequence[int]],
) -> list[Pattern] | None:
    """Every full pattern worth ``at_least`` so much; None where over ``limit``.

    Pieces of no value are added only where that makes a pattern full. ``still``: what
    ``remaining_gain`` says of the same pieces, for this room or a larger one.
    """
    order = by_worth(widths, values)
    return _patterns(order, widths, demand, room, values, at_least, limit, still)


def _patterns(
    order: Sequence[int],
    widths: Sequence[int],
    demand: Sequence[int],
    room: int,
    values: Sequence[int],
    at_least: int,
    limit: int,
    still: Sequence[Sequence[int]],
) -> list[Pattern] | None:
    found: list[Pattern] = []
    counts = [0] * len(widths)
    steps = limit * _STEPS_FOR_ONE

    def fill(at: int, left: int, missing: int) -> bool:
        nonlocal steps
        steps -= 1
        if steps < 0:
            return False
        if at == len(order):
            full = all(counts[i] == demand[i] or widths[i] > left for i in order)
            if missing <= 0 and full and any(counts):
                found.append(tuple(counts))
            return len(found) <= limit
        item = order[at]
        # Nothing that follows is worth more for its width than this.
        if left * values[item] < missing * widths[item]:
            return True
        if still and still[at][left] < missing:
            return True
        for count in range(min(demand[item], left // widths[item]), -1, -1):
            counts[item] = count
            if not fill(at + 1, left - count * widths[item], missing - count * values[item]):
                return False
        return True

    return found if fill(0, room, at_least) else None


def by_worth(widths: Sequence[int], values: Sequence[int]) -> list[int]:
    """Places of pieces, those worth the most for their width first."""
    return sorted(range(len(widths)), key=lambda i: (Fraction(-values[i], widths[i]), i))


def remaining_gain(widths: Sequence[int], values: Sequence[int], room: int) -> list[list[int]]:
    """By place in ``by_worth`` and room left, what pieces from there on are worth at most.

    [] where that is too much to work out.
    """
    if len(widths) * room > _MOST_CELLS:
        return []
    after = [0] * (room + 1)
    tables = []
    for item in reversed(by_worth(widths, values)):
        width, value = widths[item], values[item]
        now = list(after)
        for left in range(width, room + 1):
            now[left] = max(now[left], now[left - width] + value)
        tables.append(now)
        after = now
    return tables[::-1]


def fill_greedily(
    widths: Sequence[int],
    demand: Sequence[int],
    kinds: Sequence[Kind],
    rank: Callable[[int, int], tuple[int, ...]],
) -> list[tuple[int, Pattern]] | None:
    """Boards filled one after the other, the widest pieces first; None where boards run out.

    ``rank`` says which board is taken next, of (kind, width that it would hold): the least.
    """
    left = list(demand)
    stock = [kind.most for kind in kinds]
    order = sorted(range(len(widths)), key=lambda i: (-widths[i], i))
    boards: list[tuple[int, Pattern]] = []
    while any(left):
        options = []
        for place, kind in enumerate(kinds):
            if not stock[place]:
                continue
            room, counts = kind.room, [0] * len(widths)
            for item in order:
                counts[item] = min(left[item], room // widths[item])
                room -= counts[item] * widths[item]
            if any(counts):
                options.append((rank(place, kind.room - room), place, tuple(counts)))
        if not options:
            return None
        _, place, pattern = min(options)
        # The same board again, as often as its pattern is still wanted.
        times = min(n // c for n, c in zip(left, pattern, strict=True) if c)
        times = min(times, stock[place])
        boards += [(place, pattern)] * times
        stock[place] -= times
        left = [n - times * c for n, c in zip(left, pattern, strict=True)]
    return boards
