"""What is made of what still lies there or has to be got, so that needs are met for the least."""

import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from fractions import Fraction

from ..calc.money import minor_units
from ..calc.supply.blocks import split_off_new
from ..calc.supply.cheapest import Cheapest, Drawn, draw, find_cheapest
from ..calc.supply.costs import extra_cost
from ..calc.supply.types import TRACE, ZERO, Need, Problem
from ..calc.types import Key
from ..models import Build, Component
from .ways import KnownWay, KnownWays

# A plan without offers is found in far less; a page is not held up longer for one.
SECONDS = 3


@dataclass(frozen=True)
class MadeOf:
    """One thing made: ``hand`` of the ``quantity`` comes of what is on hand.

    ``over``: what of it is more than the plan needs, since sources are worked up whole.
    """

    part: Component
    quantity: Fraction
    hand: Fraction
    over: Fraction


@dataclass(frozen=True)
class Making:
    """A way as the cheapest plan uses it. ``extra``: of all of it, as a conversion would book it.

    ``hours`` None: not known.
    """

    known: KnownWay
    used: Fraction
    drawn: Drawn
    made: tuple[MadeOf, ...]
    extra: Decimal
    hours: Fraction | None

    @property
    def is_all_on_hand(self) -> bool:
        """Whether nothing has to be got or made for it first."""
        return not self.drawn.got and not self.drawn.made


@dataclass(frozen=True)
class MakingPlan:
    """The cheapest plan. ``got``: steps to get of each component, as its need says.

    ``missing``: what nothing known meets. ``is_late``: it is not all
    there is to find, for time ran out.
    """

    makings: tuple[Making, ...] = ()
    touched: frozenset[Key] = frozenset()
    got: Mapping[Key, int] = field(default_factory=dict)
    missing: Mapping[Key, Fraction] = field(default_factory=dict)
    is_late: bool = False

    @property
    def extra(self) -> Decimal:
        """Extra cost of all that is made."""
        return sum((making.extra for making in self.makings), Decimal(0))

    @property
    def is_used(self) -> bool:
        """Whether anything is made."""
        return bool(self.makings)


def plan_making(build: Build, ways: KnownWays, needs: Mapping[Key, Need]) -> MakingPlan:
    """The cheapest way to meet needs where something can be made; none where nothing can.

    ``needs``: of every component that is needed or may serve, with the cheapest place it is had.
    """
    wanted = {key for key, need in needs.items() if need.quantity > 0}
    useful = ways.leading_to(wanted)
    if not useful:
        return MakingPlan()
    keys = {known.way.source for known in useful}
    keys |= {out.component for known in useful for out in known.way.makes}
    problem = Problem(
        minor_units(build.currency),
        tuple(need for key, need in needs.items() if key in keys),
        recipes=tuple(known.as_recipe() for known in useful),
    )
    return _told(problem, _find(problem), useful)


def _find(problem: Problem) -> Cheapest:
    """The cheapest plan that is found in time."""
    end = time.monotonic_ns() + SECONDS * 10**9
    return find_cheapest(problem, lambda: Fraction(end - time.monotonic_ns(), 10**9))


@dataclass(frozen=True)
class CostOfNeeds:
    """``money`` of all needs, as far as they can be met; ``missing`` what cannot, by component.

    ``hours``: of what is made for it, where they are known.
    """

    money: Fraction
    hours: Fraction
    missing: Mapping[Key, Fraction]


def cost_of_needs(problem: Problem) -> CostOfNeeds | None:
    """The least that all needs cost; None where it was not found in time."""
    found = _find(problem)
    if found.is_late:
        return None
    rest = replace(
        problem,
        needs=tuple(need for need in problem.needs if need.component not in found.touched),
        recipes=(),
    )
    bare, new_plan = split_off_new(rest)
    missing = dict(found.missing) | {
        need.component: need.quantity for need in bare.needs if need.quantity > 0
    }
    return CostOfNeeds(found.plan.money + new_plan.money, found.plan.hours, missing)


def _told(problem: Problem, found: Cheapest, useful: tuple[KnownWay, ...]) -> MakingPlan:
    drawn = draw(problem, found.plan)
    over = {key: much for key, much in found.plan.over.items() if much >= TRACE}
    makings = []
    for known, recipe in zip(useful, problem.recipes, strict=True):
        steps = found.plan.made.get(recipe.key, 0)
        if not steps:
            continue
        used, of_hand = recipe.uses * steps, drawn[recipe.key].hand
        made = tuple(
            MadeOf(
                part,
                out.of(steps),
                out.of(of_hand / recipe.uses),
                # Where several ways make it, the first is the one to stop early.
                min(over.pop(part.pk, ZERO), out.of(steps)),
            )
            for out, part in zip(recipe.makes, known.makes, strict=True)
        )
        hours = None if known.way.hours is None else recipe.hours * steps
        extra = extra_cost(recipe, steps, problem.places)
        makings.append(Making(known, used, drawn[recipe.key], made, extra, hours))
    worked = {making.known.way.source for making in makings}
    worked |= {part.part.pk for making in makings for part in making.made}
    return MakingPlan(
        makings=tuple(makings),
        touched=frozenset(worked),
        got=found.plan.new,
        missing=found.missing,
        is_late=found.is_late,
    )


def with_more(need: Need, brought: Fraction) -> Need:
    """A need beside so much more of the component: what is beyond it may be worked up."""
    if need.quantity >= brought:
        return replace(need, quantity=need.quantity - brought)
    return replace(need, quantity=ZERO, spare=need.spare + brought - need.quantity)
