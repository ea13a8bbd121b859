"""Straight cuts in two dimensions against published instances.

``published/guillotine.txt`` holds them in one form: name, length and width of the sheet, how many
rows, then length, width, value and most of each piece. The numbers are as published:

- gcut1, 2, 4, 8, 10: J. E. Beasley 1985, OR-Library files of that name, where every piece's value
  is its area (which was checked of each row). The demands of gcut1 are those of gcut1d, as
  G. F. Cintra and others published them (EJOR 191, 2008).
- cgcut1 to 3: N. Christofides and C. Whitlock 1977, OR-Library files of that name.
- wang20: P. Y. Wang 1983, her third sheet of 40 by 70. OF1, OF2: J. F. Oliveira and
  J. S. Ferreira 1990. Values are areas (checked of each row).

Read in public copies of these files; the best values stand beside each test with their source.
"""

import hashlib
import time
from dataclasses import dataclass
from fractions import Fraction as F
from functools import cache
from math import ceil
from pathlib import Path

import pytest

from materials.cutting.calc.flat.layouts import pattern_of, sums
from materials.cutting.calc.flat.plan import plan_sheets
from materials.cutting.calc.flat.search import Search
from materials.cutting.calc.flat.solver import fill_table
from materials.cutting.calc.flat.types import FlatOrder, Form, Part, Sheet
from tests.cutting.calc.flat.follows import follows_from
from tests.searches import TIMES

FILE = Path(__file__).parent / "published" / "guillotine.txt"
SHA256 = "507b152210c408470b3a25fab241f673c8fc097d66338b10d5bfb3a0e4a1605a"
SECONDS = 60


@dataclass(frozen=True)
class Instance:
    """One sheet, and pieces as (length, width, value, most)."""

    size: tuple[int, int]
    rows: tuple[tuple[int, int, int, int], ...]

    def forms(self, may_turn=False):
        forms = [Form(at, row[0], row[1]) for at, row in enumerate(self.rows)]
        if may_turn:
            forms += [Form(at, row[1], row[0], 1, True) for at, row in enumerate(self.rows)]
        return forms

    def table(self, may_turn=False):
        """What the sheet holds at most, where pieces are not limited."""
        wide, tall = self.size
        forms = [f for f in self.forms(may_turn) if f.wide <= wide and f.tall <= tall]
        xs = sums([(form.wide, wide) for form in forms], wide)
        ys = sums([(form.tall, tall) for form in forms], tall)
        return fill_table(forms, [self.rows[form.need][2] for form in forms], xs, ys)

    def order(self, may_turn=False):
        """All pieces, from as many sheets as are needed."""
        parts = tuple(Part("", F(a), F(b), count, may_turn) for a, b, _, count in self.rows)
        return FlatOrder((Sheet("", F(self.size[0]), F(self.size[1]), F(1)),), parts)


@cache
def instances():
    words = FILE.read_text().split()
    found, at = {}, 0
    while at < len(words):
        name, wide, tall, count = words[at], *map(int, words[at + 1 : at + 4])
        at += 4
        numbers = [int(word) for word in words[at : at + 4 * count]]
        rows = tuple(tuple(numbers[4 * i : 4 * i + 4]) for i in range(count))
        found[name], at = Instance((wide, tall), rows), at + 4 * count
    return found


def planned(order):
    end = time.monotonic() + SECONDS
    return plan_sheets(order, lambda: max(0, int((end - time.monotonic()) * 1000)), SECONDS)


def test_the_file_is_the_one_that_was_read():
    assert hashlib.sha256(FILE.read_bytes()).hexdigest() == SHA256


# Best values without limits on pieces. gcut: table of optimal values published with Cintra's
# program (University of São Paulo), fixed and turned. cgcut, OF: M. Hifi and V. Zissimopoulos,
# EJOR 91, 1996, as listed by the packing library of the Technical University of Braunschweig.
UNLIMITED = [
    ("gcut1", False, 56460),
    ("gcut1", True, 58136),
    ("gcut2", False, 60536),
    ("gcut2", True, 60611),
    ("gcut4", False, 61698),
    ("gcut10", False, 982025),
    ("gcut10", True, 982025),
    ("cgcut1", False, 249),
    ("cgcut2", False, 3076),
    ("cgcut3", False, 2240),
    ("of1", False, 2758),
    ("of2", False, 2776),
]
LARGE = [("gcut4", True, 62265), ("gcut8", False, 246633), ("gcut8", True, 247787)]


