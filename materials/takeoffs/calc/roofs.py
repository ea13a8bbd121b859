"""Roofs by their slope: the area along it, and the lengths of its edges."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, Worked
from materials.takeoffs.calc.wording import Say, allowed, counted, number, round_up

F = Fraction
SQUARE = 100


def slope_factor(slope: Fraction) -> Fraction:
    """Length along a slope for one of its run."""
    return root(1 + slope * slope)


def hip_factor(slope: Fraction) -> Fraction:
    """Length of a hip or valley between equal slopes for one of the common run."""
    return root(2 + slope * slope)


def covering(say: Say, area: Fraction, formula: str, given: Mapping[str, Any]) -> list[Figure]:
    """Area, squares and bundles of a roof."""
    waste = given["waste"] or F(0)
    figures = [say.areas("area", "Roof area", area, formula)]
    squares = area * (1 + waste) / SQUARE
    figures.append(
        Figure(
            "squares",
            "Squares with the allowance" if waste else "Squares",
            squares,
            "square",
            f"{number(area)} sq ft{allowed(waste)} ÷ {SQUARE} sq ft",
            has_waste=bool(waste),
        )
    )
    if given["bundles"]:
        figures.append(
            counted(
                "bundles",
                "Bundles",
                round_up(squares * given["bundles"]),
                f"{number(squares)} squares × {given['bundles']}, up to whole ones",
                "bundle",
                bool(waste),
            )
        )
    return figures


def over(say: Say, length: Fraction, overhang: Fraction) -> str:
    """A length with an overhang at both ends, as a formula has it."""
    text = say.length(length)
    return f"({text} + 2 × {say.length(overhang)})" if overhang else text


def slope_text(slope: Fraction) -> str:
    """A slope as roofers write it: 6/12."""
    return f"{number(slope * 12)}/12"


def factor_text(slope: Fraction) -> str:
    """The slope factor as a formula has it."""
    return f"√(1 + ({slope_text(slope)})²)"


def _gable(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, span, slope = given["length"], given["width"], given["slope"]
    eaves, rake = given["eaves"] or F(0), given["rakes"] or F(0)
    factor = slope_factor(slope)
    ridge, across = length + 2 * rake, span + 2 * eaves
    rafter = across / 2 * factor
    text = factor_text(slope)
    figures = covering(
        say,
        ridge * across * factor,
        f"{over(say, length, rake)} × {over(say, span, eaves)} × {text}",
        given,
    )
    figures += [
        say.lengths(
            "rafter", "Rafter, ridge to eaves edge", rafter, f"½ × {say.length(across)} × {text}"
        ),
        say.lengths("ridge", "Ridge", ridge, over(say, length, rake)),
        say.lengths("eaves-edge", "Eaves edges", 2 * ridge, f"2 × {say.length(ridge)}"),
        say.lengths("rake-edge", "Rake edges", 4 * rafter, f"4 × {say.length(rafter)}"),
        say.lengths(
            "rise",
            "Rise, wall plate to ridge",
            span / 2 * slope,
            f"½ × {say.length(span)} × {slope_text(slope)}",
        ),
    ]
    board = Board(ridge, across)
    marks = (
        board.box("whole", 0, 0, ridge, across),
        board.line("strong", (0, across / 2), (ridge, across / 2)),
        board.area(
            "thin",
            (rake, eaves),
            (rake + length, eaves),
            (rake + length, eaves + span),
            (rake, eaves + span),
        ),
        board.below(say.length(ridge)),
        board.beside(say.length(across)),
        board.above(f"slope {slope_text(slope)}"),
    )
    words = (
        f"The roof from above: {say.length(ridge)} by {say.length(across)} with its overhangs, a"
        f" ridge along the middle, both sides sloping {slope_text(slope)}."
    )
    return Worked(
        tuple(figures), Drawing("The roof from above", words, marks), (slope_note(slope),)
    )


def slope_note(slope: Fraction, hip: bool = False) -> str:
    """The factors of a slope in a sentence."""
    text = f"Slope factor of {slope_text(slope)}: {number(slope_factor(slope) * 1)}"
    if hip:
        text += f"; of hips and valleys, for one of the common run: {number(hip_factor(slope))}"
    return f"{text}."


def _hip(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, span, slope = given["length"], given["width"], given["slope"]
    eaves = given["eaves"] or F(0)
    length, span = max(length, span), min(length, span)
    factor, hip = slope_factor(slope), hip_factor(slope)
    along, across = length + 2 * eaves, span + 2 * eaves
    run = across / 2
    hip_text = f"√(2 + ({slope_text(slope)})²)"
    figures = covering(
        say,
        along * across * factor,
        f"{say.length(along)} × {say.length(across)} × {factor_text(slope)}",
        given,
    )
    figures += [
        say.lengths("ridge", "Ridge", length - span, f"{say.length(length)} − {say.length(span)}"),
        say.lengths(
            "hips", "Hips, four", 4 * run * hip, f"4 × ½ × {say.length(across)} × {hip_text}"
        ),
        say.lengths(
            "rafter",
            "Common rafter, ridge to eaves edge",
            run * factor,
            f"½ × {say.length(across)} × {factor_text(slope)}",
        ),
        say.lengths(
            "eaves-edge",
            "Eaves edges",
            2 * (along + across),
            f"2 × ({say.length(along)} + {say.length(across)})",
        ),
    ]
    valley = sum((each.whole for each in given["valleys"]), F(0))
    if valley:
        figures.append(
            say.lengths("valleys", "Valleys", valley * hip, f"{say.length(valley)} × {hip_text}")
        )
    board = Board(along, across)
    marks = [board.box("whole", 0, 0, along, across)]
    if along > across:
        marks.append(board.line("strong", (run, run), (along - run, run)))
    marks += [
        board.line("strong", (x, y), (run if x == 0 else along - run, run))
        for x in (F(0), along)
        for y in (F(0), across)
    ]
    marks += [
        board.below(say.length(along)),
        board.beside(say.length(across)),
        board.above(f"slope {slope_text(slope)}"),
    ]
    words = (
        f"The roof from above: {say.length(along)} by {say.length(across)} with its overhangs,"
        f" sloping {slope_text(slope)} to all four sides, a hip from each corner."
    )
    drawing = Drawing("The roof from above", words, tuple(marks))
    return Worked(tuple(figures), drawing, (slope_note(slope, hip=True),))


SLOPE = Question("slope", "Slope", Kind.SLOPE, "6/12", "Rise over run: 6/12, 6 in 12 or 50%.")
EAVES = Question(
    "eaves",
    "Overhang at the eaves",
    Kind.LENGTH,
    help="Measured level; empty for none.",
    needed=False,
    most=F(20),
)
RAKES = Question(
    "rakes", "Overhang at each end", Kind.LENGTH, help="Empty for none.", needed=False, most=F(20)
)
WASTE = Question(
    "waste",
    "Waste allowance, %",
    Kind.PERCENT,
    "0",
    "Your own allowance: more where the roof has many corners.",
    needed=False,
)
BUNDLES = Question(
    "bundles",
    "Bundles in a square",
    Kind.WHOLE,
    help="As the package says, often 3 or 4; empty where it does not come in bundles.",
    needed=False,
    most=20,
)
_LENGTH = Question("length", "Length of the building", Kind.LENGTH, help="Along the ridge.")
_WIDTH = Question(
    "width", "Width of the building", Kind.LENGTH, help="Across the ridge, wall to wall."
)

SHAPES = (
    Shape(
        "gable-roof",
        "Gable roof",
        "Two slopes and a ridge: area, squares, rafters and edges.",
        "Roofs",
        (_LENGTH, _WIDTH, SLOPE, EAVES, RAKES, WASTE, BUNDLES),
        _gable,
    ),
    Shape(
        "hip-roof",
        "Hip roof",
        "Four equal slopes, with the lengths of hips and valleys.",
        "Roofs",
        (
            _LENGTH,
            _WIDTH,
            SLOPE,
            EAVES,
            Question(
                "valleys",
                "Valleys, level run of each",
                Kind.LENGTHS,
                help="Where a wing joins: the common run, one a line; empty for none.",
                needed=False,
            ),
            WASTE,
            BUNDLES,
        ),
        _hip,
    ),
)
