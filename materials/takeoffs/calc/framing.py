"""Studs, plates and headers of framed walls."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark, boxes_in_a_row
from materials.takeoffs.calc.types import Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.walls import OPENINGS, WASTE, drawn, face, opened_words
from materials.takeoffs.calc.wording import Say, allowed, round_up

F = Fraction


def _framed(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, height, spacing, openings = (
        given[n] for n in ("length", "height", "spacing", "openings")
    )
    plates, thick = given["plates"], given["stud_thickness"]
    stud = height - plates * thick
    if stud <= 0:
        raise TakeoffError("The plates are as high as the wall: check its height.", "height")
    bays = round_up(length / spacing)
    if bays > 5000:
        raise TakeoffError(
            "That is more than 5,000 studs: check the length and the spacing.", "spacing"
        )
    for each in openings:
        if each.width is None or each.height is None:
            raise TakeoffError(
                "Enter openings here as width x height, like 3 ft x 7 ft.", "openings"
            )
    doors = sum(each.count for each in openings)
    extra = {
        "corner": given["corners"] * given["per_corner"],
        "opening": doors * given["per_opening"],
    }
    count = bays + 1 + extra["corner"] + extra["opening"]
    waste = given["waste"] or F(0)
    plate = plates * length
    wide = sum((each.count * each.width for each in openings), F(0))
    area = length * height - sum((each.whole for each in openings), F(0))
    if area <= 0:
        raise TakeoffError("The openings are larger than the wall: check them.", "openings")
    formula = (
        f"{say.length(length)} ÷ {say.length(spacing)} → {bays}, + 1 at the end"
        f" + {given['corners']} × {given['per_corner']} at corners"
        f" + {doors} × {given['per_opening']} at openings"
    )
    figures = [
        say.sized("studs", "Studs", count, stud, formula),
        say.lengths("plates", "Plates", plate, f"{plates} × {say.length(length)}"),
        say.areas(
            "sheathing",
            "Sheathing, one side",
            area,
            f"{say.length(length)} × {say.length(height)}"
            + (f" − {say.area(length * height - area)}" if openings else ""),
        ),
    ]
    if openings:
        header = wide + doors * 2 * thick
        figures.append(
            say.lengths(
                "headers",
                "Headers, one ply",
                header,
                f"{say.length(wide)} of openings + {doors} × 2 × {say.length(thick)}",
            )
        )
    if waste:
        figures.append(
            say.sized(
                "studs-waste",
                "Studs with the allowance",
                round_up(count * (1 + waste)),
                stud,
                f"{count}{allowed(waste)}, up to whole ones",
                waste=True,
            )
        )
    words = (
        f"A framed wall {say.length(length)} long and {say.length(height)} high, a stud every"
        f" {say.length(spacing)}{opened_words(openings)}."
    )
    drawing = Drawing("The framing", words, tuple(_frame_marks(given, say, bays)))
    note = (
        "Studs are counted through the openings too: these become the short ones above "
        "and below. Extra studs at corners and openings are common practice. Change them "
        "to suit."
    )
    return Worked(tuple(figures), drawing, (note,))


def _frame_marks(given: Mapping[str, Any], say: Say, bays: int) -> list[Mark]:
    length, height, spacing = given["length"], given["height"], given["spacing"]
    board = Board(length, height)
    step = max(1, bays // 60)
    marks = [board.box("bare", 0, 0, length, height)]
    for n in range(0, bays + 1, step):
        x = min(n * spacing, length)
        marks.append(board.line("stud", (x, 0), (x, height)))
    marks += boxes_in_a_row(board, "open", drawn(given["openings"]))
    return [*marks, board.below(say.length(length)), board.beside(say.length(height))]


def _studs(name: str, label: str, start: str, help_: str) -> Question:
    return Question(name, label, Kind.WHOLE, start, help_, most=1000)


SHAPES = (
    Shape(
        "framed-wall",
        "Framed wall",
        "Studs, plates, headers and sheathing by the spacing.",
        "Walls",
        (
            face("length", "Length"),
            face("height", "Height", "From floor to the top of the upper plate."),
            Question(
                "spacing",
                "Spacing of studs",
                Kind.LENGTH,
                "16 in",
                "From middle to middle.",
                least=F(1, 4),
            ),
            OPENINGS,
            _studs(
                "corners",
                "Corners and joining walls",
                "2",
                "How many of this wall's ends and joints get extra studs.",
            ),
            _studs("per_corner", "Extra studs at each corner", "2", "Common practice: 2."),
            _studs(
                "per_opening",
                "Extra studs at each opening",
                "2",
                "Common practice: 2; 4 where a king and a jack stand at each side.",
            ),
            Question(
                "plates",
                "Rows of plates",
                Kind.WHOLE,
                "3",
                "One below and two above.",
                most=6,
                least=1,
            ),
            Question(
                "stud_thickness",
                "Thickness of plates and studs",
                Kind.LENGTH,
                "1 1/2 in",
                most=F(1),
            ),
            WASTE,
        ),
        _framed,
    ),
)
