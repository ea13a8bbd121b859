"""Plans of sheets and of ripped boards against every plan there is, on small random cases."""

import random
from fractions import Fraction as F
from functools import lru_cache

import pytest

from materials.cutting.calc.flat import fillers
from materials.cutting.calc.flat.plan import plan_sheets
from materials.cutting.calc.flat.types import FlatOrder, Part, Sheet
from materials.cutting.calc.types import CuttingError
from tests.cutting.calc.flat.follows import follows_from
from tests.searches import TIMES


def plan_of(order, seconds=20):
    return plan_sheets(order, lambda: seconds * 1000, seconds)


class EveryFilling:
    """By counts of pieces that a rectangle can hold, the largest remnant beside them.

    Cuts are tried at every whole place, in real measures, with nothing left out.
    """

    def __init__(self, order):
        self.parts, self.kerf, self.keep = order.parts, int(order.kerf), max(1, int(order.keep))
        self.wanted = tuple(part.count for part in order.parts)
        self.none = (0,) * len(self.wanted)
        self.known = {}

    def join(self, found, first, second):
        for a, large in first.items():
            for b, larger in second.items():
                counts = tuple(x + y for x, y in zip(a, b, strict=True))
                if all(n <= most for n, most in zip(counts, self.wanted, strict=True)):
                    found[counts] = max(found.get(counts, 0), large, larger)

    def start(self, wide, tall, stage):
        found = {self.none: wide * tall if min(wide, tall) >= self.keep else 0}
        for at, part in enumerate(self.parts):
            size = int(part.length), int(part.width)
            turned = part.may_turn and stage == "any" and size[::-1] == (wide, tall)
            if size == (wide, tall) or turned:
                found[tuple(int(place == at) for place in range(len(self.wanted)))] = 0
        return found

    def fill(self, wide, tall, stage):
        if wide <= 0 or tall <= 0:
            return {self.none: 0}
        key = wide, tall, stage
        if key not in self.known:
            self.known[key] = self.worked_out(*key)
        return self.known[key]

    def worked_out(self, wide, tall, stage):
        found = self.start(wide, tall, stage)
        if stage in ("any", "cross"):
            for at in range(1, wide):
                rest = self.fill(wide - at - self.kerf, tall, stage)
                self.join(found, self.fill(at, tall, stage), rest)
        if stage in ("any", "rip"):
            after = "cross" if stage == "rip" else "any"
            for at in range(1, tall):
                rest = self.fill(wide, tall - at - self.kerf, stage)
                self.join(found, self.fill(wide, at, after), rest)
        if stage == "rip":
            self.join(found, self.fill(wide, tall, "cross"), {self.none: 0})
        return found


def by_looking_at_all(order):
    """The least (cost, area, -largest remnant) of every plan there is; None without one."""
    every, stage = EveryFilling(order), "rip" if order.is_ripped else "any"
    off = [int(2 * sheet.trim) for sheet in order.sheets]
    fillings = [
        every.fill(int(s.length) - cut, int(s.width) - (0 if order.is_ripped else cut), stage)
        for s, cut in zip(order.sheets, off, strict=True)
    ]

    @lru_cache(None)
    def least(left, there, first):
        if not any(left):
            return F(0), F(0), 0
        if first == len(there):
            return None
        best = least(left, there, first + 1)
        if there[first]:
            sheet = order.sheets[first]
            fewer = (*there[:first], there[first] - 1, *there[first + 1 :])
            for counts, large in fillings[first].items():
                rest = tuple(a - b for a, b in zip(left, counts, strict=True))
                if not any(counts) or min(rest) < 0:
                    continue
                further = least(rest, fewer, first)
                if further is not None:
                    whole = (
                        further[0] + (sheet.price or 0),
                        further[1] + sheet.area,
                        min(further[2], -large),
                    )
                    best = whole if best is None else min(best, whole)
        return best

    wanted = tuple(part.count for part in order.parts)
    pieces = sum(wanted)
    there = tuple(pieces if s.count is None else min(pieces, s.count) for s in order.sheets)
    return least(wanted, there, 0)


def some_order(chance, is_ripped=False):
    kerf = chance.choice((0, 0, 1))
    sheets = []
    for _ in range(chance.randint(1, 2)):
        how = chance.choice(("on hand", "to buy", "to buy", "some to buy"))
        trim = chance.choice((0, 0, 0, max(1, kerf)))
        sheets.append(
            Sheet(
                "sheet",
                F(chance.randint(4, 9) + 2 * trim),
                F(chance.randint(3, 8) + 2 * trim),
                None if how == "on hand" else F(chance.randint(0, 40), 4),
                None if how == "to buy" else chance.randint(1, 2),
                F(trim),
                how == "on hand",
            )
        )
    parts = []
    for _ in range(chance.randint(1, 3)):
        size = chance.randint(1, 6), chance.randint(1, 5)
        parts.append(
            Part(
                "piece", F(size[0]), F(size[1]), chance.randint(1, 3),
                not is_ripped and chance.random() < 0.5,
            )
        )  # fmt: skip
    while sum(part.count for part in parts) > 5:
        parts.pop()
    return FlatOrder(tuple(sheets), tuple(parts), F(kerf), F(chance.randint(0, 2)), is_ripped)


def compared(seed, number, is_ripped):
    """How many of so many random orders had a plan; each is compared with all plans there are."""
    chance, planned = random.Random(seed), 0
    for _ in range(number):
        order = some_order(chance, is_ripped)
        best = by_looking_at_all(order)
        try:
            plan = plan_of(order)
        except CuttingError:
            assert best is None, order
            continue
        assert best is not None, order
        follows_from(order, plan)
        assert (plan.cost or 0, plan.used, -plan.largest) == best, order
        assert plan.proved, order
        assert plan.is_largest, order
        planned += 1
    return planned


@pytest.mark.parametrize("is_ripped", [False, True], ids=["sheets", "ripped boards"])
@pytest.mark.parametrize(
    ("seed", "number"),
    [(25, 25), pytest.param(500, 50 * TIMES, marks=pytest.mark.slow)],
    ids=["short", "long"],
)
def test_no_plan_is_better(seed, number, is_ripped):
    assert compared(seed, number, is_ripped) > number // 4


@pytest.mark.parametrize(
    "number", [12, pytest.param(50 * TIMES, marks=pytest.mark.slow)], ids=["short", "long"]
)
def test_without_looking_at_all_fillings_nothing_is_claimed_that_is_not_so(monkeypatch, number):
    """Where there are too many fillings, prices lead to them and prove what they can."""
    monkeypatch.setattr(fillers, "_STEPS", 0)
    chance, proved, best_ones = random.Random(7), 0, 0
    for _ in range(number):
        order = some_order(chance, chance.random() < 0.3)
        best = by_looking_at_all(order)
        try:
            plan = plan_of(order)
        except CuttingError:
            continue
        follows_from(order, plan)
        assert not plan.is_largest
        assert (plan.cost or 0) >= best[0]
        assert plan.cost_bound is None or plan.cost_bound <= best[0]
        if plan.is_least_cost:
            assert (plan.cost or 0) == best[0], order
        if plan.proved:
            assert plan.used == best[1], order
        proved += plan.proved
        best_ones += (plan.cost or 0, plan.used) == best[:2]
    assert proved > number // 4
    assert best_ones > number // 3
