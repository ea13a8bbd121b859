"""A whole answer: the plan, why each offer is in or out, and money against hours.

What nothing but new material can meet is worked out by a division and added; the rest is searched,
in blocks where no limit binds them. The time given is shared: first the plan, then the
sensitivities, then money against hours.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

from ...calc.supply.blocks import can_be_split, join_plans, split, split_off_new, with_new
from ...calc.supply.plan import (
    NoPlan,
    OutOfTime,
    SecondsLeft,
    best_plan,
    drop_unmet,
    find_least,
    limits_of,
)
from ...calc.supply.program import write_program
from ...calc.supply.types import ZERO, Aim, Need, Plan, Problem, Question
from .frontier import Frontier, find_frontier
from .sensitivity import Sensitivity, list_sensitivities

# Seconds that are kept for money against hours.
KEPT = Fraction(2)


@dataclass(frozen=True, slots=True)
class Outcome:
    """What is answered.

    ``problem``: the one searched, with what is left of it. ``plan`` None: no plan keeps the
    limits (``least_money`` and ``fewest_hours`` then say what would), or none was found in time.
    ``unmet``: needs that nothing known meets, left out. ``is_out_of_time``: something is missing
    or not proved because the time was used up.
    """

    problem: Problem
    plan: Plan | None
    sensitivities: tuple[Sensitivity, ...] = ()
    frontier: Frontier | None = None
    unmet: tuple[Need, ...] = ()
    least_money: Fraction | None = None
    fewest_hours: Fraction | None = None
    is_out_of_time: bool = False


def answer(problem: Problem, question: Question, left: SecondsLeft) -> Outcome:
    """Answer a question; the same for the same input as long as the time is not used up."""
    core, new_plan = split_off_new(problem)
    asked = question
    if question.most_money is not None:
        asked = replace(question, most_money=Fraction(question.most_money) - new_plan.money)
    try:
        core, unmet = drop_unmet(core, left)
    except OutOfTime:
        return Outcome(problem, None, is_out_of_time=True)
    gone = {need.component for need in unmet}
    whole = replace(
        problem,
        needs=tuple(
            replace(need, quantity=ZERO) if need.component in gone else need
            for need in problem.needs
        ),
    )
    try:
        blocks = split(core) if can_be_split(asked) else [core]
        plans = [best_plan(block, asked, left) for block in blocks]
    except NoPlan:
        return _nearest_limits(whole, core, asked, new_plan, unmet, left)
    except OutOfTime:
        return Outcome(whole, None, unmet=unmet, is_out_of_time=True)
    plan = join_plans(plans)
    sensitivities = [
        sensitivity
        for block, own in zip(blocks, plans, strict=True)
        for sensitivity in list_sensitivities(block, asked, own, lambda: left() - KEPT)
    ]
    frontier = None
    is_late = not plan.is_proved or len(sensitivities) < sum(len(o.parts) for o in core.offers)
    if any(offer.hours for offer in core.offers) or any(r.hours for r in core.recipes):
        frontier = find_frontier(core, left)
        is_late = is_late or (not frontier.is_whole and left() <= 0)
        frontier = replace(
            frontier, plans=tuple(with_new(p, new_plan, Aim.MONEY) for p in frontier.plans)
        )
    return Outcome(
        whole,
        with_new(plan, new_plan, question.aim),
        tuple(sensitivities),
        frontier,
        unmet,
        is_out_of_time=is_late,
    )


def _nearest_limits(
    whole: Problem,
    core: Problem,
    asked: Question,
    new_plan: Plan,
    unmet: tuple[Need, ...],
    left: SecondsLeft,
) -> Outcome:
    """What the limits would have to be: each with the other one kept, else without it."""
    program = write_program(core)
    unit = 10**core.places
    money = hours = None
    try:
        kept = limits_of(program, replace(asked, most_money=None))
        try:
            money = find_least(program, program.money, kept, left).least / unit + new_plan.money
        except NoPlan:
            money = find_least(program, program.money, (), left).least / unit + new_plan.money
        if asked.most_hours is not None:
            kept = limits_of(program, replace(asked, most_hours=None))
            try:
                hours = find_least(program, program.hours, kept, left).least
            except NoPlan:
                hours = find_least(program, program.hours, (), left).least
    except (NoPlan, OutOfTime):
        pass
    return Outcome(whole, None, unmet=unmet, least_money=money, fewest_hours=hours)