def best_unlimited(name, may_turn):
    """The most that fits, and what the cuts shown for it hold."""
    instance = instances()[name]
    table = instance.table(may_turn)
    tree = table.tree(*instance.size)
    held = pattern_of(tree, table.forms, len(instance.rows))
    worth = sum(count * row[2] for count, row in zip(held, instance.rows, strict=True))
    return table.of(*instance.size), worth


@pytest.mark.parametrize(("name", "may_turn", "best"), UNLIMITED)
def test_the_most_that_fits_where_pieces_are_not_limited(name, may_turn, best):
    assert best_unlimited(name, may_turn) == (best, best)


@pytest.mark.slow
@pytest.mark.parametrize(("name", "may_turn", "best"), LARGE)
def test_the_most_that_fits_on_large_sheets(name, may_turn, best):
    assert best_unlimited(name, may_turn) == (best, best)


# Best values with no more of each piece than stated. cgcut2, cgcut3: D. Fayard, M. Hifi and
# V. Zissimopoulos 1998, as listed by the same library; cgcut1: Christofides and Whitlock 1977, and
# wang20, OF1, OF2: named so in later papers, from memory. All are proved here.
@pytest.mark.parametrize(
    ("name", "best"),
    [("cgcut1", 244), ("cgcut2", 2892), ("cgcut3", 1860), ("wang20", 2721), ("of1", 2737),
     ("of2", 2690)],
)  # fmt: skip
def test_the_most_that_fits_with_limited_pieces(name, best):
    instance = instances()[name]
    demand = [row[3] for row in instance.rows]
    values = [row[2] for row in instance.rows]
    bound, block = Search(instance.table(), demand, values, instance.size, 5000).best()
    assert (bound, block.worth) == (best, best)


# The fewest sheets for all pieces. gcut1d: 294, which is also its lower bound (Cintra and others
# 2008, from memory). cgcut: 2, 2 and 23 (S. Martello and D. Vigo 1998, from memory; no fewer even
# where cuts need not be straight).
SLOW = pytest.mark.slow
FEWEST = [
    ("cgcut1", 2),
    pytest.param("cgcut2", 2, marks=SLOW),
    pytest.param("cgcut3", 23, marks=SLOW),
    pytest.param("gcut1", 294, marks=SLOW),
]


@pytest.mark.parametrize(("name", "fewest"), FEWEST)
def test_the_fewest_sheets(name, fewest):
    order = instances()[name].order()
    plan = planned(order)
    follows_from(order, plan)
    assert (plan.sheets, plan.proved) == (fewest, True)


# Half a minute and more for each of the last two: with ten times the examples (EXAMPLES=10).
MANY = ["gcut1", "gcut2", "gcut10", *(["gcut4", "gcut8"] if TIMES >= 10 else [])]


@pytest.mark.slow
@pytest.mark.parametrize("may_turn", [False, True], ids=["fixed", "turned"])
@pytest.mark.parametrize("name", MANY)
def test_many_of_each_are_planned_within_two_in_a_hundred(name, may_turn):
    """Pieces by the dozen, as no plan was published for: the bound is the plan's own, and at least
    what area alone needs."""
    instance = instances()[name]
    rows = tuple((a, b, v, 12 + 7 * (at % 5)) for at, (a, b, v, _) in enumerate(instance.rows))
    order = Instance(instance.size, rows).order(may_turn)
    started = time.monotonic()
    plan = planned(order)
    assert time.monotonic() - started < SECONDS + 15
    follows_from(order, plan)
    area = sum(a * b * count for a, b, _, count in rows)
    assert plan.cost_bound >= ceil(F(area, instance.size[0] * instance.size[1]))
    assert plan.cost <= plan.cost_bound * F(102, 100)
