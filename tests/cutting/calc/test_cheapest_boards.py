"""The cheapest boards and what is claimed of them, against every choice of boards there is."""

from fractions import Fraction as F
from functools import lru_cache
from itertools import product
from random import Random

import pytest

from materials.calc.solver import Answer
from materials.cutting.calc import cheapest_boards
from materials.cutting.calc.cheapest_boards import Lengths, _lead, cover, prices_of_board
from materials.cutting.calc.patterns import Kind, fill_greedily
from materials.cutting.calc.program import Budget, Task, shortage


def by_looking_at_all(task: Task) -> int | None:
    """The least cost of any boards, missing pieces counted; None where there are none."""

    @lru_cache(None)
    def fillings(room, left):
        return [
            counts
            for counts in product(*(range(most + 1) for most in left))
            if any(counts) and sum(w * n for w, n in zip(task.widths, counts, strict=True)) <= room
        ]

    @lru_cache(None)
    def least(left, used):
        """``used``: boards of each kind so far, which also says what the budgets have left."""
        costs = [0] if not any(left) else []
        if task.missing is not None:
            costs.append(sum(c * n for c, n in zip(task.missing, left, strict=True)))
        for place, kind in enumerate(task.kinds):
            now = tuple(n + (at == place) for at, n in enumerate(used))
            over = any(
                sum(p * n for p, n in zip(budget.parts, now, strict=True)) > budget.most
                for budget in task.budgets
            )
            if now[place] > kind.most or over:
                continue
            for counts in fillings(kind.room, left):
                rest = least(tuple(a - b for a, b in zip(left, counts, strict=True)), now)
                if rest is not None:
                    costs.append(task.costs[place] + rest)
        return min(costs, default=None)

    return least(tuple(task.demand), (0,) * len(task.kinds))


def some_task(chance: Random) -> Task:
    widths = chance.sample(range(2, 12), chance.randint(1, 3))
    demand = [chance.randint(1, 3) for _ in widths]
    while sum(demand) > 6:
        demand[demand.index(max(demand))] -= 1
    kinds = [Kind(chance.randint(6, 18), chance.randint(1, 4)) for _ in range(chance.randint(1, 2))]
    budgets = [
        Budget([chance.randint(1, 5) for _ in kinds], chance.randint(4, 16))
        for _ in range(chance.randint(0, 1))
    ]
    # A piece that is missing is dearer than any board here, or all must be cut.
    missing = chance.choice((None, [width * 5 for width in widths]))
    costs = [chance.randint(0 if missing else 1, 9) for _ in kinds]
    return Task(widths, demand, kinds, costs, budgets, missing)


