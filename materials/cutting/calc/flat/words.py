"""A plan of sheets or ripped boards in words: what was proved, and each cut in order."""

import math
from collections.abc import Callable
from fractions import Fraction

from ....calc.letters import letters
from ....calc.measures import plain
from ..words import counted
from .triangles import slants
from .types import ACROSS, Box, FlatCut, FlatOrder, FlatPlan, Part, Saw, Sheet

Write = Callable[[Fraction], str]
RULE = (
    "Cut in the order given. “Across” is measured from the left end, “lengthwise” from the bottom"
    " edge. The blade starts at the mark, and the saw cut lies behind it."
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
    if plan.is_least_cost and area(plan.waste_bound) == area(plan.waste):
        # What is left open is less than what is written.
        return f"Nothing costs less. At this cost, no plan wastes less than {area(plan.waste)}."
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
    """How large a sheet is: 8 ft by 4 ft."""
    return by((sheet.length, sheet.width), length)


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
            first = numbers.get(letter, 0) + 1
            last = numbers[letter] = first + box.count - 1
            names.append(f"{letter}{first}" + (f" to {letter}{last}" if last > first else ""))
        else:
            names.append("")
    return names


def saw_lines(order: FlatOrder, cut: FlatCut, length: Write) -> list[str]:
    """Each cut of one sheet in order, in words."""
    names, sheet = names_of(cut), order.sheets[cut.sheet]
    lines = []
    if sheet.trim:
        edges = "both ends" if order.is_ripped else "all four edges"
        lines.append(f"Cut {length(sheet.trim)} off {edges}.")
    lines += [_line(saw, cut.boxes, names, order.kerf, length) for saw in cut.saws]
    for box, name in zip(cut.boxes, names, strict=True):
        if box.need is not None and order.parts[box.need].is_triangle:
            lines.append(_slanted(order.parts[box.need], order.kerf, box, name, length))
    return lines


def _slanted(part: Part, kerf: Fraction, box: Box, name: str, length: Write) -> str:
    """How a strip of triangles is cut apart: from its bottom edge to its top edge."""
    corner = length(part.corner)
    marks = [f"{length(low)} to {length(high)}" for low, high in slants(part, kerf, box.count)]
    turned = ", its left end down" if box.turned else ""
    ends = f"first 0 to {corner}" if part.corner else "no cut at the left end"
    between = f", then {'; '.join(marks)}" if marks else ""
    return (
        f"{name}{turned}: slanted cuts from the bottom edge to the top, {ends}{between}, and the"
        " right end to match."
    )


def _line(saw: Saw, boxes: tuple[Box, ...], names: list[str], kerf: Fraction, length: Write) -> str:
    if saw.axis == ACROSS:
        rest = saw.wide - saw.at - kerf
        way, sizes = "across", ((saw.at, saw.tall), (rest, saw.tall))
    else:
        rest = saw.tall - saw.at - kerf
        way, sizes = "lengthwise", ((saw.wide, saw.at), (saw.wide, rest))
    parts = [
        names[place] or "waste" if place is not None else by(size, length)
        for place, size in zip((saw.first, saw.second), sizes, strict=True)
        if min(size) > 0
    ]
    whole = by((saw.wide, saw.tall), length)
    return f"{whole}, {way} at {length(saw.at)}: {', and '.join(parts)}."


def by(size: tuple[Fraction, Fraction], length: Write) -> str:
    """A length and a width: 8 ft by 4 ft."""
    return f"{length(size[0])} by {length(size[1])}"


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
            f"{name} {by((box.wide, box.tall), length)}"
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
    if any(part.is_triangle for part in order.parts):
        sentences.append(
            "Triangles lie head to tail in strips. Other ways to lay them were not compared."
        )
    if any(part.is_triangle and 2 * part.corner != part.length for part in order.parts):
        sentences.append(
            "None is turned over, so a face side stays up. If your sheets have one, add triangles"
            " that mirror others as a row of their own."
        )
    if plan.cost is None:
        sentences.append(
            "Nothing to buy has a price, so the cost is not known: the plan uses what is on hand"
            " first, and then as little area as will do."
        )
    return sentences


def things_of(order: FlatOrder, number: int) -> str:
    """How many sheets or boards: 3 sheets."""
    return counted(number, "board" if order.is_ripped else "sheet")
