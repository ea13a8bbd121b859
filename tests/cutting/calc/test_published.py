"""Cutting plans against published instances.

- K01: the example of an encyclopaedia's article on cutting stock, also printed in a sample of an
  open solver's source; 73 bars, 0.401 % trim (read in the primary text and proved).
- K05 to K09: answers of two of the US Army's correspondence courses for carpenters, as reprinted.
- u120_00 to u120_07: the uniform class of the OR-Library (J. E. Beasley, Brunel University, file
  binpack1.txt, kept beside this test as published); best known values of the file, which are
  proved to be the least.
"""

import hashlib
import time
from collections import Counter
from fractions import Fraction
from pathlib import Path

import pytest

from materials.cutting.calc.plan import plan_cuts
from materials.cutting.calc.types import Need, Order, Stock
from tests.cutting.calc.test_plan import follows_from

FILE = Path(__file__).parent / "published" / "binpack1.txt"
SHA256 = "dcee47fd5dfad97db1ccde3b84dbe0bec6a2705caeef8867b844709c14d80f8b"
SECONDS = 60


def planned(stocks, needs, kerf=0):
    """A plan from pairs of length and price, and of length and count, within a minute."""
    order = Order(
        tuple(Stock(str(length), Fraction(length), Fraction(price)) for length, price in stocks),
        tuple(Need(str(length), Fraction(length), count) for length, count in needs),
        Fraction(kerf),
    )
    end = time.monotonic() + SECONDS
    plan = plan_cuts(order, lambda: max(0, int(1000 * (end - time.monotonic()))), SECONDS)
    assert time.monotonic() < end
    follows_from(order, plan)
    return plan


def test_k01_thirteen_lengths_from_bars_of_5600():
    lengths = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
    demand = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)
    plan = planned([(5600, 1)], zip(lengths, demand, strict=True))
    assert (plan.boards, plan.cost, plan.waste) == (73, 73, 73 * 5600 - 407160)
    assert plan.proved
    assert round(plan.waste / plan.used * 100, 3) == Fraction("0.401")
    # K02: filling bar after bar with the longest pieces that fit takes 82.
    assert 73 <= plan.boards <= 82


@pytest.mark.parametrize(
    ("stocks", "needs", "kerf", "boards", "waste"),
    [
        pytest.param([(120, 1)], [(28, 4)], 0, {120: 1}, 8, id="K05"),
        pytest.param([(120, 1), (144, 1)], [(28, 4)], 0, {120: 1}, 8, id="K06"),
        pytest.param([(120, 1), (96, 1)], [(36, 9)], 0, {120: 3}, 36, id="K07"),
        pytest.param([(120, 1)], [(28, 4)], "1/8", {120: 1}, 8, id="K08 four"),
        pytest.param([(120, 1)], [(28, 5)], "1/8", {120: 2}, 100, id="K08 five"),
        pytest.param([(120, 1)], [(120, 2), (61, 4), (59, 2), (43, 2)], 0, {120: 6}, 32, id="K09"),
    ],
)
def test_answers_of_carpenters_courses(stocks, needs, kerf, boards, waste):
    plan = planned(stocks, needs, kerf)
    used = Counter()
    for cut in plan.cuts:
        used[stocks[cut.stock][0]] += cut.count
    assert (dict(used), plan.waste, plan.proved) == (boards, waste, True)


def test_k06_five_of_28_fit_into_144():
    plan = planned([(144, 1)], [(28, 5)])
    assert (plan.boards, plan.waste) == (1, 4)


def test_k08_four_cuts_take_half_an_inch():
    plan = planned([(120, 1)], [(28, 4)], "1/8")
    (cut,) = plan.cuts
    assert (cut.kerfs, cut.off_cut) == (4, Fraction("7.5"))


def uniform_class():
    """Names, best known values and items of the file's instances, capacity 150."""
    words = FILE.read_text().split()
    at, found = 1, []
    for _ in range(int(words[0])):
        name, capacity, count, best = words[at], *map(int, words[at + 1 : at + 4])
        assert capacity == 150
        found.append((name, best, [int(word) for word in words[at + 4 : at + 4 + count]]))
        at += 4 + count
    return found


def test_the_file_is_the_published_one():
    assert hashlib.sha256(FILE.read_bytes()).hexdigest() == SHA256


@pytest.mark.parametrize(
    ("place", "total"), [*enumerate((7078, 7205, 6794, 7285, 7354, 7122, 7137, 7295))]
)
def test_uniform_class(place, total):
    name, best, items = uniform_class()[place]
    assert (name, sum(items)) == (f"u120_{place:02}", total)
    plan = planned([(150, 1)], Counter(items).items())
    assert (plan.boards, plan.proved) == (best, True)
    assert plan.waste == best * 150 - total


def test_what_the_file_left_open_is_settled():
    """u120_08 and u120_19 are listed with one bin more than is needed."""
    for place, fewest in ((8, 50), (19, 49)):
        _, best, items = uniform_class()[place]
        plan = planned([(150, 1)], Counter(items).items())
        assert (plan.boards, best, plan.proved) == (fewest, fewest + 1, True)
