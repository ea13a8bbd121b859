"""The longest off-cut of plans that cost and waste the same."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ...calc.solver import Row, least
from .patterns import Kind
from .program import Clock, Column

# Unlike time, so many branchings are the same on every machine.
_MOST_NODES = 3000


@dataclass(frozen=True)
class Boards:
    """What is cut from what, in whole steps."""

    widths: Sequence[int]
    demand: Sequence[int]
    kinds: Sequence[Kind]
    costs: Sequence[int]
    spans: Sequence[int]
    kerf: int

    def rest(self, column: Column) -> int:
        """What stays of a board behind the cut after its last piece; below 0: no off-cut."""
        place, pattern = column
        width = sum(w * n for w, n in zip(self.widths, pattern, strict=True))
        return self.kinds[place].room - self.kerf - width


def without_surplus(
    demand: Sequence[int], widths: Sequence[int], kinds: Sequence[Kind], boards: dict[Column, int]
) -> dict[Column, int]:
    """The boards without pieces beyond those needed, taken where most of a board is free."""
    singles = [
        (place, list(pattern)) for (place, pattern), count in boards.items() for _ in range(count)
    ]
    for item in range(len(widths)):
        surplus = sum(pattern[item] for _, pattern in singles) - demand[item]
        while surplus > 0:
            holding = [one for one in singles if one[1][item]]
            chosen = max(holding, key=lambda one: _free(one, widths, kinds))
            chosen[1][item] -= 1
            surplus -= 1
    counted: dict[Column, int] = {}
    for place, pattern in singles:
        if any(pattern):
            column = (place, tuple(pattern))
            counted[column] = counted.get(column, 0) + 1
    return counted


def _free(single: tuple[int, list[int]], widths: Sequence[int], kinds: Sequence[Kind]) -> int:
    place, pattern = single
    return kinds[place].room - sum(w * n for w, n in zip(widths, pattern, strict=True))


def longest_off_cut(
    what: Boards,
    plain: dict[Column, int],
    limits: tuple[int, int],
    columns: Sequence[Column],
    is_complete: bool,
    left: Clock,
) -> tuple[dict[Column, int], bool]:
    """Boards that cost and span no more than ``limits``, with the longest off-cut, and whether
    no longer one is possible.

    ``plain`` is such a plan to begin with, ``columns`` what boards may be filled with: all there
    are where ``is_complete``.
    """
    now = max(0, *(what.rest(column) for column in plain))
    if now >= _at_most(what, plain):
        return plain, True
    time = left()
    if time <= 0:
        return plain, False
    # Where columns are missing nothing can be proved: then boards cut as now, but one, will do.
    answer = _choose(what, limits, columns if is_complete else tuple(plain), time)
    if answer is None:
        return plain, False
    boards, best, bound = answer
    boards = without_surplus(what.demand, what.widths, what.kinds, boards)
    is_proved = is_complete and bound is not None and bound <= max(best, now)
    if best <= now:
        return plain, is_proved
    return boards, is_proved


def _at_most(what: Boards, plain: dict[Column, int]) -> int:
    """What the off-cut of one board comes to if all others are filled to the end.

    Only where one kind of board leaves no choice of how many; else the longest board's all.
    """
    if len(what.kinds) > 1:
        return max(kind.room for kind in what.kinds)
    count = sum(plain.values())
    rests = sum(what.rest(column) * times for column, times in plain.items())
    return rests + what.kerf * (count - 1)


def _choose(
    what: Boards, limits: tuple[int, int], columns: Sequence[Column], time: int
) -> tuple[dict[Column, int], int, int | None] | None:
    """One board, filled with any pieces, whose rest is the longest; the others as ``columns``."""
    kinds, first = len(what.kinds), len(columns)
    usable = [kind.room - what.kerf for kind in what.kinds]
    costs = [0] * first + [-room for room in usable] + list(what.widths)
    of_board = range(first, first + kinds)
    of_piece = range(first + kinds, first + kinds + len(what.widths))
    pieces: list[dict[int, int]] = [{at: 1} for at in of_piece]
    of_kind: list[dict[int, int]] = [{at: 1} for at in of_board]
    for at, (place, pattern) in enumerate(columns):
        of_kind[place][at] = 1
        for item, count in enumerate(pattern):
            if count:
                pieces[item][at] = count
    places = [place for place, _ in columns] + list(range(kinds))
    rows = [Row(row, low=count) for row, count in zip(pieces, what.demand, strict=True)]
    rows += [Row(row, high=kind.most) for row, kind in zip(of_kind, what.kinds, strict=True)]
    for parts, most in zip((what.costs, what.spans), limits, strict=True):
        rows.append(Row({at: parts[place] for at, place in enumerate(places)}, high=most))
    rows.append(Row(dict.fromkeys(of_board, 1), low=1, high=1))
    fits = dict(zip(of_piece, what.widths, strict=True))
    fits |= {at: -room for at, room in zip(of_board, usable, strict=True)}
    # The last cut may take all that is left, and so reach beyond the end.
    rows.append(Row(fits, high=what.kerf))
    upper = [what.kinds[place].most for place, _ in columns] + [1] * kinds + list(what.demand)
    answer = least(costs, rows, upper, Fraction(time, 1000), _MOST_NODES)
    if answer is None:
        return None
    values = answer.values
    boards = {column: n for column, n in zip(columns, values, strict=False) if n}
    special = next(place for place, at in enumerate(of_board) if values[at])
    column = (special, tuple(values[at] for at in of_piece))
    boards[column] = boards.get(column, 0) + 1
    return boards, -int(answer.cost), None if answer.bound is None else -int(answer.bound)
