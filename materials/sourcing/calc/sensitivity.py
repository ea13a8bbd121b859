"""Why each part of each offer is in the plan or out of it, and its break-even price.

Forced in or out, the best plan is sought again. What a plan that holds the part costs grows with
the part's price, and only by the landed cost of its offer; so the price up to which that plan is no
more expensive than the best one without the part is found by costing alone. Whether another plan
with the part bears one minor unit more is then searched for: where none does, that price is the one
at which the answer turns; where one does, it takes the first one's place. An offer that is one
whole thing needs no search: its price shifts every plan with it alike.
"""

import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from ...calc.costing import DISCOUNT
from ...calc.supply.costs import is_paid_for, landed_cost
from ...calc.supply.plan import (
    NoPlan,
    OutOfTime,
    SecondsLeft,
    Ties,
    aim_of,
    best_plan,
    exactly,
    find_least,
    limits_of,
    not_above,
)
from ...calc.supply.program import Sum, write_program
from ...calc.supply.types import Aim, Offer, Part, Plan, Problem, Question
from ...calc.types import Key

# More plans than this do not follow each other on the way to a price.
TRIES = 60
# Minor units beyond which no price is looked for.
ENDLESS = 10**12


class BreakEven(StrEnum):
    """What can be said of the price at which a part goes in or out."""

    AT = "at"
    NEVER = "never"
    ALWAYS = "always"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Sensitivity:
    """A part in the plan or out of it.

    ``other``: the best plan on the other side, None where there is none. ``more``: what that costs
    more, in what the plan was asked to keep low. ``break_even`` AT: up to ``price`` (of what the
    part is priced by) a plan with it comes to no more than one without, one minor unit above it to
    more; where both come to the same, ties decide. NEVER: not even free; ALWAYS: nothing else meets
    the need; UNKNOWN: hours were asked for, or the time was used up.
    """

    part: Key
    is_in: bool
    other: Plan | None
    more: Fraction | None
    break_even: BreakEven = BreakEven.UNKNOWN
    price: Fraction | None = None


def list_sensitivities(
    problem: Problem, question: Question, plan: Plan, left: SecondsLeft
) -> tuple[Sensitivity, ...]:
    """A sensitivity for each part in order; those there was no time for are left off the end."""
    return tuple(_sides(problem, question, plan, left))


def _sides(
    problem: Problem, question: Question, plan: Plan, left: SecondsLeft
) -> Iterator[Sensitivity]:
    with suppress(OutOfTime):
        for offer in problem.offers:
            for part in offer.parts:
                yield _sensitivity(problem, question, plan, offer, part, left)


def _sensitivity(
    problem: Problem, question: Question, plan: Plan, offer: Offer, part: Part, left: SecondsLeft
) -> Sensitivity:
    is_in = part.key in plan.takes
    program = write_program(problem)
    forced = [exactly(program.taken[part.key], 0 if is_in else 1)]
    try:
        other = best_plan(problem, question, left, program, forced, Ties.NONE)
    except NoPlan:
        return Sensitivity(
            part.key, is_in, None, None, BreakEven.ALWAYS if is_in else BreakEven.NEVER
        )
    more = other.objective - plan.objective
    if question.aim is Aim.HOURS or not (plan.is_proved and other.is_proved):
        return Sensitivity(part.key, is_in, other, more)
    plan_held, without = (plan, other.objective) if is_in else (other, plan.objective)
    unit = 10**problem.places
    start = PricedPlan(0, plan_held.objective * unit, plan_held.money * unit, plan_held.takes)
    try:
        shift = find_break_even(problem, question, (offer, part), without * unit, start, left)
    except OutOfTime:
        return Sensitivity(part.key, is_in, other, more)
    if shift is None:
        return Sensitivity(part.key, is_in, other, more, BreakEven.NEVER)
    price = part.tiers[0][1] + Fraction(shift, 10**problem.places)
    return Sensitivity(part.key, is_in, other, more, BreakEven.AT, price)


