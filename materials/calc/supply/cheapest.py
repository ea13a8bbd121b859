"""The cheapest way to meet needs by getting and making, where no offer is looked at.

What nothing known meets in full is made as far as it goes, and the rest of it is missing: first
as little as can be is missing, and among those plans the one of least money is found.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction

from ..shopping import is_counted, step_of
from ..solver import Row
from ..types import Key
from .blocks import join_plans, split
from .plan import OutOfTime, SecondsLeft, best_plan, find_least, not_above
from .program import total, write_program
from .types import ZERO, Need, New, Plan, Problem, Question

# Ways that hang together: more take seconds to search.
MOST = 150


@dataclass(frozen=True, slots=True)
class Cheapest:
    """``plan`` covers the components of ``touched``: those that some way makes or works up.

    ``missing``: what of a need nothing known meets, in base units.
    """

    plan: Plan
    touched: frozenset[Key] = frozenset()
    missing: dict[Key, Fraction] = field(default_factory=dict)
    is_late: bool = False


def find_cheapest(problem: Problem, left: SecondsLeft) -> Cheapest:
    """The least money for all needs that ways to make have to do with, block by block.

    A block of more than ``MOST`` ways, or one for which time ran out, is left out, and
    ``is_late`` says so. What is missing can be left missing, so there always is a plan.
    """
    plans, touched, is_late = [], set(), False
    missing: dict[Key, Fraction] = {}
    for block in split(problem):
        if not block.recipes:
            continue
        try:
            plan, gaps = _least(block, left)
        except OutOfTime:
            is_late = True
            continue
        touched |= {need.component for need in block.needs}
        missing |= gaps
        # A plan that is not proved the cheapest is still one.
        is_late = is_late or not plan.is_proved
        plans.append(plan)
    return Cheapest(join_plans(plans), frozenset(touched), missing, is_late)


def _least(block: Problem, left: SecondsLeft) -> tuple[Plan, dict[Key, Fraction]]:
    """The plan of one block and what is missing in it. Raises OutOfTime."""
    if len(block.recipes) > MOST:
        raise OutOfTime
    bare = {n.component: n for n in block.needs if n.new is None and n.quantity > n.spare}
    block = replace(block, needs=tuple(_with_gap(need, bare) for need in block.needs))
    program = write_program(block)
    rows: Sequence[Row] = ()
    if bare:
        gaps = total(program.new[key] for key in bare)
        least = find_least(program, gaps, (), left).least
        rows = [not_above(gaps, least)]
    plan = best_plan(block, Question(), left, program, rows)
    steps = {need.component: need.new.covers for need in block.needs if need.new is not None}
    missing = {key: plan.new[key] * steps[key] for key in bare if plan.new.get(key)}
    return replace(plan, new={k: n for k, n in plan.new.items() if k not in bare}), missing


def _with_gap(need: Need, bare: dict[Key, Need]) -> Need:
    """A need that nothing sells, with a gap to leave in it: steps that cost nothing."""
    if need.component not in bare:
        return need
    size = Fraction(1) if is_counted(need.unit) else step_of(need.quantity)
    return replace(need, new=New(size, ZERO, need.unit, size))


@dataclass(frozen=True, slots=True)
class Drawn:
    """Where what a way uses comes from, in base units: on hand, made by another way, got."""

    hand: Fraction
    made: Fraction
    got: Fraction


def draw(problem: Problem, plan: Plan) -> dict[Key, Drawn]:
    """For each way that a plan uses, where its source comes from: first what is on hand.

    Ways that work the same thing up draw on it in their order.
    """
    hand = {need.component: need.spare for need in problem.needs}
    made: dict[Key, Fraction] = {}
    for recipe in problem.recipes:
        steps = plan.made.get(recipe.key, 0)
        for out in recipe.makes:
            made[out.component] = made.get(out.component, ZERO) + out.of(steps)
    drawn = {}
    for recipe in problem.recipes:
        used = recipe.uses * plan.made.get(recipe.key, 0)
        if not used:
            continue
        from_hand = min(used, hand.get(recipe.source, ZERO))
        hand[recipe.source] = hand.get(recipe.source, ZERO) - from_hand
        from_made = min(used - from_hand, made.get(recipe.source, ZERO))
        made[recipe.source] = made.get(recipe.source, ZERO) - from_made
        drawn[recipe.key] = Drawn(from_hand, from_made, used - from_hand - from_made)
    return drawn
