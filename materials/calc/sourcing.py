"""The sourcing plan: which offers to take, what to buy new and what to make, for the least.

Ties are settled in order: the plan of least money is the one of fewest hours among those of that
money (and the other way round where hours are asked for), then of fewest trips, then the one
that takes fewest things, then the one that keeps to the offers that stand first.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from .solver import Row, search
from .sourcing_program import Program, Sum, row_of, total, write_program
from .sourcing_types import ZERO, Aim, Need, Part, Plan, Problem, Question
from .types import Key

# Seconds left to search in; the clock is the caller's.
Left = Callable[[], Fraction]
# Offers told apart by one search when ties are settled: their weights must stay exact.
AT_ONCE = 16


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


def find_least(program: Program, what: Sum, rows: Sequence[Row], left: Left) -> Found:
    """Search once. Raises NoPlan, or OutOfTime."""
    seconds = left()
    if seconds <= 0:
        raise OutOfTime
    costs = [what.parts.get(place, ZERO) for place in range(len(program.upper))]
    told = search(costs, [*program.rows, *rows], program.upper, seconds)
    if told.answer is None:
        raise NoPlan if told.is_impossible else OutOfTime
    bound = told.answer.bound
    return Found(
        told.answer.cost + what.constant,
        None if bound is None else bound + what.constant,
        told.answer.values,
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


def not_above(what: Sum, most: Fraction) -> Row:
    """``what`` ≤ ``most``."""
    return row_of(what.times(Fraction(-1)), -most)


def exactly(what: Sum, value: int) -> Row:
    """``what`` = ``value``, for a sum in whole numbers."""
    parts = {place: int(factor) for place, factor in what.parts.items()}
    rest = value - int(what.constant)
    return Row(parts, rest, rest)


def drop_unmet(problem: Problem, left: Left) -> tuple[Problem, tuple[Need, ...]]:
    """The problem without the needs that nothing known can meet, and those needs.

    Only what has no new price can be one. As many as can be are kept, the earlier ones first.
    Raises OutOfTime.
    """
    bare = [need for need in problem.needs if need.new is None and need.quantity > need.spare]
    if not bare:
        return problem, ()
    kept = {need.component: need for need in bare}
    eased = tuple(
        replace(need, quantity=min(need.quantity, need.spare)) if need.component in kept else need
        for need in problem.needs
    )
    program = write_program(replace(problem, needs=eased))
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
    left: Left,
    program: Program | None = None,
    rows: Sequence[Row] = (),
) -> Plan:
    """The plan that answers a question; the same for the same input while time is left.

    Raises NoPlan when no plan keeps the limits, OutOfTime when none was found in time.
    """
    program = program or write_program(problem)
    rows = [*rows, *limits_of(program, question)]
    first, second = aim_of(program, question)
    found = find_least(program, first, rows, left)
    values = found.values
    if found.bound is not None and found.bound >= found.least:
        values = _settle(program, first, second, found, rows, left)
    return read_plan(problem, program, question, Found(found.least, found.bound, values))


def _settle(
    program: Program, first: Sum, second: Sum, found: Found, rows: list[Row], left: Left
) -> tuple[int, ...]:
    """Among plans as good as the one found, the one the rules of ties choose."""
    things = total([*program.steps.values(), *program.new.values(), *program.made.values()])
    values = found.values
    rows = [*rows, not_above(first, found.least)]
    try:
        for what in (second, program.trips, things):
            if what.parts:
                least = find_least(program, what, rows, left)
                values = least.values
                rows.append(not_above(what, least.least))
        parts = list(program.taken.values())
        for start in range(0, len(parts), AT_ONCE):
            some = parts[start : start + AT_ONCE]
            weights = [Fraction(-(2 ** (len(some) - i))) for i in range(len(some))]
            early = total(p.times(w) for p, w in zip(some, weights, strict=True))
            values = find_least(program, early, rows, left).values
            rows += [exactly(part, int(part.of(values))) for part in some]
    except OutOfTime:
        pass
    return values


def read_plan(problem: Problem, program: Program, question: Question, found: Found) -> Plan:
    """The plan that a program's values stand for."""
    unit = Fraction(1) if question.aim is Aim.HOURS else Fraction(1, 10**program.places)

    def counted(sums: dict[Key, Sum]) -> dict[Key, int]:
        counts = {key: int(one.of(found.values)) for key, one in sums.items()}
        return {key: count for key, count in counts.items() if count}

    over = {
        need.component: program.supply[need.component].of(found.values) - need.quantity
        for need in problem.needs
    }
    return Plan(
        money=program.money.of(found.values) / 10**program.places,
        hours=program.hours.of(found.values),
        worth=found.least * unit,
        bound=None if found.bound is None else found.bound * unit,
        takes=counted(program.steps),
        new=counted(program.new),
        made=counted(program.made),
        over={key: quantity for key, quantity in over.items() if quantity > 0},
    )


def list_parts(problem: Problem) -> list[Part]:
    """Every part of every offer, in order."""
    return [part for offer in problem.offers for part in offer.parts]


@dataclass(frozen=True, slots=True)
class Frontier:
    """Plans of which none has both less money and fewer hours, from the least money on.

    ``is_whole``: no plan of the kind is missing between the first and the last.
    """

    plans: tuple[Plan, ...]
    is_whole: bool


def trade_off(problem: Problem, left: Left, most: int = 24) -> Frontier:
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
            plan = best_plan(problem, question, left, program)
            plans.append(plan)
            if not plan.is_proved:
                return Frontier(tuple(plans), False)
            if plan.hours <= fewest:
                return Frontier(tuple(plans), is_end)
            if len(plans) >= most:
                break
            question = replace(question, most_hours=plan.hours - _tick(program.hours))
        last = Question(Aim.MONEY, most_hours=fewest)
        plans.append(best_plan(problem, last, left, program))
    except (OutOfTime, NoPlan):
        pass
    return Frontier(tuple(plans), False)


def _tick(what: Sum) -> Fraction:
    """An amount that two different values of a sum are at least apart."""
    size = math.lcm(*(factor.denominator for factor in what.parts.values()))
    step = math.gcd(*(int(factor * size) for factor in what.parts.values()))
    return Fraction(step or 1, size)
