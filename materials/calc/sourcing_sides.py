"""Why each part of each offer is in the plan or out of it, and the price at which it turns.

Forced in or out, the best plan is sought again. What a forced-in plan costs grows with the price
of the part: by the steps taken of it, times what the offer's percentages make of one more minor
unit. So from a plan that holds the part, the price at which it costs as much as the best plan
without it lies one division away; with several steps the plan may change on the way there, and
the division is repeated. The answer is checked by searching at the price and one minor unit above.
An offer that is one whole thing needs no search: its landed cost is all that its price moves.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from .costing import DISCOUNT
from .solver import Row
from .sourcing import (
    Left,
    NoPlan,
    OutOfTime,
    Ties,
    aim_of,
    best_plan,
    exactly,
    find_least,
    limits_of,
)
from .sourcing_costs import landed_cost
from .sourcing_program import write_program
from .sourcing_types import Aim, Offer, Part, Plan, Problem, Question
from .types import Key, PercentOn

# No price needs more searches than halving a range of money would.
TRIES = 60


class Turn(StrEnum):
    """What can be said of the price at which a part changes sides."""

    AT = "at"
    NEVER = "never"
    ALWAYS = "always"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class Side:
    """A part in the plan or out of it.

    ``other``: the best plan on the other side, None where there is none. ``more``: what that
    costs more, in what the plan was asked to keep low. ``turn`` AT: up to ``price`` (of what the
    part is priced by) it belongs in, one minor unit above it out; NEVER: not even free; ALWAYS:
    nothing else meets the need; UNKNOWN: hours were asked for, or the time was used up.
    """

    part: Key
    is_in: bool
    other: Plan | None
    more: Fraction | None
    turn: Turn = Turn.UNKNOWN
    price: Fraction | None = None


def list_sides(problem: Problem, question: Question, plan: Plan, left: Left) -> tuple[Side, ...]:
    """A side for each part in order; those there was no time for are left off the end."""
    sides = []
    try:
        for offer in problem.offers:
            for part in offer.parts:
                sides.append(_side(problem, question, plan, offer, part, left))
    except OutOfTime:
        pass
    return tuple(sides)


def _side(
    problem: Problem, question: Question, plan: Plan, offer: Offer, part: Part, left: Left
) -> Side:
    is_in = part.key in plan.takes
    program = write_program(problem)
    forced = [exactly(program.taken[part.key], 0 if is_in else 1)]
    try:
        other = best_plan(problem, question, left, program, forced, Ties.NONE)
    except NoPlan:
        return Side(part.key, is_in, None, None, Turn.ALWAYS if is_in else Turn.NEVER)
    more = other.worth - plan.worth
    if question.aim is Aim.HOURS or not (plan.is_proved and other.is_proved):
        return Side(part.key, is_in, other, more)
    held, without = (plan, other.worth) if is_in else (other, plan.worth)
    unit = 10**problem.places
    start = held.worth * unit, held.takes[part.key]
    try:
        if is_alone(offer, question):
            shift = turn_alone(offer, part, (without - held.worth) * unit, problem.places)
        else:
            shift = find_turn(problem, question, (offer, part), without * unit, start, left)
    except OutOfTime:
        return Side(part.key, is_in, other, more)
    if shift is None:
        return Side(part.key, is_in, other, more, Turn.NEVER)
    price = part.tiers[0][1] + Fraction(shift, 10**problem.places)
    return Side(part.key, is_in, other, more, Turn.AT, price)


def is_alone(offer: Offer, question: Question) -> bool:
    """Whether an offer is one whole thing, so that its price moves every plan with it alike."""
    is_less = any(
        charge.kind == DISCOUNT or (charge.percent or 0) < 0 or (charge.amount or 0) < 0
        for charge in offer.charges
    )
    is_one = len(offer.parts) == 1 and offer.parts[0].most == 1
    return is_one and not is_less and question.most_money is None


def turn_alone(offer: Offer, part: Part, room: Fraction, places: int) -> int | None:
    """``find_turn`` of what is taken alone: by how much its landed cost may still grow.

    ``room``: minor units that the best plan with it costs less than the one without.
    """
    unit: int = 10**places

    def landed(dearer: int) -> Fraction:
        ((start, price),) = part.tiers
        priced = replace(part, tiers=((start, price + Fraction(dearer, unit)),))
        made = replace(offer, parts=(priced,))
        return Fraction(landed_cost(made, {part.key: 1}, places) * unit)

    now = landed(0)
    low: int = -math.floor(part.tiers[0][1] * unit)
    if landed(low) - now > room:
        return None
    high = max(low + 1, math.floor(room) + 1)
    while landed(high) - now <= room:
        high = 2 * high - low
    while high - low > 1:
        middle = (low + high) // 2
        if landed(middle) - now <= room:
            low = middle
        else:
            high = middle
    return low


def find_turn(
    problem: Problem,
    question: Question,
    which: tuple[Offer, Part],
    limit: Fraction,
    start: tuple[Fraction, int],
    left: Left,
) -> int | None:
    """The most minor units on the price of a part at which taking it costs no more.

    ``limit``: what the best plan without it comes to, ``start``: what the best with it comes to
    at its price now, and the steps it takes; both in minor units. None: not even free.
    Raises OutOfTime.
    """
    (offer, part), unit = which, 10**problem.places
    lowest = -min(math.floor(price * unit) for _, price in part.tiers)
    slope = slope_of(offer) * part.units
    low: int | None = None
    high: int | None = None
    at = 0
    for _ in range(TRIES):
        worth, steps = _forced_in(problem, question, part, at, left) if at else start
        room = None if worth is None else (limit - worth) / (slope * steps) if slope else None
        if worth is not None and worth <= limit:
            low = at
            wanted = at + max(1, math.floor(room or 0))
        else:
            high = at
            if at <= lowest:
                return None
            wanted = at + min(-1, math.floor(room)) if room is not None else lowest
        if low is not None and high is not None:
            if high - low == 1:
                return low
            wanted = min(max(wanted, low + 1), high - 1)
        at = max(wanted, lowest)
    raise OutOfTime


def _forced_in(
    problem: Problem, question: Question, part: Part, dearer: int, left: Left
) -> tuple[Fraction | None, int]:
    """What the best plan with a part comes to, in minor units, and how many steps it takes."""
    program = write_program(problem, {part.key: dearer})
    rows: Sequence[Row] = [
        exactly(program.taken[part.key], 1),
        *limits_of(program, question),
    ]
    try:
        found = find_least(program, aim_of(program, question)[0], rows, left)
    except NoPlan:
        return None, 1
    if found.bound is None or found.bound < found.least:
        raise OutOfTime
    return found.least, max(1, int(program.steps[part.key].of(found.values)))


def slope_of(offer: Offer) -> Fraction:
    """What one more unit of price adds to the landed cost, before rounding."""
    so_far = Fraction(1)
    for charge in offer.charges:
        if charge.percent is None:
            continue
        share = Fraction(charge.percent) / 100
        if charge.kind == DISCOUNT:
            share = -abs(share)
        on_all = charge.percent_on is PercentOn.PRICE_AND_CHARGES
        so_far += share * (so_far if on_all else 1)
    return so_far