def is_single_item(offer: Offer, question: Question) -> bool:
    """Whether an offer is one whole thing, so that its price shifts every plan with it alike."""
    is_less = any(
        charge.kind == DISCOUNT or (charge.percent or 0) < 0 or (charge.amount or 0) < 0
        for charge in offer.charges
    )
    is_one = len(offer.parts) == 1 and offer.parts[0].most == 1
    return is_one and not is_less and question.most_money is None


@dataclass(frozen=True, slots=True)
class PricedPlan:
    """A plan that holds a part, with ``price_shift`` minor units added to its price.

    ``objective`` and ``money`` in minor units; ``takes``: the steps of each part.
    """

    price_shift: int
    objective: Fraction
    money: Fraction
    takes: Mapping[Key, int]


def find_break_even(
    problem: Problem,
    question: Question,
    which: tuple[Offer, Part],
    limit: Fraction,
    plan_held: PricedPlan,
    left: SecondsLeft,
) -> int | None:
    """The most minor units on the price of a part at which taking it costs no more.

    ``limit``: what the best plan without it comes to, in minor units; ``plan_held``: the best with
    it at its price now. None: not even free. Raises OutOfTime.
    """
    offer, part = which
    unit: int = 10**problem.places
    lowest: int = -min(math.floor(price * unit) for _, price in part.tiers)
    low: int | None = None
    for _ in range(TRIES):
        room = limit - plan_held.objective
        if question.most_money is not None:
            room = min(room, Fraction(question.most_money) * unit - plan_held.money)
        reach = _highest_shift(offer, part, plan_held, room, lowest, problem.places)
        if reach is not None:
            low = reach if low is None else max(low, reach)
        if is_single_item(offer, question) or (reach is None and plan_held.price_shift == lowest):
            return low
        found = _plan_within(
            problem, question, part, lowest if low is None else low + 1, limit, left
        )
        if found is None:
            return low
        plan_held = found
    raise OutOfTime


def _highest_shift(
    offer: Offer, part: Part, plan_held: PricedPlan, room: Fraction, lowest: int, places: int
) -> int | None:
    """The most a part's price may rise for one plan to grow by ``room``; None: never."""
    unit: int = 10**places

    def priced(price_shift: int) -> Offer:
        shift = Fraction(price_shift, unit)
        tiers = tuple((start, price + shift) for start, price in part.tiers)
        parts = tuple(replace(part, tiers=tiers) if p.key == part.key else p for p in offer.parts)
        return replace(offer, parts=parts)

    def landed(price_shift: int) -> Fraction:
        return Fraction(landed_cost(priced(price_shift), plan_held.takes, places) * unit)

    most = landed(plan_held.price_shift) + room
    if landed(lowest) > most:
        return None
    low, step = lowest, 1
    # A discount of the whole price would never let it end.
    while step < ENDLESS and landed(low + step) <= most:
        low, step = low + step, 2 * step
    high = low + step
    while high - low > 1:
        middle = (low + high) // 2
        if landed(middle) <= most:
            low = middle
        else:
            high = middle
    # So cheap that what is taken off its price would be more than all of it: no such plan.
    return low if is_paid_for(priced(low), plan_held.takes, places) else None


def _plan_within(
    problem: Problem,
    question: Question,
    part: Part,
    price_shift: int,
    limit: Fraction,
    left: SecondsLeft,
) -> PricedPlan | None:
    """Any plan with the part, its price raised by so much, that comes to ``limit`` at most."""
    program = write_program(problem, {part.key: price_shift})
    aim = aim_of(program, question)[0]
    rows = [
        exactly(program.taken[part.key], 1),
        *limits_of(program, question),
        not_above(aim, limit),
    ]
    try:
        values = find_least(program, Sum(), rows, left).values
    except NoPlan:
        return None
    takes = {key: int(steps.of(values)) for key, steps in program.steps.items()}
    return PricedPlan(price_shift, aim.of(values), program.money.of(values), takes)
