"""Roofs of one slope, and roofs measured on their slope."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing
from materials.takeoffs.calc.roofs import (
    BUNDLES,
    EAVES,
    RAKES,
    SLOPE,
    WASTE,
    covering,
    factor_text,
    over,
    slope_factor,
    slope_note,
    slope_text,
)
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Kind, Question, Shape, Worked
from materials.takeoffs.calc.wording import Say

F = Fraction


def _shed(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, run, slope = given["length"], given["width"], given["slope"]
    eaves, rake = given["eaves"] or F(0), given["rakes"] or F(0)
    factor = slope_factor(slope)
    along, across = length + 2 * rake, run + 2 * eaves
    figures = covering(
        say,
        along * across * factor,
        f"{over(say, length, rake)} × {over(say, run, eaves)} × {factor_text(slope)}",
        given,
    )
    figures += [
        say.lengths(
            "rafter",
            "Rafter, edge to edge",
            across * factor,
            f"{say.length(across)} × {factor_text(slope)}",
        ),
        say.lengths(
            "rise",
            "Rise, low wall to high wall",
            run * slope,
            f"{say.length(run)} × {slope_text(slope)}",
        ),
        say.lengths(
            "edges",
            "Edges, all around",
            2 * (along + across * factor),
            f"2 × ({say.length(along)} + {say.length(across * factor)})",
        ),
    ]
    rise = across * slope
    board = Board(across, max(rise, across / 20))
    marks = (
        board.area("whole", (0, 0), (across, 0), (across, rise)),
        board.line("strong", (0, 0), (across, rise)),
        board.below(say.length(across)),
        board.beside(f"{slope_text(slope)}"),
    )
    words = (
        f"The roof from its side: it rises {say.length(rise)} over {say.length(across)}, overhangs"
        f" and all, and is {say.length(along)} long."
    )
    return Worked(
        tuple(figures), Drawing("The roof from its side", words, marks), (slope_note(slope),)
    )


def _measured(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    parts = given["slopes"]
    area = sum((each.whole for each in parts), F(0))
    texts = [
        (f"{each.count} × " if each.count > 1 else "")
        + (
            f"{say.length(each.width)} × {say.length(each.height)}"
            if each.width is not None and each.height is not None
            else say.area(each.each)
        )
        for each in parts
    ]
    figures = covering(say, area, " + ".join(texts), given)
    sides = [
        (each.width, each.height)
        if each.width is not None and each.height is not None
        else (root(each.each), root(each.each))
        for each in parts
        for _ in range(min(each.count, 6))
    ][:6]
    wide = sum((side[0] for side in sides), F(0))
    gap = wide / 20
    board = Board(wide + gap * (len(sides) - 1), max(side[1] for side in sides))
    marks, x = [], F(0)
    for across, along in sides:
        marks.append(board.box("whole", x, 0, across, along))
        x += across + gap
    marks.append(board.below(say.area(area)))
    words = f"Surfaces measured on the roof itself: {' and '.join(texts)}."
    return Worked(tuple(figures), Drawing("The surfaces side by side", words, tuple(marks)))


SHAPES = (
    Shape(
        "shed-roof",
        "Shed roof",
        "One slope.",
        "Roofs",
        (
            Question("length", "Length", Kind.LENGTH, help="Along the eaves."),
            Question("width", "Run", Kind.LENGTH, help="Level, from the low wall to the high one."),
            SLOPE,
            EAVES,
            RAKES,
            WASTE,
            BUNDLES,
        ),
        _shed,
    ),
    Shape(
        "roof-surfaces",
        "Roof measured on its slope",
        "Squares of surfaces measured up there.",
        "Roofs",
        (
            Question(
                "slopes", "Surfaces", Kind.AREAS, help="One a line: 2 @ 30 ft x 20 ft or 450 sq ft."
            ),
            WASTE,
            BUNDLES,
        ),
        _measured,
    ),
)
