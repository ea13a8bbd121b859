"""What the pieces of a sourcing plan cost, and whole answers, small enough to be worked by hand."""

from dataclasses import replace
from fractions import Fraction as F

import pytest

from materials.calc.supply.costs import (
    by_supplier,
    extra_cost,
    is_paid_for,
    landed_cost,
    new_cost,
    shared_haulage,
)
from materials.calc.supply.plan import best_plan
from materials.calc.supply.types import (
    Aim,
    Made,
    Need,
    New,
    Offer,
    Part,
    Plan,
    Problem,
    Question,
    Recipe,
)
from materials.sourcing.calc.answer import answer, split_off_new, with_new
from materials.sourcing.calc.sensitivity import BreakEven, is_single_item, list_sensitivities
from tests.calc.builders import D, charge, percent
from tests.sourcing.calc.by_hand import money_of_pieces


def offer(key: str, price: int, *charges, supplier=None, **values) -> Offer:
    part = Part(f"{key}1", (("board", F(1)),), ((1, F(price)), (10, F(price - 1))), **values)
    return Offer(key, (part,), charges, supplier=supplier)


NEAR = offer("a", 5, charge("haulage", 20), percent("sales tax", 10), supplier="yard", most=20)
FAR = offer("b", 30, charge("haulage", 12), supplier="yard")
ALONE = offer("c", 9, charge("haulage", 7))
BY_THE_PAIR = offer("d", 5, units=F(2), most=20)


@pytest.mark.parametrize(
    ("one", "steps", "cost"),
    [
        (NEAR, 3, "36.50"),
        # Ten and more at 4.00: 40, 20 and 4.
        (NEAR, 10, "64.00"),
        (NEAR, 0, "0"),
        (BY_THE_PAIR, 3, "30.00"),
        (BY_THE_PAIR, 10, "80.00"),
    ],
)
def test_landed_cost_of_what_is_taken(one: Offer, steps: int, cost: str) -> None:
    assert landed_cost(one, {one.parts[0].key: steps}, 2) == D(cost)


def test_one_trip_is_paid_once() -> None:
    assert shared_haulage([NEAR, FAR], {"a1": 3, "b1": 1}, 2) == 12
    assert shared_haulage([NEAR, FAR], {"a1": 3}, 2) == 0
    assert shared_haulage([NEAR, FAR, ALONE], {"a1": 1, "b1": 1, "c1": 1}, 2) == 19
    assert by_supplier([NEAR, ALONE, FAR]) == {"yard": [NEAR, FAR], ("offer", "c"): [ALONE]}


def test_new_material_and_extra_cost_are_rounded_once() -> None:
    need = Need("board", "Board", "piece", F(3), New(F(1), F("1.005"), "piece"))
    assert new_cost(need, 3, 2) == D("3.02")
    assert new_cost(Need("board", "Board", "piece", F(3)), 3, 2) == 0
    recipe = Recipe("r", "board", F(1), (Made("peg", F(4)),), extra=F("0.335"))
    assert extra_cost(recipe, 3, 2) == D("1.01")


def test_the_money_of_a_plan_is_the_sum_of_its_pieces() -> None:
    problem = Problem(
        2,
        (Need("board", "Board", "piece", F(9), New(F(1), F(10, 3), "piece")),),
        (NEAR, FAR, ALONE),
        (Recipe("r", "board", F(1), (Made("peg", F(4)),), extra=F("0.335")),),
    )
    plan = Plan(F(0), F(0), F(0), None, {"a1": 3, "b1": 1}, {"board": 2}, {"r": 3})
    # 36.50 and 42.00, the shorter trip of 12.00 off, 6.67 new, 1.01 of work.
    assert money_of_pieces(problem, plan) == D("74.18")


@pytest.mark.parametrize(
    ("charges", "is_paid"),
    [
        ([], True),
        ([charge("discount", 5)], True),
        ([charge("discount", "5.01")], False),
        ([charge("haulage", 6), charge("discount", 11)], True),
        # What comes later does not make up for it.
        ([charge("discount", 6), charge("haulage", 20)], False),
        # Less than nothing at the end is no offer, but a charge that adds is not at fault.
        ([charge("deposit", -6)], False),
    ],
)
def test_nobody_is_paid_for_taking(charges: list, is_paid: bool) -> None:
    one = offer("a", 5, *charges)
    assert is_paid_for(one, {"a1": 1}, 2) is is_paid
    assert is_paid_for(one, {}, 2)


