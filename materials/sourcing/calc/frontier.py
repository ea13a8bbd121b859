"""Money against hours: the plans of which none is beaten in both.

A small problem is looked at whole (``every_plan.py``). In a larger one the solver goes from one
plan to the next, which takes a search for each.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ...calc.supply.plan import (
    NoPlan,
    OutOfTime,
    SecondsLeft,
    Ties,
    best_plan,
    find_least,
    smallest_step,
)
from ...calc.supply.program import write_program
from ...calc.supply.types import Aim, Plan, Problem, Question
from .every_plan import Point

# Plans that a page lists.
MOST = 24


@dataclass(frozen=True, slots=True)
class Frontier:
    """Plans of which none has both less money and fewer hours, from the least money on.

    ``is_whole``: no plan of the kind is missing between the first and the last. ``count``: how
    many there are, where all were found and only those are kept that are the best for some value
    of an hour; 0 otherwise.
    """

    plans: tuple[Plan, ...]
    is_whole: bool
    count: int = 0


def find_frontier(
    problem: Problem,
    left: SecondsLeft,
    most: int = MOST,
    points: Sequence[Point] | None = None,
) -> Frontier:
    """Money against hours, from all plans where they were tried (``points``), else by steps."""
    if points is None:
        return walk_frontier(problem, left, most)
    plans = tuple(point.plan for point in points)
    if len(plans) <= most:
        return Frontier(plans, True)
    return Frontier(best_for_some_rate(plans), False, len(plans))


def best_for_some_rate(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """Of unbeaten plans those that money and hours together choose at some value of an hour.

    From one to the next an hour saved costs more and more.
    """
    kept: list[Plan] = []
    for plan in plans:
        while len(kept) > 1 and _each(kept[-2], kept[-1]) >= _each(kept[-1], plan):
            kept.pop()
        kept.append(plan)
    return tuple(kept)


def _each(before: Plan, after: Plan) -> Fraction:
    """What an hour saved costs from one plan to another."""
    return (after.money - before.money) / (before.hours - after.hours)


def walk_frontier(problem: Problem, left: SecondsLeft, most: int = MOST) -> Frontier:
    """Step by step: each next plan is the cheapest of fewer hours.

    At most ``most`` plans; the last one is always that of the fewest hours when time allows.
    """
    program = write_program(problem)
    plans: list[Plan] = []
    question = Question(Aim.MONEY)
    try:
        end = find_least(program, program.hours, (), left)
        fewest, is_end = end.least, end.bound == end.least
        while True:
            plan = best_plan(problem, question, left, program, ties=Ties.SECOND)
            plans.append(plan)
            if not plan.is_proved:
                return Frontier(tuple(plans), False)
            if plan.hours <= fewest:
                return Frontier(tuple(plans), is_end)
            if len(plans) >= most:
                break
            question = replace(question, most_hours=plan.hours - smallest_step(program.hours))
        last = Question(Aim.MONEY, most_hours=fewest)
        plans.append(best_plan(problem, last, left, program, ties=Ties.SECOND))
    except (OutOfTime, NoPlan):
        pass
    return Frontier(tuple(plans), False)
