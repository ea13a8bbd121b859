"""A cutting plan in words: what was proved and why, and what each board yields."""

import math
from collections.abc import Callable
from fractions import Fraction

from ...calc.measures import plain
from .marks import marks_of
from .types import Cut, Order, Plan

Write = Callable[[Fraction], str]
RULE = (
    "“Saw at” is measured from one end of the whole board: mark all of them before the first cut."
    " The blade starts at the mark, and the saw cut lies behind it, away from that end."
)


def why(plan: Plan, money: Write, length: Write) -> list[str]:
    """Sentences that say what was proved, and how."""
    sentences = [_proof(plan, money, length)]
    if plan.longest and plan.is_longest:
        sentences.append(
            f"At this cost and waste, no off-cut can be longer than {length(plan.longest)}."
        )
    elif plan.longest and plan.proved:
        sentences.append(
            f"The longest off-cut is {length(plan.longest)}; a longer one may be possible."
        )
    return sentences


def _proof(plan: Plan, money: Write, length: Write) -> str:
    boards = counted(plan.boards, "board")
    if plan.proved:
        alone = plan.boards_alone
        if alone is not None and math.ceil(alone) == plan.boards:
            need = plain(alone, 1) if alone.denominator == 1 or alone % 1 < Fraction(9, 10) else (
                plain(alone, 3)
            )  # fmt: skip
            return (
                f"No plan uses fewer than {boards}: the pieces and the saw cuts between them alone"
                f" need {need}."
            )
        least = "costs less, or costs the same and wastes less"
        if plan.cost is None or not plan.cost:
            least = "wastes less"
        if plan.patterns is not None:
            ways = counted(plan.patterns, "way")
            return f"No plan {least}: all {ways} to fill a board were compared."
        return (
            f"No plan {least}: give each piece a price so that no board is worth more "
            "than it costs. All pieces together are then worth this plan."
        )
    if not plan.is_least_cost and plan.cost and plan.cost_bound is not None:
        more = ""
        if plan.cost_bound:
            # Up to so much: never rounded down.
            gap = math.ceil((plan.cost / plan.cost_bound - 1) * 1000)
            more = f", {plain(Fraction(gap, 10), 1)}% more at most"
        return (
            f"A cheaper plan may exist: the least possible cost is {money(plan.cost_bound)}, this"
            f" one costs {money(plan.cost)}{more}. More time may find a better plan."
        )
    waste = (
        f"the least possible waste is {length(max(Fraction(0), plan.waste_bound))}, this one wastes"
        f" {length(plan.waste)}."
    )
    if plan.cost is None:
        return f"A plan may waste less: {waste}"
    return f"Nothing costs less. A plan may waste less: at this cost, {waste}"


def counted(number: int, word: str) -> str:
    """A number with its word: 1 board, 3 boards."""
    return f"{number:,} {word}{'' if number == 1 else 's'}"


def pieces_of(order: Order, cut: Cut) -> str:
    """What one board is cut into, in order from one end: ``2 × 7' 6", 1 × 28 in``."""
    return ", ".join(f"{count} × {order.needs[need].name}" for need, count in cut.pieces)


def waste_percent(plan: Plan) -> Fraction:
    """Waste in per cent of the length used."""
    return plan.waste / plan.used * 100 if plan.used else Fraction(0)


def cut_lines(order: Order, plan: Plan, length: Write) -> list[str]:
    """One line for all boards that are cut alike, one for where to saw them, and the rule."""
    shortest = min(need.length for need in order.needs)
    lines = []
    for cut in plan.cuts:
        name = order.stocks[cut.stock].name
        rest = f", off-cut {length(cut.off_cut)}" if cut.off_cut else ", no off-cut"
        lines.append(f"{cut.count} × {name}: {pieces_of(order, cut)}{rest}")
        marks = marks_of(order, cut, cut.off_cut >= shortest)
        text = "Saw at " + ", ".join(length(mark) for mark in marks) if marks else "No cut"
        lines.append(f"  {text}.")
    return [*lines, RULE]


def notes(order: Order, plan: Plan) -> list[str]:
    """What else there is to know: lengths left out, and what cost stands for."""
    sentences = [
        f"{order.stocks[place].name} has no price and is not used: add one to compare it."
        for place in plan.left_out
    ]
    if plan.cost is None:
        sentences.append(
            "No length to buy has a price, so the cost is not known: the plan uses what is on hand"
            " first, and then as little length as will do."
        )
    return sentences
