"""Sourcing plans: equal to looking at every plan, to the cent, and turning where they say."""

import random
from collections.abc import Mapping
from dataclasses import replace
from fractions import Fraction

import pytest

from materials.calc.supply.blocks import split
from materials.calc.supply.plan import NoPlan, best_plan, drop_unmet, exactly
from materials.calc.supply.program import write_program
from materials.calc.supply.types import Aim, Part, Plan, Problem, Question
from materials.calc.types import Key
from materials.sourcing.calc import frontier
from materials.sourcing.calc.answer import answer
from materials.sourcing.calc.frontier import find_frontier
from materials.sourcing.calc.sensitivity import BreakEven, list_sensitivities
from tests.searches import TIMES
from tests.sourcing.calc.by_hand import (
    all_plans,
    best_of,
    chance_problem,
    frontier_of,
    holds,
    landed,
)


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
    return forced(problem, key, asked).objective


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


@some_or_all(some=range(60), of=range(100 + 40 * TIMES))
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
        assert plan.objective == plan.bound == expected, (seed, asked)
        holds(problem, plan)
    assert len(seeds) / 50 < impossible < len(seeds) / 2


@some_or_all(some=range(16), of=range(40))
def test_the_frontier_is_every_plan_that_no_other_beats(seeds):
    longer = 0
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        found_frontier = frontier_of(all_plans(problem))
        whole = find_frontier(problem, left, most=40)
        assert [(plan.money, plan.hours) for plan in whole.plans] == found_frontier, seed
        assert whole.is_whole
        longer += len(found_frontier) > 2
        if len(found_frontier) > 2:
            short = find_frontier(problem, left, most=1)
            assert not short.is_whole
            assert [(p.money, p.hours) for p in short.plans] == [
                found_frontier[0],
                found_frontier[-1],
            ]
    assert longer > len(seeds) / 8


def test_a_frontier_that_begins_with_an_unproved_plan_is_not_called_whole(monkeypatch):
    problem, _ = drop_unmet(chance_problem(0), left)
    proved = find_frontier(problem, left)
    assert proved.is_whole

    def found(*args, **named):
        return replace(best_plan(*args, **named), bound=None)

    monkeypatch.setattr(frontier, "best_plan", found)
    first = replace(proved.plans[0], bound=None)
    assert find_frontier(problem, left) == frontier.Frontier((first,), False)


@some_or_all(some=range(0, 240, 24), of=range(0, 240, 6))
def test_what_changing_sides_costs_and_where_a_price_turns(seeds):
    """Forced over it costs what looking at every plan says; past the price the answer changes."""
    turned = {True: 0, False: 0}
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = Question() if seed % 4 else Question(Aim.BOTH, rate=18)
        plan = best_plan(problem, asked, left)
        sensitivities = list_sensitivities(problem, asked, plan, left)
        assert [sensitivity.part for sensitivity in sensitivities] == [
            p.key for o in problem.offers for p in o.parts
        ]
        for sensitivity in sensitivities:
            assert sensitivity.is_in == (sensitivity.part in plan.takes)
            without = best_of(all_plans(changed(problem, sensitivity.part, None)), asked)
            if sensitivity.break_even is BreakEven.ALWAYS:
                assert without is None
                continue
            if sensitivity.is_in:
                assert sensitivity.more == without - plan.objective
            if sensitivity.break_even is BreakEven.NEVER:
                free = best_plan(changed(problem, sensitivity.part, Fraction(0)), asked, left)
                assert free.objective == without
                continue
            assert sensitivity.break_even is BreakEven.AT
            turned[sensitivity.is_in] += 1
            above = changed(problem, sensitivity.part, sensitivity.price + Fraction(1, 100))
            dear = best_plan(above, asked, left)
            assert sensitivity.part not in dear.takes
            assert dear.objective == without
            at = changed(problem, sensitivity.part, sensitivity.price)
            assert best_plan(at, asked, left).objective <= without
            plan_held = forced_in(at, sensitivity.part, asked)
            assert plan_held <= without < forced_in(above, sensitivity.part, asked), (
                seed,
                sensitivity,
            )
            below = changed(problem, sensitivity.part, sensitivity.price - Fraction(5, 100))
            if lowest_price(below, sensitivity.part) >= 0:
                assert sensitivity.part in best_plan(below, asked, left).takes, (seed, sensitivity)
    assert min(turned.values()) > len(seeds) / 4


def test_no_price_is_told_where_hours_were_asked_for_or_the_plan_is_not_proved():
    problem, _ = drop_unmet(chance_problem(12), left)
    hours = Question(Aim.HOURS)
    for asked, plan in (
        (hours, best_plan(problem, hours, left)),
        (Question(), replace(best_plan(problem, Question(), left), bound=None)),
    ):
        found = list_sensitivities(problem, asked, plan, left)
        turning = [one for one in found if one.other is not None]
        assert turning
        for one in turning:
            assert (one.break_even, one.price) == (BreakEven.UNKNOWN, None)
            assert one.more == one.other.objective - plan.objective


@some_or_all(some=range(11, 500, 48), of=range(11, 500, 16))
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
        for sensitivity in list_sensitivities(problem, asked, plan, left):
            if sensitivity.break_even is not BreakEven.AT:
                continue
            without = best_plan(changed(problem, sensitivity.part, None), asked, left).objective
            takes: Mapping[Key, int] = {}
            for step in (0, -1, 1):
                there = changed(problem, sensitivity.part, sensitivity.price + Fraction(step, 100))
                if lowest_price(there, sensitivity.part) < 0:
                    continue
                if step and any(landed(offer, takes) is None for offer in there.offers):
                    # A deposit back that is more than the price: the ledger books no such thing.
                    continue
                plan_held = forced(there, sensitivity.part, asked)
                takes = takes if step else plan_held.takes
                assert (plan_held.objective <= without) == (step < 1), (seed, sensitivity, step)
                is_in = sensitivity.part in best_plan(there, asked, left).takes
                assert plan_held.objective == without or is_in == (step < 1), (
                    seed,
                    sensitivity,
                    step,
                )
                if step == 0:
                    seen[is_in] += 1
    # Both happen at the price: in, and out because it comes to the same.
    assert min(seen.values()) > len(seeds) / 10


@some_or_all(some=range(0, 40, 4), of=range(0, 80, 2))
def test_blocks_together_are_the_whole(seeds):
    """Taken apart or not: the same plan, ties included, and the same sides."""
    several = 0
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        asked = Question(Aim.BOTH, rate=15) if seed % 4 else Question()
        blocks = split(problem)
        several += len(blocks) > 1
        whole = best_plan(problem, asked, left)
        outcome = answer(problem, asked, left)
        assert outcome.plan == whole, seed
        apart = {s.part: (s.is_in, s.more, s.break_even, s.price) for s in outcome.sensitivities}
        for sensitivity in list_sensitivities(problem, asked, whole, left):
            assert apart[sensitivity.part] == (
                sensitivity.is_in,
                sensitivity.more,
                sensitivity.break_even,
                sensitivity.price,
            ), seed
    assert several > len(seeds) / 8


def test_the_same_input_gives_the_same_answer():
    problem, _ = drop_unmet(chance_problem(77), left)
    assert len({repr(answer(problem, Question(), left)) for _ in range(3)}) == 1


def test_without_time_nothing_is_claimed():
    problem = chance_problem(77)
    result = answer(problem, Question(), lambda: Fraction(0))
    assert result.plan is None
    assert result.is_out_of_time
