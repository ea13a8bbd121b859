"""Walls: their surface, and the studs and plates of framed ones."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, boxes_in_a_row
from materials.takeoffs.calc.types import Area, Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say, allowed, number

F = Fraction
OPENINGS = Question(
    "openings",
    "Openings",
    Kind.AREAS,
    help="Doors and windows, one a line: 3 ft x 6' 8\" or 2 @ 3 ft x 4 ft or 21 sq ft.",
    needed=False,
)
WASTE = Question(
    "waste", "Waste allowance, %", Kind.PERCENT, "0", "Your own allowance.", needed=False
)


def opened(say: Say, openings: Sequence[Area]) -> tuple[Fraction, str]:
    """Area of openings, and how it came about; an empty text for none."""
    whole = sum((each.whole for each in openings), F(0))
    parts = []
    for each in openings:
        times = f"{each.count} × " if each.count > 1 else ""
        if each.width is None or each.height is None:
            parts.append(f"{times}{say.area(each.each)}")
        else:
            parts.append(f"{times}{say.length(each.width)} × {say.length(each.height)}")
    return whole, " + ".join(parts)


def netted(
    say: Say, gross: Fraction, formula: str, openings: Sequence[Area], waste: Fraction | None
) -> list[Figure]:
    """A wall's whole area, its openings, and what is left, with an allowance if there is one."""
    whole, parts = opened(say, openings)
    if whole >= gross:
        raise TakeoffError(
            f"The openings come to {say.area(whole)}, and the whole wall to {say.area(gross)}:"
            " check them.",
            "openings",
        )
    net = gross - whole
    figures = [say.areas("net", "Wall area", net, formula)]
    if whole:
        formula_of_net = f"{say.area(gross)} − {say.area(whole)}"
        figures = [
            say.areas("net", "Wall area without openings", net, formula_of_net),
            say.areas("gross", "Whole wall area", gross, formula),
            say.areas("openings", "Openings", whole, parts),
        ]
    if waste:
        figures.append(
            say.areas(
                "with-waste",
                "With the allowance",
                net * (1 + waste),
                f"{say.area(net)}{allowed(waste)}",
                waste=True,
            )
        )
    return figures


def drawn(openings: Sequence[Area]) -> list[tuple[Fraction, Fraction]]:
    """Width and height of the openings that have sides."""
    return [
        (each.width, each.height)
        for each in openings
        if each.width is not None and each.height is not None
        for _ in range(min(each.count, 12))
    ]


def _rectangle(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, height, openings = given["length"], given["height"], given["openings"]
    formula = f"{say.length(length)} × {say.length(height)}"
    figures = netted(say, length * height, formula, openings, given["waste"])
    board = Board(length, height)
    marks = [
        board.box("whole", 0, 0, length, height),
        *boxes_in_a_row(board, "open", drawn(openings)),
        board.below(say.length(length)),
        board.beside(say.length(height)),
    ]
    words = (
        f"A wall {say.length(length)} long and {say.length(height)} high{opened_words(openings)}."
    )
    return Worked(tuple(figures), Drawing("The wall", words, tuple(marks)))


def opened_words(openings: Sequence[Area]) -> str:
    """How many openings, for what a drawing says."""
    count = sum(each.count for each in openings)
    if not count:
        return ""
    return f", with {count} opening{'s' if count > 1 else ''}; where they stand is not to scale"


def _gable(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    width, eaves, slope, openings = (given[n] for n in ("width", "height", "slope", "openings"))
    rise = width / 2 * slope
    formula = (
        f"{say.length(width)} × {say.length(eaves)} + ½ × {say.length(width)} × {say.length(rise)}"
    )
    figures = netted(say, width * eaves + width * rise / 2, formula, openings, given["waste"])
    figures.append(
        say.lengths(
            "peak",
            "Height at the peak",
            eaves + rise,
            f"{say.length(eaves)} + ½ × {say.length(width)} × {number(slope * 12)}/12",
        )
    )
    board, below = Board(width, eaves + rise), Board(width, eaves + rise)
    marks = [
        board.area(
            "whole", (0, 0), (width, 0), (width, eaves), (width / 2, eaves + rise), (0, eaves)
        ),
        *[mark for mark in boxes_in_a_row(below, "open", drawn(openings))],
        board.line("thin", (0, eaves), (width, eaves)),
        board.below(say.length(width)),
        board.beside(say.length(eaves), eaves),
        board.above(say.length(eaves + rise)),
    ]
    words = (
        f"A gable wall {say.length(width)} wide, {say.length(eaves)} high at the eaves and"
        f" {say.length(eaves + rise)} at the peak{opened_words(openings)}."
    )
    return Worked(tuple(figures), Drawing("The gable wall", words, tuple(marks)))


def face(name: str, label: str, help_: str = "") -> Question:
    """A question for a length."""
    return Question(name, label, Kind.LENGTH, help=help_)


SHAPES = (
    Shape(
        "wall",
        "Wall",
        "Area of a straight wall, less doors and windows.",
        "Walls",
        (face("length", "Length"), face("height", "Height"), OPENINGS, WASTE),
        _rectangle,
    ),
    Shape(
        "gable-wall",
        "Gable wall",
        "A wall with a peak, less doors and windows.",
        "Walls",
        (
            face("width", "Width"),
            face("height", "Height at the eaves"),
            Question("slope", "Slope of the roof", Kind.SLOPE, "6/12", "Rise over run, like 6/12."),
            OPENINGS,
            WASTE,
        ),
        _gable,
    ),
)
