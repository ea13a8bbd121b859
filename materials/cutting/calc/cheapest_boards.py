"""The cheapest boards that yield what is needed, with a bound that is proved.

Where few patterns fill a board, all of them go into one whole-number program. Where there are
many, those worth having are found one by one: prices of pieces (what one more piece would cost)
say which pattern would pay, an exact filling of the board finds it. The same prices prove a bound,
in whole numbers throughout: boards cannot cost less than the pieces are worth when no board holds
more worth than it costs. Where the best plan stays above the bound, every pattern that a better
plan could use is added; there is then nothing left that could be better.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ...calc.solver import MOST_VALUE, Row, best_fill, least, prices_of_rows
from .patterns import Pattern, full_patterns, remaining_gain, useful_patterns
from .program import Clock, Column, Cover, Filler, Task, shortage

_ALL = 1500
_MOST_ADDED = 3000
_MOST_ROUNDS = 400
# Boards wider than so many steps are not filled exactly: it would take too long.
MOST_ROOM = 400_000


class Lengths:
    """Boards filled with pieces in one line."""

    def __init__(self, task: Task) -> None:
        self.task = task
        self.rooms = [kind.room for kind in task.kinds]

    def every(self) -> list[Column] | None:
        return _every_column(self.task)

    def lead(self, start: dict[Column, int]) -> list[Column]:
        return _lead(self.task, start)

    def best(self, values: Sequence[int]) -> list[tuple[int, Pattern]] | None:
        if max(self.rooms) > MOST_ROOM:
            return None
        return best_fill(self.task.widths, values, self.task.demand, self.rooms)

    def useful(
        self, values: Sequence[int], at_least: Sequence[int], limit: int, left: Clock
    ) -> list[Column] | None:
        task, columns = self.task, list[Column]()
        still = remaining_gain(task.widths, values, max(self.rooms))
        for place, kind in enumerate(task.kinds):
            if left() <= 0:
                return None
            found = useful_patterns(
                task.widths, task.demand, kind.room, values, at_least[place], limit, still
            )
            if found is None or len(columns) + len(found) > limit:
                return None
            columns += [(place, pattern) for pattern in found]
        return columns


def cover(task: Task, start: dict[Column, int], left: Clock, filler: Filler | None = None) -> Cover:
    """The cheapest boards found; ``start`` is some way to do it and is never made worse.

    ``filler`` says how they are filled: in one line where it is not given.
    """
    filler = filler or Lengths(task)
    columns = filler.every()
    whole = columns is not None
    pool = _Pool(columns if columns is not None else filler.lead(start))
    best, best_cost = start, _cost_of(task, start)
    bound = 0
    prices: _Prices | None = None
    if not whole:
        # Half of the time is for choosing among the columns found.
        kept = left() // 2
        prices = _generate(task, filler, pool, best_cost, lambda: left() - kept)
        bound = max(bound, prices.bound if prices else 0)
    if bound < best_cost:
        answer, choice_bound = _choose(task, pool.columns, left)
        if answer is not None and _cost_of(task, answer) < best_cost:
            best, best_cost = answer, _cost_of(task, answer)
        if whole:
            bound = max(bound, choice_bound)
    if not whole and prices is not None and bound < best_cost:
        added, are_all = _useful_columns(task, filler, prices, best_cost, left)
        for column in added:
            pool.add(column)
        answer, choice_bound = _choose(task, pool.columns, left)
        if answer is not None and _cost_of(task, answer) < best_cost:
            best, best_cost = answer, _cost_of(task, answer)
        if are_all:
            # A better plan would consist of these columns alone.
            bound = max(bound, min(choice_bound, best_cost))
    return Cover(best, best_cost, min(bound, best_cost), tuple(pool.columns), whole)


class _Pool:
    """Columns, each once, in the order in which they came."""

    def __init__(self, columns: Sequence[Column]) -> None:
        self.columns: list[Column] = []
        self._seen: set[Column] = set()
        for column in columns:
            self.add(column)

    def add(self, column: Column) -> bool:
        if column in self._seen:
            return False
        self._seen.add(column)
        self.columns.append(column)
        return True


@dataclass(frozen=True)
class _Prices:
    """Prices of pieces and of budgets, whole multiples of 1/``scale``, and what they prove."""

    pieces: tuple[int, ...]
    budgets: tuple[int, ...]
    above: tuple[int, ...]
    scale: int
    exact: Fraction
    bound: int


def _every_column(task: Task) -> list[Column] | None:
    by_room: dict[int, list[Pattern]] = {}
    count = 0
    for kind in task.kinds:
        if kind.room not in by_room:
            found = full_patterns(task.widths, task.demand, kind.room, _ALL)
            if found is None:
                return None
            by_room[kind.room] = found
        count += len(by_room[kind.room])
        if count > 2 * _ALL:
            return None
    return [(k, pattern) for k, kind in enumerate(task.kinds) for pattern in by_room[kind.room]]


def _lead(task: Task, start: dict[Column, int]) -> list[Column]:
    """Columns to begin with: each piece alone, as often as it goes on a board."""
    columns = list(start)
    for place, kind in enumerate(task.kinds):
        for item, width in enumerate(task.widths):
            count = min(task.demand[item], kind.room // width)
            if count:
                pattern = tuple(count if i == item else 0 for i in range(len(task.widths)))
                columns.append((place, pattern))
    return columns


def _rows(task: Task, columns: Sequence[Column]) -> tuple[list[Row], list[int]]:
    """The rows of the program, and the costs of its variables: columns, then missing pieces."""
    costs = [task.costs[place] for place, _ in columns]
    pieces: list[dict[int, int]] = [{} for _ in task.demand]
    kinds: list[dict[int, int]] = [{} for _ in task.kinds]
    budgets: list[dict[int, int]] = [{} for _ in task.budgets]
    for at, (place, pattern) in enumerate(columns):
        kinds[place][at] = 1
        for item, count in enumerate(pattern):
            if count:
                pieces[item][at] = count
        for budget, row in zip(task.budgets, budgets, strict=True):
            row[at] = budget.parts[place]
    for item, cost in enumerate(task.missing or ()):
        pieces[item][len(costs)] = 1
        costs.append(cost)
    rows = [Row(row, low=count) for row, count in zip(pieces, task.demand, strict=True)]
    rows += [Row(row, high=kind.most) for row, kind in zip(kinds, task.kinds, strict=True)]
    rows += [Row(row, high=b.most) for row, b in zip(budgets, task.budgets, strict=True)]
    return rows, costs


def _choose(
    task: Task, columns: Sequence[Column], left: Clock
) -> tuple[dict[Column, int] | None, int]:
    """The best whole-number choice of columns and a bound for it; (None, 0) where none came."""
    time = left()
    if time <= 0:
        return None, 0
    rows, costs = _rows(task, columns)
    upper = [min(task.kinds[k].most, _times(task, p)) for k, p in columns]
    answer = least(
        costs, rows, upper + list(task.demand)[: len(costs) - len(upper)], Fraction(time, 1000)
    )
    if answer is None:
        return None, 0
    boards = {c: n for c, n in zip(columns, answer.values, strict=False) if n}
    return boards, 0 if answer.bound is None else int(answer.bound)


def _times(task: Task, pattern: Pattern) -> int:
    """How often a pattern can be wanted: until it has yielded all of each piece in it."""
    return max(-(-d // c) for d, c in zip(task.demand, pattern, strict=True) if c)


def _cost_of(task: Task, boards: dict[Column, int]) -> int:
    cost = sum(task.costs[place] * count for (place, _), count in boards.items())
    if task.missing is not None:
        cost += sum(
            m * short for m, short in zip(task.missing, shortage(task.demand, boards), strict=True)
        )
    return cost


def _generate(task: Task, filler: Filler, pool: _Pool, target: int, left: Clock) -> _Prices | None:
    """Add columns that pay until none does, or until the bound shows that none is wanted."""
    pieces = sum(task.demand)
    highest_cost = max(1, *task.costs, *(task.missing or (1,)))
    # As fine as the machine's whole numbers allow; finer than this the lead is not.
    scale = max(1, min(10**9, MOST_VALUE // (highest_cost * pieces * max(task.demand) * 64)))
    best: _Prices | None = None
    for _ in range(_MOST_ROUNDS):
        if left() <= 0:
            break
        rows, costs = _rows(task, pool.columns)
        found = prices_of_rows(costs, rows, scale)
        if found is None:
            break
        duals, cost_now = found
        at = len(task.demand)
        values = [
            min(value, highest_cost * scale * pieces) if task.missing is None
            else min(value, task.missing[item] * scale)
            for item, value in enumerate(duals[:at])
        ]  # fmt: skip
        budget_prices = duals[at + len(task.kinds) :]
        try:
            fills = filler.best(values)
        except OverflowError:
            break
        if fills is None:
            break
        prices = max(
            (
                _weigh(task, *lowered, budget_prices, scale)
                for lowered in _lowered(task, values, budget_prices, scale, fills)
            ),
            key=lambda one: one.exact,
        )
        if best is None or prices.exact > best.exact:
            best = prices
        if best.bound >= target or Fraction(best.bound) >= cost_now:
            # Fractions of boards cost no more than the next whole step: nothing to gain.
            break
        above = duals[at : at + len(task.kinds)]
        if not _add_paying(task, pool, budget_prices, scale, above, fills):
            break
    return best


def _add_paying(
    task: Task,
    pool: _Pool,
    budget_prices: Sequence[int],
    scale: int,
    of_kinds: Sequence[int],
    fills: Sequence[tuple[int, Pattern]],
) -> bool:
    """Add the fills that are worth more than their board; whether any was new."""
    added = False
    for place, (worth, pattern) in enumerate(fills):
        cost = prices_of_board(task, place, budget_prices, scale)
        if worth - cost - of_kinds[place] > scale // 10**7 and any(pattern):
            added |= pool.add((place, pattern))
    return added


def prices_of_board(task: Task, place: int, budget_prices: Sequence[int], scale: int) -> int:
    """What a board costs, its part of the budgets included, in 1/``scale``."""
    of_budgets = (
        price * budget.parts[place]
        for price, budget in zip(budget_prices, task.budgets, strict=True)
    )
    return task.costs[place] * scale + sum(of_budgets)


def _lowered(
    task: Task,
    values: Sequence[int],
    budget_prices: Sequence[int],
    scale: int,
    fills: Sequence[tuple[int, Pattern]],
) -> list[tuple[Sequence[int], list[int]]]:
    """Values and what boards hold of them at most: as they are, and all lowered in one proportion
    so that no board that costs something holds more worth than it costs (Farley 1990)."""
    worths = [worth for worth, _ in fills]
    costs = [prices_of_board(task, k, budget_prices, scale) for k in range(len(task.kinds))]
    part = min(
        (Fraction(c, w) for c, w in zip(costs, worths, strict=True) if c and w > c),
        default=Fraction(1),
    )
    if part == 1:
        return [(values, worths)]
    lower = [math.floor(value * part) for value in values]
    return [(values, worths), (lower, [math.floor(worth * part) for worth in worths])]


def _weigh(
    task: Task,
    values: Sequence[int],
    worths: Sequence[int],
    budget_prices: Sequence[int],
    scale: int,
) -> _Prices:
    """The bound that prices prove, exactly."""
    above = tuple(
        max(0, worth - prices_of_board(task, place, budget_prices, scale))
        for place, worth in enumerate(worths)
    )
    total = sum(value * count for value, count in zip(values, task.demand, strict=True))
    total -= sum(a * kind.most for a, kind in zip(above, task.kinds, strict=True))
    total -= sum(p * b.most for p, b in zip(budget_prices, task.budgets, strict=True))
    exact = Fraction(total, scale)
    bound = max(0, -(-total // scale))
    return _Prices(tuple(values), tuple(budget_prices), above, scale, exact, bound)


def _useful_columns(
    task: Task, filler: Filler, prices: _Prices, best_cost: int, left: Clock
) -> tuple[list[Column], bool]:
    """Columns that a plan cheaper than ``best_cost`` could use, and whether these are all.

    What a column costs above the worth of its pieces adds up to what a plan costs above the
    bound, so a column that alone makes up the difference is in no better plan. Where too many
    remain, those that cost little above the worth of their pieces.
    """
    spare = (best_cost - 1) * prices.scale - math.floor(prices.exact * prices.scale)
    costs = [
        prices_of_board(task, place, prices.budgets, prices.scale) + prices.above[place]
        for place in range(len(task.kinds))
    ]
    for part in (1, 3, 10, 30, 100, 300, 1000):
        at_least = [cost - spare // part for cost in costs]
        columns = filler.useful(prices.pieces, at_least, _MOST_ADDED, left)
        if columns is not None:
            return columns, part == 1
    return [], False
