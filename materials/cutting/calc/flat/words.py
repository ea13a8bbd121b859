"""A plan of sheets or ripped boards in words: what was proved, and each cut in order."""

import math
from collections.abc import Callable
from fractions import Fraction

from ....calc.letters import letters
from ....calc.measures import plain
from ..words import counted
from .types import ACROSS, Box, FlatCut, FlatOrder, FlatPlan, Saw, Sheet

Write = Callable[[Fraction], str]
RULE = (
    "Cut in the order given. Measure each cut from the end that “left” or “bottom” names; the blade"
    " starts at the mark, and the saw cut lies behind it."
)

# Common practice, no published source.
CAUTIONS = (
    "Support both parts of every cut, keep the guard on and hands off the line of the blade. Follow"
    " the saw's own instructions.",
    "Dust of treated, painted or cement-bound material harms: find out what it is first, wear a"
    " mask that fits, cut outdoors, and follow local rules.",
)


def why(plan: FlatPlan, money: Write, area: Write) -> list[str]:
    """Sentences that say what was proved, and what is left open."""
    sentences = [_proof(plan, money, area)]
    if plan.largest and plan.is_largest:
        sentences.append(
            f"At this cost and waste, no remnant can be larger than {area(plan.largest)}."
        )
    elif plan.largest:
        sentences.append(f"The largest remnant is {area(plan.largest)}.")
    return sentences


def _proof(plan: FlatPlan, money: Write, area: Write) -> str:
    if plan.proved:
        if not plan.cost:
            return "Proved: no plan wastes less."
        return "Proved: no plan costs less, or costs the same and wastes less."
    if not plan.is_least_cost and plan.cost and plan.cost_bound is not None:
        return (
            f"A cheaper plan may exist: the least possible cost is {money(plan.cost_bound)}, this"
            f" one costs {money(plan.cost)}{_more(plan.cost, plan.cost_bound)}. More time may find"
            " a better plan."
        )
    waste = (
        f"the least possible waste is {area(plan.waste_bound)}, this one wastes {area(plan.waste)}."
    )
    if not plan.cost:
        return f"A plan may waste less: {waste}"
    return f"Nothing costs less. A plan may waste less: at this cost, {waste}"


def _more(cost: Fraction, bound: Fraction) -> str:
    if not bound:
        return ""
    # Up to so much: never rounded down.
    gap = math.ceil((cost / bound - 1) * 1000)
    return f", {plain(Fraction(gap, 10), 1)}% more at most"


def waste_percent(plan: FlatPlan) -> Fraction:
    """Waste in per cent of the area used."""
    return plan.waste / plan.used * 100 if plan.used else Fraction(0)


def size_of(sheet: Sheet, length: Write) -> str:
    """How large a sheet is: 8 ft × 4 ft."""
    return f"{length(sheet.length)} × {length(sheet.width)}"


def letter_of(need: int) -> str:
    """The letter of a kind of piece; remnants have the R to themselves."""
    return letters(need + 1 if need < ord("R") - ord("A") else need + 2)


def names_of(cut: FlatCut) -> list[str]:
    """By box, what it is called on the drawing: A1, A2 … for pieces, R1 … for remnants."""
    numbers: dict[str, int] = {}
    names = []
    for box in cut.boxes:
        letter = "" if box.kind == "waste" else "R"
        if box.need is not None:
            letter = letter_of(box.need)
        if letter:
            numbers[letter] = numbers.get(letter, 0) + 1
        names.append(f"{letter}{numbers[letter]}" if letter else "")
    return names


def saw_lines(order: FlatOrder, cut: FlatCut, length: Write) -> list[str]:
    """Each cut of one sheet in order, in words."""
    names, sheet = names_of(cut), order.sheets[cut.sheet]
    lines = []
    if sheet.trim:
        edges = "both ends" if order.is_ripped else "all four edges"
        lines.append(f"Cut {length(sheet.trim)} off {edges}.")
    lines += [_line(saw, cut.boxes, names, order.kerf, length) for saw in cut.saws]
    return lines


def _line(saw: Saw, boxes: tuple[Box, ...], names: list[str], kerf: Fraction, length: Write) -> str:
    way, end = ("across", "left") if saw.axis == ACROSS else ("lengthwise", "bottom")
    rest = (saw.wide if saw.axis == ACROSS else saw.tall) - saw.at - kerf
    if saw.axis == ACROSS:
        sizes = (saw.at, saw.tall), (rest, saw.tall)
    else:
        sizes = (saw.wide, saw.at), (saw.wide, rest)
    parts = [
        _part(place, size, boxes, names, length)
        for place, size in zip((saw.first, saw.second), sizes, strict=True)
        if min(size) > 0
    ]
    whole = f"{length(saw.wide)} × {length(saw.tall)}"
    return f"{whole}: {way} at {length(saw.at)} from the {end}. {' and '.join(parts)}."


def _part(
    place: int | None,
    size: tuple[Fraction, Fraction],
    boxes: tuple[Box, ...],
    names: list[str],
    length: Write,
) -> str:
    if place is None:
        return f"{length(size[0])} × {length(size[1])} to cut further"
    kind = boxes[place].kind
    if kind == "waste":
        return "waste"
    return f"{'piece' if kind == 'piece' else 'remnant'} {names[place]}"


def pieces_of(order: FlatOrder, cut: FlatCut) -> str:
    """What one sheet is cut into."""
    return ", ".join(f"{count} × {order.parts[need].name}" for need, count in cut.pieces)


def cut_lines(order: FlatOrder, plan: FlatPlan, length: Write) -> list[str]:
    """All sheets that are cut alike, and their cuts, for a terminal."""
    lines = []
    for cut in plan.cuts:
        sheet = order.sheets[cut.sheet]
        lines.append(f"{cut.count} × {sheet.name}: {pieces_of(order, cut)}")
        names = names_of(cut)
        lines += [
            f"  {number}. {line}" for number, line in enumerate(saw_lines(order, cut, length), 1)
        ]
        kept = [
            f"{name} {length(box.wide)} × {length(box.tall)}"
            for box, name in zip(cut.boxes, names, strict=True)
            if box.kind == "remnant"
        ]
        if kept:
            lines.append(f"  Remnants: {', '.join(kept)}.")
    return [*lines, RULE]


def notes(order: FlatOrder, plan: FlatPlan) -> list[str]:
    """What else there is to know: sizes left out, and what cost stands for."""
    sentences = [
        f"{order.sheets[at].name} has no price and is not used: add one to compare it."
        for at in plan.left_out
    ]
    if plan.cost is None:
        sentences.append(
            "Nothing to buy has a price, so the cost is not known: the plan uses what is on hand"
            " first, and then as little area as will do."
        )
    return sentences


def things_of(order: FlatOrder, number: int) -> str:
    """How many sheets or boards: 3 sheets."""
    return counted(number, "board" if order.is_ripped else "sheet")
