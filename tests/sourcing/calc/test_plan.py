"""Sourcing plans: equal to looking at every plan, to the cent, and turning where they say."""

import random
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from materials.calc.types import Key
from materials.sourcing.calc.answer import answer
from materials.sourcing.calc.blocks import split
from materials.sourcing.calc.frontier import trade_off
from materials.sourcing.calc.plan import NoPlan, best_plan, drop_unmet, exactly
from materials.sourcing.calc.program import write_program
from materials.sourcing.calc.sensitivity import Turn, list_sides
from materials.sourcing.calc.types import Aim, Part, Plan, Problem, Question
from tests.sourcing.calc.by_hand import all_plans, best_of, chance_problem, edge_of, holds, landed


def left() -> Fraction:
    """Time enough."""
    return Fraction(20)


def changed(problem: Problem, key: Key, price: Fraction | None) -> Problem:
    """The problem with another price of a part (its breaks by as much), or without the part."""

    def part_as(part: Part) -> Part:
        if part.key != key or price is None:
            return part
        shift = price - part.tiers[0][1]
        return replace(part, tiers=tuple((start, own + shift) for start, own in part.tiers))

    offers = [
        replace(o, parts=tuple(part_as(p) for p in o.parts if price is not None or p.key != key))
        for o in problem.offers
    ]
    return replace(problem, offers=tuple(offer for offer in offers if offer.parts))


def forced(problem: Problem, key: Key, asked: Question) -> Plan:
    """The best plan with a part in it, found by itself."""
    program = write_program(problem)
    return best_plan(problem, asked, left, program, [exactly(program.taken[key], 1)])


def forced_in(problem: Problem, key: Key, asked: Question) -> Fraction:
    """The least with a part in the plan, found by itself."""
    return forced(problem, key, asked).worth


def lowest_price(problem: Problem, key: Key) -> Fraction:
    """The lowest price of a part, its breaks looked at."""
    parts = [part for offer in problem.offers for part in offer.parts if part.key == key]
    return min(price for part in parts for _, price in part.tiers)


def question(seed: int) -> Question:
    """One of the four that can be asked."""
    chance = random.Random(seed)
    return (
        Question(),
        Question(Aim.BOTH, rate=Fraction(chance.randint(1, 4000), 100)),
        Question(Aim.MONEY, most_hours=Fraction(chance.randint(0, 20), 4)),
        Question(Aim.HOURS, most_money=Fraction(chance.randint(0, 40000), 100)),
    )[seed % 4]


def some_or_all(*, of: range, some: range) -> pytest.MarkDecorator:
    """Run with some seeds, and in the long form with all."""
    long = pytest.param(of, marks=pytest.mark.slow, id="all")
    return pytest.mark.parametrize("seeds", [pytest.param(some, id="some"), long])


@some_or_all(some=range(120), of=range(500))
def test_plans_equal_looking_at_every_plan(seeds):
    """Small problems: lots, breaks, usable shares, trips, conversions, new, limits."""
    impossible = 0
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = question(seed)
        expected = best_of(all_plans(problem), asked)
        if expected is None:
            impossible += 1
            with pytest.raises(NoPlan):
                best_plan(problem, asked, left)
            continue
        plan = best_plan(problem, asked, left)
        assert plan.worth == plan.bound == expected, (seed, asked)
        holds(problem, plan)
    assert len(seeds) / 50 < impossible < len(seeds) / 2


def test_the_frontier_is_every_plan_that_no_other_beats():
    longer = 0
    for seed in range(40):
        problem, _ = drop_unmet(chance_problem(seed), left)
        edge = edge_of(all_plans(problem))
        frontier = trade_off(problem, left, most=40)
        assert [(plan.money, plan.hours) for plan in frontier.plans] == edge, seed
        assert frontier.is_whole
        longer += len(edge) > 2
        if len(edge) > 2:
            short = trade_off(problem, left, most=1)
            assert not short.is_whole
            assert [(p.money, p.hours) for p in short.plans] == [edge[0], edge[-1]]
    assert longer > 5


