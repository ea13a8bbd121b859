"""On and in the ground: slabs, pads, raised beds, tanks and runs of pipe."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.calc.waste import suggested
from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.whole_sides import boards_for
from materials.takeoffs.calc.wording import Say, allowed, counted, number, round_up

F = Fraction


def _poured(say: Say, volume: Fraction, formula: str, waste: Fraction | None) -> list[Figure]:
    figures = [say.volumes("volume", "Concrete", volume, formula)]
    if waste:
        figures.append(
            say.volumes(
                "with-waste",
                "Concrete with the allowance",
                volume * (1 + waste),
                f"{say.volume(volume)}{allowed(waste)}",
                waste=True,
            )
        )
    return figures


def _slab(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, width, thick = given["length"], given["width"], given["thickness"]
    plan = f"{say.length(length)} × {say.length(width)}"
    figures = _poured(say, length * width * thick, f"{plan} × {say.length(thick)}", given["waste"])
    figures += [
        say.areas("area", "Area", length * width, plan),
        say.lengths(
            "forms",
            "Forms around it",
            2 * (length + width),
            f"2 × ({say.length(length)} + {say.length(width)})",
        ),
    ]
    board = Board(length, width)
    marks = (
        board.box("whole", 0, 0, length, width),
        board.below(say.length(length)),
        board.beside(say.length(width)),
        board.above(f"{say.length(thick)} thick"),
    )
    words = f"The slab from above: {plan}, {say.length(thick)} thick."
    return Worked(tuple(figures), Drawing("The slab from above", words, marks))


def _pads(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    count, depth = given["count"], given["depth"]
    sides = _pad_sides(given)
    if given["form"] == "round":
        area, plan = PI * sides[0] ** 2 / 4, f"π ÷ 4 × ({say.length(sides[0])})²"
    else:
        area, plan = sides[0] * sides[1], f"{say.length(sides[0])} × {say.length(sides[1])}"
    figures = _poured(
        say, count * area * depth, f"{count} × {plan} × {say.length(depth)}", given["waste"]
    )
    figures += [
        say.areas("area", "Area at the bottom", count * area, f"{count} × {plan}"),
        counted("pads", "Pads", count, "as stated"),
    ]
    shown = min(count, 6)
    gap = sides[0] / 4
    board = Board(sides[0] * shown + gap * (shown - 1), sides[1])
    marks: list[Mark] = []
    for n in range(shown):
        x = n * (sides[0] + gap)
        if given["form"] == "round":
            marks.append(
                board.round("whole", x + sides[0] / 2, sides[1] / 2, sides[0] / 2, sides[1] / 2)
            )
        else:
            marks.append(board.box("whole", x, 0, sides[0], sides[1]))
    one = say.length(sides[0]) if given["form"] == "round" else plan
    marks += [board.below(f"{count} of {one}"), board.above(f"{say.length(depth)} deep")]
    words = (
        f"{count} {given['form']} pads or footings from above, each {one}, {say.length(depth)} deep"
    )
    words += f"; {shown} of them are drawn." if shown < count else "."
    return Worked(tuple(figures), Drawing("From above", words, tuple(marks)))


def _pad_sides(given: Mapping[str, Any]) -> tuple[Fraction, Fraction]:
    if given["form"] == "round":
        return given["length"], given["length"]
    if given["width"] is None:
        raise TakeoffError("A rectangular pad or footing needs a width.", "width")
    return given["length"], given["width"]


def _bed(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, width, height = given["length"], given["width"], given["height"]
    face, thick, count = given["board"], given["board_thickness"] or F(0), given["count"]
    inside = (length - 2 * thick, width - 2 * thick)
    if min(inside) <= 0:
        raise TakeoffError("The boards fill the whole bed: check its width.", "board_thickness")
    courses = round_up(height / face)
    if courses > 200:
        raise TakeoffError("That is more than 200 courses of boards: check the heights.", "board")
    around = 2 * (length + width)
    boards = count * courses * around
    times = f"{count} × " if count > 1 else ""
    figures = [
        say.lengths(
            "boards",
            "Boards around",
            boards,
            f"{times}{courses} courses × 2 × ({say.length(length)} + {say.length(width)})",
        ),
    ]
    notes = ["Soil settles: loose soil fills less of the bed."]
    if given["stock"]:
        figure, note = _bed_boards(say, given, count * courses, boards)
        figures.append(figure)
        notes.insert(0, note)
    fill = given["fill"]
    soil = count * inside[0] * inside[1] * height * fill
    full = "" if fill == 1 else f" × {number(fill * 100)}%"
    figures += [
        say.volumes(
            "soil",
            "Soil",
            soil,
            f"{times}{say.length(inside[0])} × {say.length(inside[1])}"
            f" × {say.length(height)}{full}",
        ),
        say.areas(
            "growing",
            "Growing area",
            count * inside[0] * inside[1],
            f"{times}{say.length(inside[0])} × {say.length(inside[1])}",
        ),
    ]
    board = Board(length, max(height, length / 12))
    marks = [board.box("whole", 0, 0, length, height)]
    marks += [board.line("thin", (0, n * face), (length, n * face)) for n in range(1, courses)]
    marks += [board.below(say.length(length)), board.beside(say.length(height), height)]
    words = (
        f"The bed from its long side: {say.length(length)} long, {say.length(height)} high, in"
        f" {courses} course{'s' if courses > 1 else ''} of boards; it is {say.length(width)} wide."
    )
    drawing = Drawing("The bed from its side", words, tuple(marks))
    return Worked(tuple(figures), drawing, tuple(notes))


def _bed_boards(
    say: Say, given: Mapping[str, Any], rounds: int, boards: Fraction
) -> tuple[Figure, str]:
    """Boards of stock length for so many rounds of four sides, and what else to know of them."""
    stock, waste = given["stock"], given["waste"] or F(0)
    sides = (given["length"], given["width"])
    length = say.length(stock)
    joined = round_up(boards * (1 + waste) / stock)
    by_length = f"{say.length(boards)}{allowed(waste)} ÷ {length}, up to whole ones"
    whole = boards_for(*sides, 2 * rounds, stock)
    if whole is None:
        note = (
            f"A side is longer than boards of {length}: it is joined of two or more. Offcuts are"
            " counted as used up in other sides."
        )
        label = "Boards of stock length, joined"
        return say.sized("stock", label, joined, stock, by_length, waste=bool(waste)), note
    needed = round_up(whole * (1 + waste))
    formula = (
        f"{2 * rounds} sides of {say.length(sides[0])} and {2 * rounds} of {say.length(sides[1])},"
        f" each cut whole out of {length} → {whole}"
    )
    if waste:
        formula += f"{allowed(waste)}, up to whole ones"
    note = "No side is joined of two boards. Saw cuts are not counted: a cutting plan counts them."
    if joined < needed:
        note = (
            f"No side is joined of two boards. With joints in the sides, {joined} boards would do"
            f" ({by_length}). Saw cuts are not counted: a cutting plan counts them."
        )
    label = "Boards of stock length, sides whole"
    return say.sized("stock", label, needed, stock, formula, waste=bool(waste)), note


def length_ask(name: str, label: str, help_: str = "", start: str = "") -> Question:
    """A question for a length."""
    return Question(name, label, Kind.LENGTH, start, help_)


_CONCRETE = Question(
    "waste", "Waste allowance, %", Kind.PERCENT, "10", suggested("concrete"), needed=False
)
_WASTE = Question(
    "waste", "Waste allowance, %", Kind.PERCENT, "0", suggested("lumber"), needed=False
)
COUNT = Question("count", "How many", Kind.WHOLE, "1", least=1, most=1000)
STOCK = Question(
    "stock",
    "Stock length",
    Kind.LENGTH,
    help="What it is sold in; empty to leave it out.",
    needed=False,
)

SHAPES = (
    Shape(
        "slab",
        "Slab",
        "Concrete, area and forms of a slab.",
        "Ground",
        (
            length_ask("length", "Length"),
            length_ask("width", "Width"),
            Question("thickness", "Thickness", Kind.LENGTH, "4 in", most=F(20)),
            _CONCRETE,
        ),
        _slab,
    ),
    Shape(
        "pads",
        "Pads and footings",
        "Concrete of pads, piers and strip footings.",
        "Ground",
        (
            Question(
                "form",
                "Seen from above",
                Kind.CHOICE,
                "rectangular",
                choices=(("rectangular", "Rectangular"), ("round", "Round")),
            ),
            COUNT,
            length_ask("length", "Length, or width across a round one"),
            Question("width", "Width", Kind.LENGTH, help="Empty for round ones.", needed=False),
            length_ask("depth", "Depth"),
            _CONCRETE,
        ),
        _pads,
    ),
    Shape(
        "raised-bed",
        "Raised bed",
        "Boards around it and the soil in it.",
        "Ground",
        (
            COUNT,
            length_ask("length", "Length, outside"),
            length_ask("width", "Width, outside"),
            length_ask("height", "Height"),
            Question(
                "board",
                "Width of one board",
                Kind.LENGTH,
                "5 1/2 in",
                "As it stands: a dressed 2x6 measures 5 1/2 in.",
                least=F(1, 24),
            ),
            Question(
                "board_thickness",
                "Thickness of the boards",
                Kind.LENGTH,
                "1 1/2 in",
                "Taken off the soil; empty to leave it out.",
                needed=False,
            ),
            STOCK,
            Question("fill", "Filled to, %", Kind.PERCENT, "100", least=1),
            _WASTE,
        ),
        _bed,
    ),
)
