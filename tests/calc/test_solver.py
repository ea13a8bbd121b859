"""Whole-number programs: proved where proved, checked exactly, nothing made up."""

import math
import os
import random
import subprocess
import sys
from fractions import Fraction
from itertools import product
from types import SimpleNamespace

import pytest

from materials.calc.solver import MOST_VALUE, Row, best_fill, least, prices_of_rows, search


def by_hand(costs, rows, upper):
    """The cheapest of all plans, each looked at."""
    plans = product(*(range(top + 1) for top in upper))
    met = [plan for plan in plans if all(row.holds(plan) for row in rows)]
    return min(
        (sum((c * v for c, v in zip(costs, plan, strict=True)), Fraction(0)) for plan in met),
        default=None,
    )


def test_small_programs_equal_looking_at_every_plan():
    chance = random.Random(11)
    none_found = 0
    for _ in range(150):
        size = chance.randint(1, 4)
        costs = [Fraction(chance.randint(0, 900), chance.choice((1, 3, 100))) for _ in range(size)]
        rows = [
            Row(
                {place: Fraction(chance.randint(1, 12), 4) for place in range(size)},
                low=chance.randint(0, 9),
                high=chance.choice((None, 11, 14)),
            )
            for _ in range(chance.randint(1, 3))
        ]
        upper = [chance.randint(0, 4) for _ in range(size)]
        expected = by_hand(costs, rows, upper)
        answer = least(costs, rows, upper)
        if expected is None:
            none_found += 1
            assert answer is None
            continue
        assert answer.proved
        assert answer.cost == answer.bound == expected
        assert all(row.holds(answer.values) for row in rows)
    assert 0 < none_found < 150


def test_nothing_to_decide():
    assert least([], [], []).proved
    assert least([], [Row({}, low=1)], []) is None
    assert least([Fraction(1, 3)], [], [5]).values == (0,)


def test_the_same_program_gives_the_same_answer():
    rows = [Row({0: 2, 1: 3, 2: 5}, low=31)]
    answers = {least([2, 3, 5], rows, [None, None, None]).values for _ in range(5)}
    assert len(answers) == 1
    # Without an upper end 31 is met exactly, at a cost of 1 for each of it.
    assert least([2, 3, 5], rows, [None, None, None]).cost == 31


def test_the_ends_of_a_row_belong_to_it():
    row = Row({0: 1}, low=2, high=3)
    assert [row.holds((value,)) for value in range(1, 5)] == [False, True, True, False]


def test_a_row_may_be_open_at_either_end():
    rows = [Row({0: 1}, high=3), Row({0: 1}, low=2)]
    assert least([1], rows, [9]).values == (2,)
    assert least([-1], rows, [9]).values == (3,)


def test_what_has_no_plan_is_told_from_what_was_not_searched_through():
    impossible = search([1], [Row({0: 2}, low=3, high=3)], [9])
    assert (impossible.answer, impossible.is_impossible) == (None, True)
    assert search([], [Row({}, low=1)], []).is_impossible
    assert not search([], [], []).is_impossible
    too_large = search([10**400, 1], [Row({0: 1, 1: 1}, low=1)], [5, 5])
    assert (too_large.answer, too_large.is_impossible) == (None, False)


@pytest.mark.parametrize(
    ("found", "is_plan"),
    [
        ([2.0000001, 1.0], True),
        ([3.0, 4.0], True),  # at the upper ends
        ([1.0, 1.0], False),  # a row not met
        ([-1.0, 4.0], False),
        ([4.0, 0.0], False),  # above an upper end
        ([0.0, 5.0], False),
    ],
)
def test_what_comes_back_is_looked_over_exactly(found, is_plan, monkeypatch):
    given = SimpleNamespace(x=found, status=0, mip_dual_bound=7.0)
    monkeypatch.setattr("scipy.optimize.milp", lambda *args, **more: given)
    answer = least([2, 3], [Row({0: 1, 1: 1}, low=3)], [3, 4])
    assert (answer is not None) == is_plan
    if answer:
        assert answer.cost == 2 * answer.values[0] + 3 * answer.values[1]
        assert answer.bound == 7
        assert answer.proved == (answer.cost == 7)