@some_or_all(some=range(0, 240, 12), of=range(0, 240, 6))
def test_what_changing_sides_costs_and_where_a_price_turns(seeds):
    """Forced over it costs what looking at every plan says; past the price the answer changes."""
    turned = {True: 0, False: 0}
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = Question() if seed % 4 else Question(Aim.BOTH, rate=18)
        plan = best_plan(problem, asked, left)
        sides = list_sides(problem, asked, plan, left)
        assert [side.part for side in sides] == [p.key for o in problem.offers for p in o.parts]
        for side in sides:
            assert side.is_in == (side.part in plan.takes)
            without = best_of(all_plans(changed(problem, side.part, None)), asked)
            if side.turn is Turn.ALWAYS:
                assert without is None
                continue
            if side.is_in:
                assert side.more == without - plan.worth
            if side.turn is Turn.NEVER:
                free = best_plan(changed(problem, side.part, Fraction(0)), asked, left)
                assert free.worth == without
                continue
            assert side.turn is Turn.AT
            turned[side.is_in] += 1
            above = changed(problem, side.part, side.price + Fraction(1, 100))
            dear = best_plan(above, asked, left)
            assert side.part not in dear.takes
            assert dear.worth == without
            at = changed(problem, side.part, side.price)
            assert best_plan(at, asked, left).worth <= without
            held = forced_in(at, side.part, asked)
            assert held <= without < forced_in(above, side.part, asked), (seed, side)
            below = changed(problem, side.part, side.price - Fraction(5, 100))
            if lowest_price(below, side.part) >= 0:
                assert side.part in best_plan(below, asked, left).takes, (seed, side)
    assert min(turned.values()) > len(seeds) / 4


@some_or_all(some=range(11, 500, 32), of=range(11, 500, 16))
def test_up_to_its_price_a_part_comes_to_no_more_and_one_step_above_to_more(seeds):
    """At the price, one step below and one above; at the price itself both may be equal."""
    seen = {True: 0, False: 0}
    asking = (Question(), Question(Aim.BOTH, rate=18), Question(most_hours=3))
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = asking[seed % 3]
        try:
            plan = best_plan(problem, asked, left)
        except NoPlan:
            continue
        for side in list_sides(problem, asked, plan, left):
            if side.turn is not Turn.AT:
                continue
            without = best_plan(changed(problem, side.part, None), asked, left).worth
            takes: Mapping[Key, int] = {}
            for step in (0, -1, 1):
                there = changed(problem, side.part, side.price + Fraction(step, 100))
                if lowest_price(there, side.part) < 0:
                    continue
                if step and any(landed(offer, takes) is None for offer in there.offers):
                    # A deposit back that is more than the price: the ledger books no such thing.
                    continue
                held = forced(there, side.part, asked)
                takes = takes if step else held.takes
                assert (held.worth <= without) == (step < 1), (seed, side, step)
                is_in = side.part in best_plan(there, asked, left).takes
                assert held.worth == without or is_in == (step < 1), (seed, side, step)
                if step == 0:
                    seen[is_in] += 1
    # Both happen at the price: in, and out because it comes to the same.
    assert min(seen.values()) > len(seeds) / 10


def test_blocks_together_are_the_whole():
    """Taken apart or not: the same plan, ties included, and the same sides."""
    several = 0
    for seed in range(0, 80, 2):
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = Question(Aim.BOTH, rate=15) if seed % 4 else Question()
        blocks = split(problem)
        several += len(blocks) > 1
        whole = best_plan(problem, asked, left)
        outcome = answer(problem, asked, left)
        assert outcome.plan == whole, seed
        apart = {s.part: (s.is_in, s.more, s.turn, s.price) for s in outcome.sides}
        for side in list_sides(problem, asked, whole, left):
            assert apart[side.part] == (side.is_in, side.more, side.turn, side.price), seed
    assert several > 5


def test_the_same_input_gives_the_same_answer():
    problem, _ = drop_unmet(chance_problem(77), left)
    assert len({repr(answer(problem, Question(), left)) for _ in range(3)}) == 1


def test_without_time_nothing_is_claimed():
    problem = chance_problem(77)
    told = answer(problem, Question(), lambda: Fraction(0))
    assert told.plan is None
    assert told.is_out_of_time
