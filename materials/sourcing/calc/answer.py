"""A whole answer: the plan, why each offer is in or out, and money against hours.

What nothing but new material can meet is worked out by a division and added; the rest is searched,
in blocks where no limit binds them. The time given is shared: first the plan, then the
sensitivities, then money against hours.
"""

from collections.abc import Sequence
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
from .every_plan import Point, list_unbeaten
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
    has_hours = any(o.hours for o in core.offers) or any(r.hours for r in core.recipes)
    is_bound = not can_be_split(asked)
    points = list_unbeaten(core) if (has_hours or is_bound) and left() > 0 else None
    blocks = [core] if is_bound else split(core)
    try:
        if is_bound and points is not None:
            plans = _plans_within(core, asked, points, left)
        else:
            plans = [best_plan(block, asked, left) for block in blocks]
    except NoPlan:
        return _nearest_limits(whole, core, asked, new_plan, unmet, left)
    except OutOfTime:
        return Outcome(whole, None, unmet=unmet, is_out_of_time=True)
    plan = join_plans(plans)
    sensitivities = [
        sensitivity
        for block, own in zip(blocks, [plan] if is_bound else plans, strict=True)
        for sensitivity in list_sensitivities(block, asked, own, lambda: left() - KEPT)
    ]
    frontier = None
    is_late = not plan.is_proved or len(sensitivities) < sum(len(o.parts) for o in core.offers)
    if has_hours:
        frontier = find_frontier(core, left, points=points)
        is_late = is_late or (not frontier.is_whole and not frontier.count and left() <= 0)
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


def _plans_within(
    core: Problem, asked: Question, points: Sequence[Point], left: SecondsLeft
) -> list[Plan]:
    """The best plan of each block within limits that hold for all of them together.

    All plans were tried, so the money and hours of the best one are known block by block; what is
    left to find is which plan of these the rules of ties choose. Raises NoPlan, OutOfTime.
    """
    kept = [point for point in points if _keeps(asked, core, point)]
    if not kept:
        raise NoPlan
    best = min(kept, key=lambda point: _rank(asked, core, point))
    plans = []
    for block, own in zip(split(core), best.plans, strict=True):
        limits = replace(asked, most_money=own.money, most_hours=own.hours)
        plans.append(best_plan(block, limits, left))
    return plans


def _keeps(asked: Question, core: Problem, point: Point) -> bool:
    money = Fraction(point.money, 10**core.places)
    return (asked.most_money is None or money <= asked.most_money) and (
        asked.most_hours is None or point.hours <= asked.most_hours
    )


def _rank(asked: Question, core: Problem, point: Point) -> tuple[Fraction, Fraction]:
    """What is to be least, and what among equals."""
    money = Fraction(point.money, 10**core.places)
    if asked.aim is Aim.HOURS:
        return point.hours, money
    rate = Fraction(asked.rate) if asked.aim is Aim.BOTH else ZERO
    return money + rate * point.hours, point.hours


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
