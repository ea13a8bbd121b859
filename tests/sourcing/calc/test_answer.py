"""A whole answer: what limits bind, what there is to weigh, and what is said when time runs out."""

from dataclasses import replace
from fractions import Fraction as F

import pytest

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
from materials.sourcing.calc import answer as answers
from materials.sourcing.calc.answer import Outcome, answer
from materials.sourcing.calc.frontier import Frontier
from tests.sourcing.calc.test_money import BOARD, LIME, LOT, PROBLEM, left

# Four slates come to 40.00 new, or to 30.00 and three hours as a lot.
SLATE = Need("slate", "Slate", "piece", F(4), New(F(1), F(10), "piece"))
SLATES = Offer("s", (Part("slates", (("slate", F(4)),), ((1, F(30)),)),), hours=F(3))
TWO_LOTS = Problem(2, (BOARD, SLATE), (LOT, SLATES))


class Countdown:
    """A clock that is asked so many times before the time is used up."""

    def __init__(self, times: int):
        self.times, self.asked = times, 0

    def __call__(self) -> F:
        self.asked += 1
        return F(20 if self.asked <= self.times else 0)


def plan_of(outcome: Outcome) -> Plan:
    assert outcome.plan is not None
    return outcome.plan


@pytest.mark.parametrize(
    ("asked", "takes", "money", "hours"),
    [
        # The boards save 30.00 in four hours, the slates 10.00 in three.
        (Question(), {"lot": 1, "slates": 1}, 50, 7),
        (Question(most_hours=7), {"lot": 1, "slates": 1}, 50, 7),
        (Question(most_hours=6), {"lot": 1}, 60, 4),
        (Question(most_hours=3), {"slates": 1}, 80, 3),
        (Question(Aim.HOURS, most_money=80), {"slates": 1}, 80, 3),
        (Question(Aim.HOURS, most_money=60), {"lot": 1}, 60, 4),
    ],
)
def test_a_limit_is_one_for_all_that_has_nothing_else_in_common(
    asked: Question, takes: dict, money: int, hours: int
) -> None:
    plan = plan_of(answer(TWO_LOTS, asked, left))
    assert (plan.takes, plan.money, plan.hours) == (takes, money, hours)


def test_hours_of_one_offer_or_of_making_alone_are_weighed() -> None:
    unhurried = replace(TWO_LOTS, offers=(LOT, replace(SLATES, hours=F(0))))
    outcome = answer(unhurried, Question(), left)
    assert outcome.frontier is not None
    # Slates for 30.00 either way.
    assert [(p.money, p.hours) for p in outcome.frontier.plans] == [(50, 4), (80, 0)]
    # Eight pegs at 1.00, or four out of each of two boards at 1.50, half an hour each.
    peg = Need("peg", "Peg", "piece", F(8), New(F(1), F(1), "piece"))
    board = Need("board", "Board", "piece", F(0), New(F(1), F("1.5"), "piece"))
    saw = Recipe("saw", "board", F(1), (Made("peg", F(4)),), hours=F(1, 2))
    # One peg out of a board takes no time, and is not worth it.
    split = Recipe("split", "board", F(1), (Made("peg", F(1)),))
    outcome = answer(Problem(2, (peg, board), (), (saw, split)), Question(), left)
    assert outcome.frontier is not None
    assert [(p.money, p.hours) for p in outcome.frontier.plans] == [
        (3, 1),
        (F("5.5"), F(1, 2)),
        (8, 0),
    ]


def test_what_has_no_new_price_may_be_made_of_what_is_bought_new() -> None:
    """Eight pegs out of two boards at 1.50 each; nine would take a third."""
    board = Need("board", "Board", "piece", F(0), New(F(1), F("1.5"), "piece"))
    saw = Recipe("saw", "board", F(1), (Made("peg", F(4)),))
    for pegs, money in ((8, 3), (9, F("4.5"))):
        peg = Need("peg", "Peg", "piece", F(pegs))
        outcome = answer(Problem(2, (peg, board), (), (saw,)), Question(), left)
        assert outcome.unmet == ()
        assert plan_of(outcome).money == money
    outcome = answer(Problem(2, (peg, replace(board, new=None)), (), (saw,)), Question(), left)
    assert outcome.unmet == (peg,)


@pytest.mark.parametrize("asked", [Question(), Question(most_hours=4), Question(Aim.HOURS)])
@pytest.mark.parametrize("problem", [PROBLEM, TWO_LOTS], ids=["one", "two"])
def test_whatever_is_missing_for_want_of_time_that_is_said(
    problem: Problem, asked: Question
) -> None:
    """Whichever search the time runs out at: the answer is the whole one, or says it is late."""
    clock = Countdown(1000)
    whole = answer(problem, asked, clock)
    assert not whole.is_out_of_time
    needed = clock.asked
    states = set()
    for times in range(needed + 1):
        outcome = answer(problem, asked, Countdown(times))
        assert outcome.is_out_of_time or outcome == whole, times
        states.add((outcome.plan is None, bool(outcome.sensitivities), outcome.frontier is None))
    assert outcome == whole
    # Seen: nothing at all, a plan alone, with reasons, with money against hours too.
    assert states == {(True, False, True), (False, False, False), (False, True, False)}


def test_what_is_unmet_is_told_though_no_plan_was_found_in_time() -> None:
    """Two searches find that nothing is known for lime; the third would find the plan."""
    outcome = answer(PROBLEM, Question(), Countdown(2))
    assert (outcome.plan, outcome.unmet, outcome.is_out_of_time) == (None, (LIME,), True)
    assert [need.quantity for need in outcome.problem.needs] == [10, 3, 0]


def test_the_last_two_seconds_are_kept_for_money_against_hours() -> None:
    problem = replace(PROBLEM, needs=PROBLEM.needs[:2])
    outcome = answer(problem, Question(), lambda: F(2))
    assert outcome.sensitivities == ()
    assert outcome.frontier is not None
    assert [(p.money, p.hours) for p in outcome.frontier.plans] == [(26, 4), (56, 0)]
    assert outcome.frontier.is_whole
    assert outcome.is_out_of_time


def test_an_unproved_plan_is_said_to_be_late(monkeypatch: pytest.MonkeyPatch) -> None:
    def unproved(*args, **named) -> Plan:
        return replace(best_plan(*args, **named), bound=None)

    monkeypatch.setattr(answers, "best_plan", unproved)
    outcome = answer(Problem(2, (BOARD,), (Offer("o", LOT.parts),)), Question(), left)
    assert not plan_of(outcome).is_proved
    assert len(outcome.sensitivities) == 1
    assert outcome.is_out_of_time


@pytest.mark.parametrize(
    ("is_whole", "seconds", "is_late"), [(False, 1, False), (True, 0, False), (False, 0, True)]
)
def test_money_against_hours_is_late_where_time_and_plans_are_wanting(
    monkeypatch: pytest.MonkeyPatch, is_whole: bool, seconds: int, is_late: bool
) -> None:
    """More plans than are listed is no want of time."""
    clock = [F(20)]

    def frontier_of(*_, points) -> Frontier:
        clock[0] = F(seconds)
        return Frontier((), is_whole)

    monkeypatch.setattr(answers, "find_frontier", frontier_of)
    outcome = answer(PROBLEM, Question(), lambda: clock[0])
    assert len(outcome.sensitivities) == 1
    assert outcome.is_out_of_time is is_late