def first_of(task: Task, chance: Random) -> dict | None:
    """Some boards that keep what there is and the budgets; None where they miss what they may not.

    Where pieces may be missing, all of them are at times.
    """
    boards: dict = {}
    left = list(task.demand)
    if task.missing is not None and chance.random() < 0.5:
        return boards
    for place, kind in enumerate(task.kinds):
        for _ in range(kind.most):
            room, counts = kind.room, [0] * len(left)
            for item, width in enumerate(task.widths):
                counts[item] = min(left[item], room // width)
                room -= counts[item] * width
            more = dict(boards)
            column = (place, tuple(counts))
            more[column] = more.get(column, 0) + 1
            used = [
                sum(n for (k, _), n in more.items() if k == at) for at in range(len(task.kinds))
            ]
            if any(counts) and all(
                sum(p * n for p, n in zip(budget.parts, used, strict=True)) <= budget.most
                for budget in task.budgets
            ):
                boards, left = more, [n - c for n, c in zip(left, counts, strict=True)]
    return None if any(left) and task.missing is None else boards


def holds(task: Task, found) -> None:
    """The boards are there, keep the budgets, yield what is needed and cost what is said."""
    used = [
        sum(n for (k, _), n in found.boards.items() if k == at) for at in range(len(task.kinds))
    ]
    for (place, pattern), count in found.boards.items():
        assert count > 0
        width = sum(w * n for w, n in zip(task.widths, pattern, strict=True))
        assert width <= task.kinds[place].room
    assert all(n <= kind.most for n, kind in zip(used, task.kinds, strict=True))
    for budget in task.budgets:
        assert sum(p * n for p, n in zip(budget.parts, used, strict=True)) <= budget.most
    short = shortage(task.demand, found.boards)
    assert task.missing is not None or not any(short)
    cost = sum(c * n for c, n in zip(task.costs, used, strict=True))
    assert found.cost == cost + sum(
        c * n for c, n in zip(task.missing or [0] * len(short), short, strict=True)
    )


@lru_cache(None)
def tasks(seed: int, number: int) -> list:
    """Tasks, some boards to begin with, and the least cost."""
    chance, found = Random(seed), []
    while len(found) < number:
        task = some_task(chance)
        start = first_of(task, chance)
        if start is not None:
            found.append((task, start, by_looking_at_all(task)))
    return found


@pytest.mark.parametrize(
    "few",
    [{}, {"_ALL": 0}, {"_ALL": 0, "_MOST_ADDED": 1}, {"_ALL": 0, "_MOST_ROUNDS": 1},
     {"_ALL": 0, "MOST_ROOM": 1}],
    ids=str,
)  # fmt: skip
def test_nothing_costs_less_than_the_bound(monkeypatch, few):
    """With all ways to fill a board, with those that pay, and with fewer than are wanted."""
    for name, value in few.items():
        monkeypatch.setattr(cheapest_boards, name, value)
    proved = 0
    for task, start, least in tasks(23, 40):
        found = cover(task, start, lambda: 20_000)
        holds(task, found)
        assert found.bound <= least <= found.cost
        assert found.is_complete == (not few)
        proved += found.proved
    if few in ({}, {"_ALL": 0}):
        assert proved == 40
    # Boards too wide to be filled exactly have no bound.
    assert (proved > 0) == ("MOST_ROOM" not in few)


@pytest.mark.parametrize("few", [{}, {"_ALL": 0}], ids=str)
def test_when_time_runs_out_nothing_is_claimed_that_is_not_so(monkeypatch, few):
    for name, value in few.items():
        monkeypatch.setattr(cheapest_boards, name, value)
    unproved = 0
    for task, start, least in tasks(23, 20):
        for times in (0, 1, 2, 4, 8):
            clock = iter([20_000] * times)
            found = cover(task, start, lambda clock=clock: next(clock, 0))
            holds(task, found)
            assert found.bound <= least <= found.cost
            unproved += not found.proved
    assert unproved >= 20


# Boards that no more of can be filled as the prices of pieces lead to: others must be looked for.
HARD = (
    Task([21, 16, 10, 23], [3, 4, 4, 2], [Kind(45, 9)], [1]),
    Task([18, 15, 25, 9], [3, 4, 1, 4], [Kind(40, 5), Kind(26, 5)], [4, 3]),
)


@lru_cache(None)
def least_of(place: int) -> int | None:
    return by_looking_at_all(HARD[place])


def start_of(task: Task) -> dict:
    boards: dict = {}
    for column in fill_greedily(task.widths, task.demand, task.kinds, lambda _, width: (-width,)):
        boards[column] = boards.get(column, 0) + 1
    return boards


@pytest.mark.parametrize("place", range(len(HARD)))
@pytest.mark.parametrize("times", [*range(12), 1000])
def test_what_no_price_leads_to_is_found_and_nothing_is_claimed_before(monkeypatch, place, times):
    monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    task, least = HARD[place], least_of(place)
    clock = iter([20_000] * times)
    found = cover(task, start_of(task), lambda: next(clock, 0))
    holds(task, found)
    assert found.bound <= least <= found.cost
    assert times < 1000 or found.proved
    monkeypatch.setattr(cheapest_boards, "_useful_columns", lambda *_: ([], False))
    assert not cover(task, start_of(task), lambda: 20_000).proved


TWO = Task([3, 6], [1, 3], [Kind(9, 9)], [2])
APART = {(0, (1, 0)): 1, (0, (0, 1)): 3}


def test_a_way_to_fill_a_board_may_be_wanted_for_one_piece_alone():
    """One of 3 and three of 6: a 3 goes beside each, as there is no other way to fill a board."""
    found = cover(TWO, APART, lambda: 20_000)
    assert (found.boards, found.cost, found.bound) == ({(0, (1, 1)): 3}, 6, 6)
    assert found.columns == ((0, (1, 1)),)


@pytest.mark.parametrize(
    "answer",
    [None, Answer((4,), F(8), None, False), Answer((5,), F(10), F(0), False)],
    ids=["none", "as dear", "dearer"],
)
@pytest.mark.parametrize(("few", "bound"), [(1500, 0), (0, 6)])
def test_what_a_search_finds_that_is_no_better_changes_nothing(monkeypatch, answer, few, bound):
    """It ended early: nothing is known then of what is least but what the prices prove."""
    monkeypatch.setattr(cheapest_boards, "_ALL", few)
    monkeypatch.setattr(cheapest_boards, "least", lambda *_: answer)
    found = cover(TWO, APART, lambda: 20_000)
    assert found.boards is APART
    assert (found.cost, found.bound, found.proved) == (8, bound, False)


@pytest.mark.parametrize("place", range(len(HARD)))
def test_more_time_never_proves_less(monkeypatch, place):
    monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    task, bounds = HARD[place], []
    for times in range(14):
        clock = iter([20_000] * times)
        bounds.append(cover(task, start_of(task), lambda clock=clock: next(clock, 0)).bound)
    assert bounds == sorted(bounds)
    assert bounds[0] < bounds[-1]


@pytest.mark.parametrize(("place", "price"), [(0, 50 + 8 + 3), (1, 30 + 28 + 0)])
def test_a_board_costs_its_part_of_the_budgets_too(place, price):
    """In tenths: 5.0 and 3.0, two and seven of what costs 0.4, one and none of what costs 0.3."""
    budgets = [Budget([2, 7], 9), Budget([1, 0], 9)]
    task = Task([4], [1], [Kind(9, 9), Kind(9, 9)], [5, 3], budgets)
    assert prices_of_board(task, place, (4, 3), 10) == price


def test_boards_to_begin_with_hold_one_piece_as_often_as_it_goes_and_is_wanted():
    task = Task([4, 3, 9], [5, 2, 1], [Kind(10, 9), Kind(8, 9)], [1, 1])
    start = {(1, (2, 0, 0)): 1}
    assert _lead(task, start) == [
        (1, (2, 0, 0)),
        (0, (2, 0, 0)),
        (0, (0, 2, 0)),
        (0, (0, 0, 1)),
        (1, (2, 0, 0)),
        (1, (0, 2, 0)),
    ]


def test_useful_ways_to_fill_boards_are_counted_together_and_not_without_time():
    """Of 3 and 4: boards of 7 hold 4 and 3, or 3 and 3; boards of 9 hold 4 and 4, 4 and 3, 3s."""
    task = Task([3, 4], [3, 2], [Kind(7, 9), Kind(9, 9)], [1, 1])
    filler = Lengths(task)
    every = [(0, (1, 1)), (0, (2, 0)), (1, (0, 2)), (1, (1, 1)), (1, (3, 0))]
    assert sorted(filler.useful([1, 1], [2, 2], 5, lambda: 1)) == every
    assert filler.useful([1, 1], [2, 2], 4, lambda: 1) is None
    few = [(0, (1, 1)), (0, (2, 0)), (1, (3, 0))]
    assert sorted(filler.useful([1, 1], [2, 3], 3, lambda: 1)) == few
    assert filler.useful([1, 1], [2, 2], 5, lambda: 0) is None
    clock = iter([1])
    assert filler.useful([1, 1], [2, 2], 5, lambda: next(clock, 0)) is None


@pytest.mark.parametrize(("most", "known"), [(9, True), (8, False)])
def test_boards_wider_than_so_much_are_not_filled_exactly(monkeypatch, most, known):
    monkeypatch.setattr(cheapest_boards, "MOST_ROOM", most)
    filler = Lengths(Task([3, 4], [3, 2], [Kind(7, 9), Kind(9, 9)], [1, 1]))
    assert (filler.best([3, 5]) is not None) == known