BOARD = Need("board", "Board", "piece", F(10), New(F(1), F(5), "piece"))
# Sold by two: two steps do for three, and one is over.
PEG = Need("peg", "Peg", "piece", F(3), New(F(2), F(3), "pack", F(1)))
LIME = Need("lime", "Lime", "bag", F(1))
# All ten boards for 20.00 and four hours.
LOT = Offer("o", (Part("lot", (("board", F(10)),), ((1, F(20)),)),), hours=F(4))
PROBLEM = Problem(2, (BOARD, PEG, LIME), (LOT,))


def left() -> F:
    return F(20)


def test_an_answer_by_hand() -> None:
    """Boards 20.00 from the lot or 50.00 new; pegs 6.00 new; nothing is known for lime."""
    result = answer(PROBLEM, Question(), left)
    assert result.plan is not None
    assert (result.plan.money, result.plan.hours, result.plan.objective, result.plan.bound) == (
        26,
        4,
        26,
        26,
    )
    assert (result.plan.takes, result.plan.new, result.plan.over) == (
        {"lot": 1},
        {"peg": 2},
        {"peg": 1},
    )
    assert result.unmet == (LIME,)
    assert [need.quantity for need in result.problem.needs] == [10, 3, 0]
    assert result.frontier is not None
    assert [(plan.money, plan.hours) for plan in result.frontier.plans] == [(26, 4), (56, 0)]
    assert result.frontier.plans[0].new == {"peg": 2}
    (sensitivity,) = result.sensitivities
    assert (sensitivity.part, sensitivity.is_in, sensitivity.more) == ("lot", True, 30)
    assert not result.is_out_of_time


def test_without_hours_there_is_nothing_to_weigh() -> None:
    result = answer(Problem(2, (BOARD,), (Offer("o", LOT.parts),)), Question(), left)
    assert result.frontier is None
    assert not result.is_out_of_time


@pytest.mark.parametrize(
    ("one", "asked", "expected"),
    [
        (ALONE, Question(), True),
        (offer("e", 9, charge("haulage", 0), percent("sales tax", 0)), Question(), True),
        (offer("e", 9, charge("haulage", 7), charge("discount", 1)), Question(), False),
        (offer("e", 9, charge("haulage", 7), charge("fee", -1)), Question(), False),
        (offer("e", 9, charge("haulage", 7), percent("fee", -1)), Question(), False),
        (offer("e", 9, most=2), Question(), False),
        (Offer("e", (*ALONE.parts, *FAR.parts)), Question(), False),
        (ALONE, Question(most_money=F(9)), False),
    ],
)
def test_one_whole_thing_with_nothing_off_shifts_every_plan_alike(
    one: Offer, asked: Question, expected: bool
) -> None:
    """Where that is not so, its break-even price is searched for."""
    assert is_single_item(one, asked) is expected


@pytest.mark.parametrize("price", ["5.10", "5.11", "5.12"])
def test_a_break_even_price_is_told_to_the_last_minor_unit(price: str) -> None:
    """All ten boards come new to this: so much the lot may cost and no more."""
    need = replace(BOARD, new=New(F(10), F(price), "pack"))
    lot = Offer("q", (Part("quick", (("board", F(10)),), ((1, F(5)),)),))
    problem = Problem(2, (need,), (lot,))
    plan = best_plan(problem, Question(), left)
    (found,) = list_sensitivities(problem, Question(), plan, left)
    assert (found.break_even, found.price) == (BreakEven.AT, F(price))


@pytest.mark.parametrize(("most_money", "price"), [(None, 74), (F(80), 74), (F(25), 25)])
def test_a_limit_of_money_binds_a_break_even_price_too(most_money: F | None, price: int) -> None:
    """20.00 and three hours at 18.00 otherwise: the quick lot is worth 74.00, were that there."""
    quick = Offer("q", (Part("quick", (("board", F(10)),), ((1, F(10)),)),))
    slow = Offer("s", (Part("slow", (("board", F(10)),), ((1, F(20)),)),), hours=F(3))
    problem = Problem(2, (replace(BOARD, new=None),), (quick, slow))
    asked = Question(Aim.BOTH, rate=18, most_money=most_money)
    found, _ = list_sensitivities(problem, asked, best_plan(problem, asked, left), left)
    assert (found.part, found.is_in, found.more) == ("quick", True, 64)
    assert (found.break_even, found.price) == (BreakEven.AT, price)