@pytest.mark.parametrize("bound", [None, math.inf, math.nan])
def test_nothing_is_proved_without_a_bound(bound, monkeypatch):
    given = SimpleNamespace(x=[3.0], status=0, mip_dual_bound=bound)
    monkeypatch.setattr("scipy.optimize.milp", lambda *args, **more: given)
    answer = least([2], [Row({0: 1}, low=3)], [None])
    assert (answer.cost, answer.bound, answer.proved) == (6, None, False)


def test_limits_of_the_search_are_handed_on(monkeypatch):
    asked = []

    def milp(*args, options, **more):
        asked.append(options)
        return SimpleNamespace(x=None, status=1, mip_dual_bound=None)

    monkeypatch.setattr("scipy.optimize.milp", milp)
    for nodes in (None, 7):
        stopped = search([1], [], [9], seconds=3, nodes=nodes)
        assert (stopped.answer, stopped.is_impossible) == (None, False)
    assert asked == [
        {"time_limit": 3, "mip_rel_gap": 0},
        {"time_limit": 3, "mip_rel_gap": 0, "node_limit": 7},
    ]


def test_what_one_more_of_a_bound_costs():
    """3x + 4y with x + y at least 10 and x at most 4: four and six, 36. One more asked for costs
    4; one more of x allowed spares 1. Plain arithmetic of a linear program's dual values."""
    rows = [Row({0: 1, 1: 1}, low=10), Row({0: 1}, high=4)]
    assert prices_of_rows([3, 4], rows, 100) == ((400, 100), 36)
    # Rounded down, and never below nothing: the last row asks for what is there anyway.
    rows = [Row({0: 1}, low=2), Row({0: 1}, low=1)]
    assert prices_of_rows([Fraction(35, 100)], rows, 10) == ((3, 0), Fraction("0.7"))
    assert prices_of_rows([1], [Row({0: 1}, low=5), Row({0: 1}, high=3)], 10) is None


def test_the_best_fill_equals_looking_at_every_fill():
    chance = random.Random(5)
    for _ in range(60):
        size = chance.randint(1, 4)
        widths = [chance.randint(1, 9) for _ in range(size)]
        values = [chance.randint(0, 12) for _ in range(size)]
        most = [chance.randint(0, 7) for _ in range(size)]
        rooms = sorted(chance.randint(0, 30) for _ in range(3))
        fills = list(product(*(range(count + 1) for count in most)))
        for room, (value, counts) in zip(
            rooms, best_fill(widths, values, most, rooms), strict=True
        ):
            assert sum(w * c for w, c in zip(widths, counts, strict=True)) <= room
            assert all(count <= top for count, top in zip(counts, most, strict=True))
            assert value == sum(v * c for v, c in zip(values, counts, strict=True))
            assert value == max(
                sum(v * c for v, c in zip(values, fill, strict=True))
                for fill in fills
                if sum(w * c for w, c in zip(widths, fill, strict=True)) <= room
            )


def test_values_too_large_to_be_summed_exactly_are_refused():
    assert best_fill([1], [MOST_VALUE], [1], [1]) == [(MOST_VALUE, (1,))]
    with pytest.raises(OverflowError):
        best_fill([1], [MOST_VALUE + 1], [1], [1])
    assert best_fill([], [], [], []) == []


def test_nothing_loads_the_solver_before_a_plan_is_asked_for():
    """Commands and pages start without it; all views hang on the addresses.

    The bare package is looked for by pint; what is large of it are its parts.
    """
    program = (
        "import sys, django; django.setup(); import materials.urls;"
        "assert 'materials.calc.solver' in sys.modules;"
        "assert not {'scipy.optimize', 'scipy.sparse'} & set(sys.modules)"
    )
    environment = {**os.environ, "DJANGO_SETTINGS_MODULE": "tests.settings"}
    subprocess.run([sys.executable, "-c", program], check=True, env=environment)
