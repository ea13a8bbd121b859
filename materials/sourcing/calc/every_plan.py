"""All plans of a small problem that no other beats, found by trying every one of them.

What is bought new follows from what is taken and made: as few steps as fill the gap. Where the
solver is asked for one plan after another, each a whole search, this goes over all of them once.
"""

import math
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import product

from ...calc.supply.blocks import join_plans, split
from ...calc.supply.costs import (
    NOTHING,
    by_supplier,
    extra_cost,
    is_paid_for,
    landed_cost,
    new_cost,
    shared_haulage,
)
from ...calc.supply.reach import most_useful
from ...calc.supply.types import ZERO, Need, Plan, Problem
from ...calc.types import Key

# Plans of one block that are tried: about a second's work.
MOST_TRIED = 60_000
# Pairs of plans of two blocks that are looked at.
MOST_PAIRS = 400_000

Counts = Mapping[Key, int]


@dataclass(frozen=True, slots=True)
class _Half:
    """What is taken, or what is made: minor units, hours, and what it adds to each need."""

    money: int
    hours: Fraction
    adds: tuple[Fraction, ...]
    counts: Counts


@dataclass(frozen=True, slots=True)
class Point:
    """Minor units and hours, and the plans of the blocks, in their order, that come to them."""

    money: int
    hours: Fraction
    plans: tuple[Plan, ...]

    @property
    def plan(self) -> Plan:
        """The plans of the blocks as one."""
        return join_plans(list(self.plans))


def list_unbeaten(problem: Problem) -> tuple[Point, ...] | None:
    """Plans of which none has both less money and fewer hours, the least money first.

    None where there are too many plans to try, or none at all.
    """
    whole = [Point(0, ZERO, ())]
    for block in split(problem):
        points = _unbeaten_of(block)
        if not points or len(points) * len(whole) > MOST_PAIRS:
            return None
        whole = _unbeaten(
            Point(a.money + b.money, a.hours + b.hours, (*a.plans, *b.plans))
            for a in whole
            for b in points
        )
    return tuple(whole)


def _unbeaten(points: Iterable[Point]) -> list[Point]:
    kept: list[Point] = []
    for point in sorted(points, key=lambda point: (point.money, point.hours)):
        if not kept or point.hours < kept[-1].hours:
            kept.append(point)
    return kept


def _unbeaten_of(block: Problem) -> list[Point] | None:
    """The same of one block; None where there are too many plans to try."""
    tops = list(most_useful(block)[0].values())
    steps = [part.most for offer in block.offers for part in offer.parts]
    known = [top for top in tops if top is not None]
    if len(known) < len(tops) or math.prod(n + 1 for n in (*known, *steps)) > MOST_TRIED:
        return None
    takes, makes = list(_taken(block)), list(_made(block, known))
    cheapest = _cheapest(block, takes, makes)
    points = [
        Point(money, hours, (_plan(block, money, hours, takes[at], makes[beside]),))
        for hours, (money, at, beside) in cheapest.items()
    ]
    return _unbeaten(points)


