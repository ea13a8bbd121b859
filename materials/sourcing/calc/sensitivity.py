"""Why each part of each offer is in the plan or out of it, and the price at which it turns.

Forced in or out, the best plan is sought again. What a plan that holds the part costs grows with
the part's price, and only by the landed cost of its offer; so the price up to which that plan is
no dearer than the best one without the part is found by costing alone. Whether another plan with
the part bears one minor unit more is then searched for: where none does, that price is the one at
which the answer turns; where one does, it takes the first one's place.
An offer that is one whole thing needs no search: its price moves every plan with it alike.
"""

import math
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from ...calc.costing import DISCOUNT
from ...calc.types import Key
from .costs import is_paid_for, landed_cost
from .plan import (
    Left,
    NoPlan,
    OutOfTime,
    Ties,
    aim_of,
    best_plan,
    exactly,
    find_least,
    limits_of,
    not_above,
)
from .program import Sum, write_program
from .types import Aim, Offer, Part, Plan, Problem, Question

# More plans than this do not follow each other on the way to a price.
TRIES = 60
# Minor units beyond which no price is looked for.
ENDLESS = 10**12


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
    part is priced by) a plan with it comes to no more than one without, one minor unit above it
    to more; where both come to the same, ties decide. NEVER: not even free; ALWAYS: nothing else
    meets the need; UNKNOWN: hours were asked for, or the time was used up.
    """

    part: Key
    is_in: bool
    other: Plan | None
    more: Fraction | None
    turn: Turn = Turn.UNKNOWN
    price: Fraction | None = None


def list_sides(problem: Problem, question: Question, plan: Plan, left: Left) -> tuple[Side, ...]:
    """A side for each part in order; those there was no time for are left off the end."""
    return tuple(_sides(problem, question, plan, left))


def _sides(problem: Problem, question: Question, plan: Plan, left: Left) -> Iterator[Side]:
    with suppress(OutOfTime):
        for offer in problem.offers:
            for part in offer.parts:
                yield _side(problem, question, plan, offer, part, left)


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
    start = Held(0, held.worth * unit, held.money * unit, held.takes)
    try:
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


@dataclass(frozen=True, slots=True)
class Held:
    """A plan that holds a part, at a price ``dearer`` by so many minor units than it is.

    ``worth`` and ``money`` in minor units; ``takes``: the steps of each part.
    """

    dearer: int
    worth: Fraction
    money: Fraction
    takes: Mapping[Key, int]


def find_turn(
    problem: Problem,
    question: Question,
    which: tuple[Offer, Part],
    limit: Fraction,
    held: Held,
    left: Left,
) -> int | None:
    """The most minor units on the price of a part at which taking it costs no more.

    ``limit``: what the best plan without it comes to, in minor units; ``held``: the best with
    it at its price now. None: not even free. Raises OutOfTime.
    """
    offer, part = which
    unit: int = 10**problem.places
    lowest: int = -min(math.floor(price * unit) for _, price in part.tiers)
    low: int | None = None
    for _ in range(TRIES):
        room = limit - held.worth
        if question.most_money is not None:
            room = min(room, Fraction(question.most_money) * unit - held.money)
        reach = _reach(offer, part, held, room, lowest, problem.places)
        if reach is not None:
            low = reach if low is None else max(low, reach)
        if is_alone(offer, question) or (reach is None and held.dearer == lowest):
            return low
        found = _within(problem, question, part, lowest if low is None else low + 1, limit, left)
        if found is None:
            return low
        held = found
    raise OutOfTime


def _reach(
    offer: Offer, part: Part, held: Held, room: Fraction, lowest: int, places: int
) -> int | None:
    """The most dear a part may be for one plan to grow by ``room`` at most; None: never."""
    unit: int = 10**places

    def priced(dearer: int) -> Offer:
        shift = Fraction(dearer, unit)
        tiers = tuple((start, price + shift) for start, price in part.tiers)
        parts = tuple(replace(part, tiers=tiers) if p.key == part.key else p for p in offer.parts)
        return replace(offer, parts=parts)

    def landed(dearer: int) -> Fraction:
        return Fraction(landed_cost(priced(dearer), held.takes, places) * unit)

    most = landed(held.dearer) + room
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
    return low if is_paid_for(priced(low), held.takes, places) else None


def _within(
    problem: Problem, question: Question, part: Part, dearer: int, limit: Fraction, left: Left
) -> Held | None:
    """Any plan with the part, dearer by so much, that comes to ``limit`` at most."""
    program = write_program(problem, {part.key: dearer})
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
    return Held(dearer, aim.of(values), program.money.of(values), takes)
