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
    assert piece_costs(problem, plan)["batten"].known_made == F(9, 20)
    pieces = piece_costs(problem, plan, {"saw"})
    assert (pieces["log"].one, pieces["board"].known_made) == (9, None)
    assert pieces["batten"].known_made is None


def test_what_is_made_comes_to_its_own_cost_beside_what_is_bought_new():
    """2 heaps on hand give 3 of 5; what 2 new ones cost is not theirs."""
    heap = Need("heap", "Heap", "cu yd", F(0), None, F(2))
    fill = Need("fill", "Fill", "cu yd", F(5), New(F(1), F(60), "cu yd"))
    sift = Recipe("sift", "heap", F(2), (Made("fill", F(3)),), F(45))
    problem = Problem(2, (heap, fill), recipes=(sift,))
    pieces = piece_costs(problem, best_plan(problem, Question(), left))
    assert pieces["fill"].known_made == 15
    assert pieces["fill"].one == F(45 + 2 * 60, 5)


def test_what_a_lot_brings_beside_enough_on_hand_is_more_than_needed():
    """A lot of 2 stringers and 3 planks, for the stringers: battens come from planks on hand."""
    plank = Need("plank", "Plank", "piece", F(0), New(F(1), F(30), "piece"), F(4))
    batten = Need("batten", "Batten", "piece", F(18), New(F(1), F(5), "piece"))
    stringer = Need("stringer", "Stringer", "piece", F(2), New(F(1), F(45), "piece"))
    rip = Recipe("rip", "plank", F(1), (Made("batten", F(9), True),), F("0.90"))
    lot = Part("lot", (("stringer", F(2)), ("plank", F(3))), ((1, F(36)),))
    problem = Problem(2, (plank, batten, stringer), (Offer("yard", (lot,)),), (rip,))
    plan = best_plan(problem, Question(), left)
    assert plan.takes == {"lot": 1}
    assert plan.over == {"plank": 3}
    pieces = piece_costs(problem, plan)
    # 2 × 0.90 for 18; planks on hand cost nothing, and those of the lot keep their share.
    assert pieces["batten"].known_made == F("0.10")
    assert pieces["plank"].left == 18
    assert sum(each.left for each in pieces.values()) == plan.money
