"""A problem taken apart into blocks that have nothing to do with each other.

Without limits on money or hours the best plan of the whole is the best of each block together,
ties included: a block holds all offers of a supplier, so no journey is shared between blocks.
"""

from collections import defaultdict
from dataclasses import replace
from fractions import Fraction

from ..types import Key
from .costs import new_cost
from .types import ZERO, Aim, Plan, Problem, Question


def can_be_split(question: Question) -> bool:
    """Whether nothing binds the blocks together."""
    return question.most_money is None and question.most_hours is None


class _Groups:
    """What belongs together; each group is known by the key it is led by."""

    def __init__(self) -> None:
        self._leader: dict[Key, Key] = {}

    def find(self, key: Key) -> Key:
        """The leader of a key's group."""
        while self._leader.setdefault(key, key) != key:
            key = self._leader[key]
        return key

    def join(self, keys: list[Key]) -> None:
        """Make one group of the groups of all these keys."""
        for key in keys[1:]:
            self._leader[self.find(key)] = self.find(keys[0])


def _join(problem: Problem) -> _Groups:
    groups = _Groups()
    for offer in problem.offers:
        keys: list[Key] = [("offer", offer.key)]
        if offer.supplier is not None:
            keys.append(("supplier", offer.supplier))
        keys += [("part", c) for part in offer.parts for c, _ in part.brings]
        groups.join(keys)
    for recipe in problem.recipes:
        groups.join([("part", recipe.source), *(("part", out.component) for out in recipe.makes)])
    return groups


def split(problem: Problem) -> list[Problem]:
    """The blocks, in the order of what stands first in each."""
    find = _join(problem).find
    blocks: dict[Key, Problem] = defaultdict(lambda: Problem(problem.places, ()))
    for offer in problem.offers:
        root = find(("offer", offer.key))
        blocks[root] = replace(blocks[root], offers=(*blocks[root].offers, offer))
    for recipe in problem.recipes:
        root = find(("part", recipe.source))
        blocks[root] = replace(blocks[root], recipes=(*blocks[root].recipes, recipe))
    for need in problem.needs:
        root = find(("part", need.component))
        blocks[root] = replace(blocks[root], needs=(*blocks[root].needs, need))
    return list(blocks.values())


def join_plans(plans: list[Plan]) -> Plan:
    """The plans of the blocks as one; proved where each of them is."""
    bounds = [plan.bound for plan in plans]
    known = [bound for bound in bounds if bound is not None]
    return Plan(
        money=sum((plan.money for plan in plans), ZERO),
        hours=sum((plan.hours for plan in plans), ZERO),
        objective=sum((plan.objective for plan in plans), ZERO),
        bound=sum(known, Fraction(0)) if len(known) == len(bounds) else None,
        takes={key: n for plan in plans for key, n in plan.takes.items()},
        new={key: n for plan in plans for key, n in plan.new.items()},
        made={key: n for plan in plans for key, n in plan.made.items()},
        over={key: n for plan in plans for key, n in plan.over.items()},
    )


def split_off_new(problem: Problem) -> tuple[Problem, Plan]:
    """The problem without what only new material meets, and the plan that buys that."""
    touched: set[Key] = {c for o in problem.offers for p in o.parts for c, _ in p.brings}
    for recipe in problem.recipes:
        touched |= {recipe.source, *(out.component for out in recipe.makes)}
    apart = [n for n in problem.needs if n.component not in touched and n.new is not None]
    new: dict[Key, int] = {}
    over: dict[Key, Fraction] = {}
    money = ZERO
    for need in apart:
        assert need.new is not None
        short = max(ZERO, need.quantity - need.spare)
        steps = int(-(-short // need.new.covers))
        if not steps:
            continue
        new[need.component] = steps
        money += Fraction(new_cost(need, steps, problem.places))
        more = steps * need.new.covers - need.quantity
        if more > 0:
            over[need.component] = more
    keys = {need.component for need in apart}
    rest = tuple(need for need in problem.needs if need.component not in keys)
    return replace(problem, needs=rest), Plan(money, ZERO, money, money, new=new, over=over)


def with_new(plan: Plan, new_plan: Plan, aim: Aim) -> Plan:
    """A plan with what was set apart."""
    more = ZERO if aim is Aim.HOURS else new_plan.money
    return replace(
        plan,
        money=plan.money + new_plan.money,
        objective=plan.objective + more,
        bound=None if plan.bound is None else plan.bound + more,
        new={**plan.new, **new_plan.new},
        over={**plan.over, **new_plan.over},
    )
