"""The money of a plan lies on its pieces, to the cent: nothing is lost, nothing added."""

import random
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from materials.calc.supply.cheapest import find_cheapest
from materials.calc.supply.pieces import piece_costs
from materials.calc.supply.plan import NoPlan, best_plan
from materials.calc.supply.types import Made, Need, New, Offer, Part, Problem, Question, Recipe
from materials.calc.types import ChargeInput

from .test_cheapest import a_problem, left

F = Fraction


@pytest.mark.parametrize("block", range(5))
def test_what_is_made_carries_all_the_money(block):
    for seed in range(1000 + block * 20, 1020 + block * 20):
        problem, _ = a_problem(seed)
        plan = find_cheapest(problem, left).plan
        pieces = piece_costs(problem, plan)
        assert sum(each.left for each in pieces.values()) == plan.money, seed


@pytest.mark.parametrize("block", range(3))
def test_offers_of_one_journey_too(block):
    for seed in range(2000 + block * 10, 2010 + block * 10):
        chance = random.Random(seed)
        problem, _ = a_problem(seed)
        offers = []
        for at in range(2):
            name = chance.choice(problem.needs).component
            other = chance.choice(problem.needs).component
            brings = {name: F(chance.randint(2, 6))} | {other: F(chance.randint(1, 4))}
            part = Part((at, "lot"), tuple(brings.items()), ((1, F(chance.randint(1, 9))),))
            haulage = ChargeInput((at, "haulage"), "haulage", amount=Decimal(chance.randint(0, 3)))
            tax = ChargeInput((at, "tax"), "sales tax", percent=Decimal("7.25"))
            offers.append(Offer(at, (part,), (tax, haulage), supplier="mill"))
        problem = replace(problem, offers=tuple(offers))
        try:
            plan = best_plan(problem, Question(), left)
        except NoPlan:
            continue
        pieces = piece_costs(problem, plan)
        assert sum(each.left for each in pieces.values()) == plan.money, seed


def test_one_batten_of_boards_on_hand_and_bought():
    # 3 of 5 boards are on hand; 2 at 1.50 and 1.00 of work make 20 battens: 0.20 each.
    board = Need("board", "Board", "piece", F(0), New(F(1), F("1.50"), "piece"), F(3))
    batten = Need("batten", "Batten", "piece", F(20), New(F(1), F(2), "piece"))
    rip = Recipe("rip", "board", F(1), (Made("batten", F(4), True),), F("0.20"))
    problem = Problem(2, (board, batten), recipes=(rip,))
    pieces = piece_costs(problem, find_cheapest(problem, left).plan)
    assert pieces["board"].one == F("0.60")
    assert pieces["batten"].one == F("0.20")
    assert pieces["board"].left == 0


def test_an_unknown_cost_goes_on_into_what_is_made_of_it():
    log = Need("log", "Log", "piece", F(0), New(F(1), F(9), "piece"))
    board = Need("board", "Board", "piece", F(0))
    batten = Need("batten", "Batten", "piece", F(20))
    saw = Recipe("saw", "log", F(1), (Made("board", F(5), True),))
    rip = Recipe("rip", "board", F(1), (Made("batten", F(4), True),))
    problem = Problem(2, (log, board, batten), recipes=(saw, rip))
    plan = find_cheapest(problem, left).plan
    assert piece_costs(problem, plan)["batten"].known_one == F(9, 20)
    pieces = piece_costs(problem, plan, {"saw"})
    assert (pieces["log"].known_one, pieces["board"].known_one) == (9, None)
    assert pieces["batten"].known_one is None