@pytest.mark.parametrize(
    ("asked", "money", "hours", "worth"),
    [
        (Question(most_hours=4), 26, 4, 26),
        (Question(most_hours=3), 56, 0, 56),
        (Question(most_money=26), 26, 4, 26),
        (Question(Aim.HOURS), 56, 0, 0),
        (Question(Aim.HOURS, most_money=56), 56, 0, 0),
        (Question(Aim.HOURS, most_money=F("55.99")), 26, 4, 4),
        (Question(Aim.BOTH, rate=7), 26, 4, 26 + 28),
        (Question(Aim.BOTH, rate=8), 56, 0, 56),
    ],
)
def test_limits_and_aims(asked: Question, money: int, hours: int, worth: int) -> None:
    plan = answer(PROBLEM, asked, left).plan
    assert plan is not None
    assert (plan.money, plan.hours, plan.objective, plan.bound) == (money, hours, worth, worth)


@pytest.mark.parametrize(
    ("asked", "least", "fewest"),
    [
        # No plan costs less than 26.00; without a limit for hours none is told.
        (Question(most_money=10), 26, None),
        # Within three hours 56.00 are needed, for 30.00 four hours.
        (Question(most_money=30, most_hours=3), 56, 4),
        # For 10.00 there is nothing, whatever it takes: the fewest hours of all.
        (Question(most_money=10, most_hours=3), 56, 0),
        # In less than no time neither, whatever it costs.
        (Question(most_money=30, most_hours=-1), 26, 4),
    ],
)
def test_where_no_plan_keeps_the_limits_the_nearest_are_told(
    asked: Question, least: int, fewest: int | None
) -> None:
    result = answer(PROBLEM, asked, left)
    assert result.plan is None
    assert (result.least_money, result.fewest_hours) == (least, fewest)
    assert result.unmet == (LIME,)
    assert not result.is_out_of_time


@pytest.mark.parametrize(
    ("quantity", "spare", "new", "money", "over"),
    [
        (3, 0, {"peg": 2}, 6, {"peg": 1}),
        (4, 0, {"peg": 2}, 6, {}),
        (3, 1, {"peg": 1}, 3, {}),
        (3, 3, {}, 0, {}),
        (3, 5, {}, 0, {}),
        (0, 0, {}, 0, {}),
    ],
)
def test_what_only_new_material_meets_is_a_division(
    quantity: int, spare: int, new: dict, money: int, over: dict
) -> None:
    peg = Need("peg", "Peg", "piece", F(quantity), PEG.new, F(spare))
    rest, plan = split_off_new(Problem(2, (BOARD, peg, LIME), (LOT,)))
    assert rest.needs == (BOARD, LIME)
    assert (plan.new, plan.money, plan.objective, plan.hours, plan.over) == (
        new,
        money,
        money,
        0,
        over,
    )


def test_what_a_conversion_uses_or_makes_is_not_set_apart() -> None:
    saw = Recipe("r", "board", F(1), (Made("peg", F(4)),))
    rest, plan = split_off_new(Problem(2, (BOARD, PEG), (), (saw,)))
    assert (rest.needs, plan.money) == ((BOARD, PEG), 0)


@pytest.mark.parametrize(
    ("aim", "bound", "worth", "added"),
    [(Aim.MONEY, F(4), 11, 10), (Aim.BOTH, None, 11, None), (Aim.HOURS, F(4), 5, 4)],
)
def test_what_was_set_apart_is_added(aim: Aim, bound: F | None, worth: int, added) -> None:
    plan = Plan(F(9), F(2), F(5), bound, new={"board": 1}, over={"board": F(2)})
    plain = Plan(F(6), F(0), F(6), F(6), new={"peg": 2}, over={"peg": F(1)})
    found = with_new(plan, plain, aim)
    assert (found.money, found.hours, found.objective, found.bound) == (15, 2, worth, added)
    assert (found.new, found.over) == ({"board": 1, "peg": 2}, {"board": 2, "peg": 1})
