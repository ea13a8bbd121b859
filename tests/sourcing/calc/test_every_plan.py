"""Plans that are all tried: the same as looking at every one by hand, within limits too."""

import random
import time
from dataclasses import replace
from fractions import Fraction as F
from itertools import pairwise

import pytest

from materials.calc.supply.plan import drop_unmet
from materials.calc.supply.types import Aim, Made, Need, New, Offer, Part, Plan, Problem, Question
from materials.calc.supply.types import Recipe as Way
from materials.sourcing.calc import every_plan
from materials.sourcing.calc.answer import answer
from materials.sourcing.calc.every_plan import list_unbeaten
from materials.sourcing.calc.frontier import Frontier, best_for_some_rate, find_frontier
from materials.sourcing.views import asked_by_rate
from tests.sourcing.calc.by_hand import all_plans, best_of, chance_problem, frontier_of, holds


def left() -> F:
    return F(60)


def apart(seed: int) -> Problem:
    """Two problems that have nothing to do with each other, as one."""
    whole = Problem(2, ())
    for name, one in ((part, chance_problem(2 * seed + part)) for part in range(2)):
        needs = tuple(replace(n, component=(name, n.component)) for n in one.needs)
        offers = tuple(
            Offer(
                (name, offer.key),
                tuple(
                    replace(
                        part,
                        key=(name, part.key),
                        brings=tuple(((name, c), much) for c, much in part.brings),
                    )
                    for part in offer.parts
                ),
                offer.charges,
                offer.hours,
                None if offer.supplier is None else (name, offer.supplier),
            )
            for offer in one.offers
        )
        ways = tuple(
            replace(
                way,
                key=(name, way.key),
                source=(name, way.source),
                makes=tuple(replace(out, component=(name, out.component)) for out in way.makes),
            )
            for way in one.recipes
        )
        whole = Problem(
            2, (*whole.needs, *needs), (*whole.offers, *offers), (*whole.recipes, *ways)
        )
    return whole


@pytest.mark.parametrize("seeds", [range(12), pytest.param(range(200), marks=pytest.mark.slow)])
def test_every_plan_that_no_other_beats_is_found(seeds):
    for seed in seeds:
        problem, _ = drop_unmet(chance_problem(seed), left)
        points = list_unbeaten(problem)
        assert points is not None
        found = [(point.plan.money, point.plan.hours) for point in points]
        assert found == frontier_of(all_plans(problem)), seed
        for point in points:
            assert F(point.money, 100) == point.plan.money
            holds(problem, point.plan)


@pytest.mark.parametrize("seeds", [range(4), pytest.param(range(40), marks=pytest.mark.slow)])
def test_the_plans_of_what_has_nothing_in_common_add_up(seeds):
    """Against every sum of a plan of the one and a plan of the other."""
    for seed in seeds:
        problem, _ = drop_unmet(apart(seed), left)
        one, other = (
            frontier_of(all_plans(drop_unmet(chance_problem(2 * seed + part), left)[0]))
            for part in range(2)
        )
        sums = [(a[0] + b[0], a[1] + b[1]) for a in one for b in other]
        points = list_unbeaten(problem)
        assert [(p.plan.money, p.plan.hours) for p in points] == frontier_of(sums), seed


@pytest.mark.parametrize("seeds", [range(6), pytest.param(range(120), marks=pytest.mark.slow)])
def test_limits_on_what_has_nothing_in_common_are_kept_together(seeds):
    kept = 0
    for seed in seeds:
        whole = apart(seed)
        problem, _ = drop_unmet(whole, left)
        points = list_unbeaten(problem)
        pairs = [(p.plan.money, p.plan.hours) for p in points]
        chance = random.Random(seed)
        money, hours = chance.choice(pairs)
        asked = (
            Question(most_hours=hours),
            Question(Aim.HOURS, most_money=money),
            Question(Aim.BOTH, rate=F(17, 2), most_hours=hours),
        )[seed % 3]
        plan = answer(whole, asked, left).plan
        assert plan.objective == plan.bound == best_of(pairs, asked), (seed, asked)
        holds(replace(whole, needs=problem.needs), plan)
        kept += len(pairs) > 2
    assert kept


