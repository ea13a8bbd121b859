"""The sourcing plan: which offers to take, what to buy new and what to make, for the least.

Ties are broken in order: the plan of least money is the one of fewest hours among those of that
money (and the other way round where hours are asked for), then of fewest trips, then the one
that takes fewest things, then the one that keeps to the offers that stand first.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import Enum, auto
from fractions import Fraction

from ..solver import Row, search
from ..types import Key
from .program import Program, Sum, row_of, total, write_program
from .types import ZERO, Aim, Need, Plan, Problem, Question

# Seconds left to search in; the clock is the caller's.
SecondsLeft = Callable[[], Fraction]
# Offers told apart by one search when ties are broken: their weights must stay exact.
AT_ONCE = 16


# Weights up to this are exact in a search, with room for what they are multiplied by.
LARGE = 2 * 10**7
# Up to this many things, trips and things are counted in one search.
SMALL = 10**4


class Ties(Enum):
    """How far ties are broken: not at all, by the second aim only, or wholly."""

    NONE = auto()
    SECOND = auto()
    ALL = auto()


class OutOfTime(Exception):
    """The time was used up before anything was found."""


class NoPlan(Exception):
    """No plan keeps the limits."""


@dataclass(frozen=True, slots=True)
class Found:
    """The least of something: ``least`` over ``values``, not below ``bound``."""

    least: Fraction
    bound: Fraction | None
    values: tuple[int, ...]


def is_proved(found: Found) -> bool:
    """Whether there is nothing less."""
    return found.bound is not None and found.bound >= found.least


def find_least(program: Program, target: Sum, rows: Sequence[Row], left: SecondsLeft) -> Found:
    """Search once. Raises NoPlan, or OutOfTime."""
    seconds = left()
    if seconds <= 0:
        raise OutOfTime
    costs = [target.parts.get(place, ZERO) for place in range(len(program.upper))]
    result = search(costs, [*program.rows, *rows], program.upper, seconds)
    if result.answer is None:
        raise NoPlan if result.is_impossible else OutOfTime
    bound = result.answer.bound
    return Found(
        result.answer.cost + target.constant,
        None if bound is None else bound + target.constant,
        result.answer.values,
    )


def aim_of(program: Program, question: Question) -> tuple[Sum, Sum]:
    """What is to be least, and what is to be least among equals."""
    if question.aim is Aim.HOURS:
        return program.hours, program.money
    if question.aim is Aim.MONEY:
        return program.money, program.hours
    rate = Fraction(question.rate) * 10**program.places
    return program.money + program.hours.times(rate), program.hours


def limits_of(program: Program, question: Question) -> list[Row]:
    """The rows of the limits stated."""
    rows = []
    if question.most_money is not None:
        most = Fraction(question.most_money) * 10**program.places
        rows.append(not_above(program.money, most))
    if question.most_hours is not None:
        rows.append(not_above(program.hours, Fraction(question.most_hours)))
    return rows


def not_above(target: Sum, most: Fraction) -> Row:
    """``target`` ≤ ``most``."""
    return row_of(target.times(Fraction(-1)), -most)


def exactly(target: Sum, value: int) -> Row:
    """``target`` = ``value``, for a sum in whole numbers."""
    parts = {place: int(factor) for place, factor in target.parts.items()}
    rest = value - int(target.constant)
    return Row(parts, rest, rest)


def drop_unmet(problem: Problem, left: SecondsLeft) -> tuple[Problem, tuple[Need, ...]]:
    """The problem without the needs that nothing known can meet, and those needs.

    Only what has no new price can be one. As many as can be are kept, the earlier ones first.
    Raises OutOfTime.
    """
    bare = [need for need in problem.needs if need.new is None and need.quantity > need.spare]
    if not bare:
        return problem, ()
    kept = {need.component for need in bare}
    relaxed = tuple(
        replace(need, quantity=need.spare) if need.component in kept else need
        for need in problem.needs
    )
    program = write_program(replace(problem, needs=relaxed), wanted=problem)
    missed = []
    for need in bare:
        miss, short = program.variable(1), need.quantity - need.spare
        missed.append(miss)
        program.at_least(program.supply[need.component] + miss.times(short), Sum(constant=short))
    rows: list[Row] = []
    for start in range(0, len(missed), AT_ONCE):
        some = missed[start : start + AT_ONCE]
        many = total(missed) if start == 0 else Sum()
        weighed = total(m.times(Fraction(2 ** (len(some) - i))) for i, m in enumerate(some))
        if many.parts:
            rows.append(not_above(many, find_least(program, many, rows, left).least))
        found = find_least(program, weighed, rows, left)
        rows += [exactly(m, int(m.of(found.values))) for m in some]
    unmet = tuple(n for n, m in zip(bare, missed, strict=True) if m.of(found.values))
    gone = {need.component for need in unmet}
    needs = tuple(
        replace(need, quantity=ZERO) if need.component in gone else need for need in problem.needs
    )
    return replace(problem, needs=needs), unmet


def best_plan(
    problem: Problem,
    question: Question,
    left: SecondsLeft,
    program: Program | None = None,
    rows: Sequence[Row] = (),
    ties: Ties = Ties.ALL,
) -> Plan:
    """The plan that answers a question; the same for the same input while time is left.

    Raises NoPlan when no plan keeps the limits, OutOfTime when none was found in time.
    """
    program = program or write_program(problem)
    rows = [*rows, *limits_of(program, question)]
    aims = aim_of(program, question)
    both = None if ties is Ties.NONE else one_after_another(program, aims)
    found = None if both is None else find_least(program, both, rows, left)
    is_second_least = found is not None and is_proved(found)
    if found is None or not is_second_least:
        found = find_least(program, aims[0], rows, left)
    else:
        objective = aims[0].of(found.values)
        found = Found(objective, objective, found.values)
    values = found.values
    if is_proved(found):
        values = _break_ties(program, aims, found, rows, left, ties, is_second_least)
    return read_plan(problem, program, question, Found(found.least, found.bound, values))


def _break_ties(
    program: Program,
    aims: tuple[Sum, Sum],
    found: Found,
    rows: list[Row],
    left: SecondsLeft,
    ties: Ties,
    is_second_least: bool,
) -> tuple[int, ...]:
    """Among plans as good as the one found, the one the rules of ties choose."""
    values = found.values
    if ties is Ties.NONE:
        return values
    rows = [*rows, not_above(aims[0], found.least)]
    if is_second_least:
        rows.append(not_above(aims[1], aims[1].of(values)))
    ranks = () if is_second_least else (aims[1],)
    try:
        for target in (*ranks, *(_fewest(program) if ties is Ties.ALL else ())):
            if target.parts:
                least = find_least(program, target, rows, left)
                values = least.values
                rows.append(not_above(target, least.least))
        parts = list(program.taken.values()) if ties is Ties.ALL else []
        for start in range(0, len(parts), AT_ONCE):
            some = parts[start : start + AT_ONCE]
            weights = [Fraction(-(2 ** (len(some) - i))) for i in range(len(some))]
            early = total(p.times(w) for p, w in zip(some, weights, strict=True))
            values = find_least(program, early, rows, left).values
            rows += [exactly(part, int(part.of(values))) for part in some]
    except OutOfTime:
        pass
    return values


def one_after_another(program: Program, aims: tuple[Sum, Sum]) -> Sum | None:
    """One sum that puts the first aim before the second.

    None where its numbers would be too large to be told apart by who searches.
    """
    first, second = aims
    reach = ZERO
    for place, factor in second.parts.items():
        top = program.upper[place]
        if top is None:
            return None
        reach += abs(factor) * top
    step, fine = smallest_step(first), smallest_step(second)
    # The second aim in whole ticks is always less than one step of the first.
    weight = (math.floor(reach / fine) + 1) / step
    most = max((abs(factor) for factor in first.parts.values()), default=ZERO) * weight
    if most > LARGE:
        return None
    rest = Sum(second.times(1 / fine).parts)
    return first.times(weight) + rest


def _fewest(program: Program) -> tuple[Sum, ...]:
    """Trips, and after them things: one sum where the numbers stay small enough."""
    things = total([*program.steps.values(), *program.new.values(), *program.made.values()])
    most = [program.upper[place] for place in things.parts]
    reach = sum(top for top in most if top is not None)
    if None in most or reach > SMALL:
        return program.trips, things
    return (program.trips.times(Fraction(reach + 1)) + things,)


def smallest_step(target: Sum) -> Fraction:
    """An amount that two different values of a sum are at least apart."""
    size = math.lcm(*(factor.denominator for factor in target.parts.values()))
    step = math.gcd(*(int(factor * size) for factor in target.parts.values()))
    return Fraction(step or 1, size)


def read_plan(problem: Problem, program: Program, question: Question, found: Found) -> Plan:
    """The plan that a program's values stand for."""
    unit = Fraction(1) if question.aim is Aim.HOURS else Fraction(1, 10**program.places)

    def counted(sums: dict[Key, Sum]) -> dict[Key, int]:
        counts = {key: int(one.of(found.values)) for key, one in sums.items()}
        return {key: count for key, count in counts.items() if count}

    made = counted(program.made)
    supply = {key: one.of(found.values) for key, one in program.supply.items()}
    return Plan(
        money=program.money.of(found.values) / 10**program.places,
        hours=program.hours.of(found.values),
        objective=found.least * unit,
        bound=None if found.bound is None else found.bound * unit,
        takes=counted(program.steps),
        new=counted(program.new),
        made=made,
        over=problem.more_than_needed(supply, made),
    )