def _cheapest(
    block: Problem, takes: list[_Half], makes: list[_Half]
) -> dict[Fraction, tuple[int, int, int]]:
    """For each number of hours the least money, and which of what is taken and made comes to it."""
    gaps = [
        _Gap(need, block.places, [half.adds[at] for half in (*takes, *makes)])
        for at, need in enumerate(block.needs)
    ]
    whole_takes = [_in_whole(half, gaps) for half in takes]
    whole_makes = [_in_whole(half, gaps) for half in makes]
    cheapest: dict[Fraction, tuple[int, int, int]] = {}
    for beside, made in enumerate(makes):
        lacks = [gap.lack - add for gap, add in zip(gaps, whole_makes[beside], strict=True)]
        for at, taken in enumerate(takes):
            money = made.money + taken.money
            for gap, lack, add in zip(gaps, lacks, whole_takes[at], strict=True):
                if lack > add:
                    if not gap.covers:
                        break
                    money += gap.price(-((add - lack) // gap.covers))
            else:
                hours = made.hours + taken.hours
                best = cheapest.get(hours)
                if best is None or money < best[0]:
                    cheapest[hours] = (money, at, beside)
    return cheapest


class _Gap:
    """A need in whole ticks, of which all that adds to it is a multiple.

    ``lack``: what nothing on hand meets; ``covers``: of one step of new material, 0 for none.
    """

    def __init__(self, need: Need, places: int, adds: Iterable[Fraction]):
        covers = ZERO if need.new is None else need.new.covers
        lack = need.quantity - need.spare
        self.ticks = math.lcm(*(one.denominator for one in (covers, lack, *adds)))
        self.covers, self.lack = int(covers * self.ticks), int(lack * self.ticks)
        self._need, self._places = need, places
        self._prices: dict[int, int] = {}

    def price(self, steps: int) -> int:
        """Minor units of so many steps new."""
        if steps not in self._prices:
            self._prices[steps] = _minor(new_cost(self._need, steps, self._places), self._places)
        return self._prices[steps]


def _in_whole(half: _Half, gaps: list[_Gap]) -> tuple[int, ...]:
    return tuple(int(add * gap.ticks) for add, gap in zip(half.adds, gaps, strict=True))


def _minor(amount: Decimal, places: int) -> int:
    return int(amount * 10**places)


def _made(block: Problem, tops: list[int]) -> Iterator[_Half]:
    """All that can be made of use."""
    for counts in product(*(range(top + 1) for top in tops)):
        money, hours = 0, ZERO
        adds = dict.fromkeys((need.component for need in block.needs), ZERO)
        for recipe, count in zip(block.recipes, counts, strict=True):
            if count:
                money += _minor(extra_cost(recipe, count, block.places), block.places)
                hours += recipe.hours * count
                adds[recipe.source] -= recipe.uses * count
                for out in recipe.makes:
                    adds[out.component] += out.of(count)
        keys = (recipe.key for recipe in block.recipes)
        yield _Half(money, hours, tuple(adds.values()), dict(zip(keys, counts, strict=True)))


def _taken(block: Problem) -> Iterator[_Half]:
    """All that can be taken of the offers, as it would be booked."""
    keys = [part.key for offer in block.offers for part in offer.parts]
    tops = [part.most for offer in block.offers for part in offer.parts]
    trips = list(by_supplier(block.offers).values())
    for counts in product(*(range(top + 1) for top in tops)):
        takes = {key: count for key, count in zip(keys, counts, strict=True) if count}
        if not all(is_paid_for(offer, takes, block.places) for offer in block.offers):
            continue
        cost = sum((landed_cost(offer, takes, block.places) for offer in block.offers), NOTHING)
        cost -= sum((shared_haulage(offers, takes, block.places) for offers in trips), NOTHING)
        hours = ZERO
        adds = dict.fromkeys((need.component for need in block.needs), ZERO)
        for offer in block.offers:
            for part in offer.parts:
                for component, quantity in part.brings if part.key in takes else ():
                    adds[component] += quantity * takes[part.key]
            if any(part.key in takes for part in offer.parts):
                hours += offer.hours
        yield _Half(_minor(cost, block.places), hours, tuple(adds.values()), takes)


def _plan(block: Problem, money: int, hours: Fraction, taken: _Half, made: _Half) -> Plan:
    new: dict[Key, int] = {}
    supply: dict[Key, Fraction] = {}
    for need, *adds in zip(block.needs, taken.adds, made.adds, strict=True):
        comes = sum(adds, ZERO)
        lack = need.quantity - need.spare - comes
        if lack > 0 and need.new is not None:
            new[need.component] = math.ceil(lack / need.new.covers)
            comes += new[need.component] * need.new.covers
        supply[need.component] = comes
    cost = Fraction(money, 10**block.places)
    runs = {key: count for key, count in made.counts.items() if count}
    over = block.more_than_needed(supply, runs)
    return Plan(cost, hours, cost, cost, taken.counts, new, runs, over)