def test_too_many_plans_are_not_tried(monkeypatch):
    problem, _ = drop_unmet(chance_problem(3), left)
    assert list_unbeaten(problem) is not None
    monkeypatch.setattr(every_plan, "MOST_TRIED", 1)
    assert list_unbeaten(problem) is None
    board = Need("board", "Board", "piece", F(2), New(F(1), F(4), "piece"))
    round_about = (
        Way("there", "board", F(1), (Made("peg", F(4)),)),
        Way("back", "peg", F(1), (Made("board", F(1)),)),
    )
    peg = replace(board, component="peg")
    assert list_unbeaten(Problem(2, (board, peg), (), round_about)) is None


def plan(money: int, hours: int) -> Plan:
    return Plan(F(money), F(hours), F(money), F(money))


def test_of_many_plans_those_are_kept_that_some_value_of_an_hour_chooses():
    """An hour saved costs 2, then 4 (two plans in one line), then 10; (16, 6) pays 5 for what
    comes for 3 two hours further on."""
    plans = [plan(10, 9), plan(12, 8), plan(16, 7), plan(21, 6), plan(24, 5), plan(64, 1)]
    kept = best_for_some_rate(plans)
    assert [(p.money, p.hours) for p in kept] == [(10, 9), (12, 8), (24, 5), (64, 1)]
    saved = [None, F(2), F(4), F(10)]
    questions = [asked_by_rate(saved, place) for place in range(4)]
    assert questions == [
        {"aim": "money"},
        {"aim": "both", "rate": "3"},
        {"aim": "both", "rate": "5"},
        {"aim": "hours"},
    ]
    for one, asked in zip(kept, questions, strict=True):
        question = Question(Aim(asked["aim"]), F(asked.get("rate", 0)))
        least = min(plans, key=lambda p, q=question: (best_of([(p.money, p.hours)], q), p.money))
        assert least == one
    # Between 2 and 2.00004 lies no value of four places.
    assert asked_by_rate([None, F(2), F("2.00004"), F(3)], 1) is None
    assert asked_by_rate([None, F(2), F("2.02"), F(3)], 1)["rate"] == "2.01"


def test_more_plans_than_are_listed_are_counted():
    """Six boards to plane or to buy planed: no two choices take the same hours."""
    needs, ways = [], []
    for place in range(6):
        price = 2**place * (100 + F(place, 10))
        needs.append(Need(place, "Board", "piece", F(1), New(F(1), price, "piece")))
        needs.append(Need((place, "rough"), "Rough", "piece", F(0), None, F(1)))
        ways.append(Way(place, (place, "rough"), F(1), (Made(place, F(1)),), hours=F(2**place)))
    problem = Problem(2, tuple(needs), (), tuple(ways))
    points = list_unbeaten(problem)
    assert len(points) == 64
    found = find_frontier(problem, left, points=points)
    # The ends, and no hour saved for less than the one before.
    assert (found.is_whole, found.count, len(found.plans)) == (False, len(points), 7)
    steps = [(b.money - a.money) / (a.hours - b.hours) for a, b in pairwise(found.plans)]
    assert steps == sorted(steps)
    assert found.plans[0] == points[0].plan
    assert found.plans[-1] == points[-1].plan
    assert find_frontier(problem, left, most=len(points), points=points) == Frontier(
        tuple(point.plan for point in points), True
    )


def test_many_offered_pieces_are_tried_in_a_second_or_two():
    """Fifty of each of two things offered, and boards to make both of."""
    needs = [Need(n, n, "piece", F(40), New(F(1), F("3.30"), "piece")) for n in "ab"]
    needs.append(Need("board", "Board", "piece", F(0), New(F(1), F("9.99"), "piece"), F(3)))
    offers = [
        Offer(n, (Part(n, ((n, F(1)),), ((1, F("2.10")),), most=50),), hours=F(1)) for n in "ab"
    ]
    ways = [
        Way(n, "board", F(1), (Made(n, F(9, 1)),), F("0.35"), F("0.77")) for n in "ab"
    ]  # 51 × 51 × 6 × 6 are 93,636: more than are tried.
    problem = Problem(2, tuple(needs), tuple(offers), tuple(ways))
    assert list_unbeaten(problem) is None
    fewer = replace(problem, offers=problem.offers[:1])
    start = time.process_time()
    assert list_unbeaten(fewer)
    assert time.process_time() - start < 2
