"""Whole-number programs: proved where proved, checked exactly, nothing made up."""

import os
import random
import subprocess
import sys
from fractions import Fraction
from itertools import product

from materials.calc.solver import Row, least


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
