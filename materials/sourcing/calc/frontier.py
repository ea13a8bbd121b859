"""Money against hours: the plans of which none is beaten in both."""

from dataclasses import dataclass, replace

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


@dataclass(frozen=True, slots=True)
class Frontier:
    """Plans of which none has both less money and fewer hours, from the least money on.

    ``is_whole``: no plan of the kind is missing between the first and the last.
    """

    plans: tuple[Plan, ...]
    is_whole: bool


def find_frontier(problem: Problem, left: SecondsLeft, most: int = 24) -> Frontier:
    """Money against hours, step by step: each next plan is the cheapest of fewer hours.

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
