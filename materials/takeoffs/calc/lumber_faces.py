"""All faces of pieces of lumber, and the paint or oil for them."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.coverings import COATS, coated
from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.types import Kind, Piece, Question, Shape, Worked
from materials.takeoffs.calc.wording import Say, counted, summed

F = Fraction
_DRAWN = 6


def _one(piece: Piece, given: Mapping[str, Any]) -> Fraction:
    """Area of the faces of one piece that are coated."""
    thick, wide = piece.sides(given["surface"] == "dressed")
    thick, wide = min(thick, wide), max(thick, wide)
    if given["faces"] == "front":
        return (wide + 2 * thick) * piece.long
    along = 2 * (thick + wide) * piece.long
    return along + 2 * thick * wide if given["faces"] == "all" else along


def _how(say: Say, piece: Piece, given: Mapping[str, Any]) -> str:
    """The faces of one piece as a formula has them."""
    sides = piece.sides(given["surface"] == "dressed")
    thick, wide, long = say.length(min(sides)), say.length(max(sides)), say.length(piece.long)
    times = f"{piece.count} × " if piece.count > 1 else ""
    if given["faces"] == "front":
        return f"{times}({wide} + 2 × {thick}) × {long}"
    along = f"2 × ({thick} + {wide}) × {long}"
    if given["faces"] == "all":
        return f"{times}({along} + 2 × {thick} × {wide})"
    return f"{times}{along}"


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    pieces: Sequence[Piece] = given["pieces"]
    area = sum((piece.count * _one(piece, given) for piece in pieces), F(0))
    count = sum(piece.count for piece in pieces)
    figures = [
        say.areas("area", "Faces", area, summed(_how(say, piece, given) for piece in pieces)),
        *coated(say, given, area),
        counted("pieces", "Pieces", count, summed(str(piece.count) for piece in pieces)),
    ]
    notes = ["Rough or planed by hand: wood takes more than the can says. Try one piece first."]
    if given["surface"] == "dressed" and any(piece.size for piece in pieces):
        notes.insert(0, "Nominal sizes count as dry and dressed: Product Standard PS 20, table 3.")
    return Worked(tuple(figures), _drawing(say, pieces, given), tuple(notes))


def _drawing(say: Say, pieces: Sequence[Piece], given: Mapping[str, Any]) -> Drawing:
    """The cross-section of each size, side by side."""
    shown = pieces[:_DRAWN]
    sides = [piece.sides(given["surface"] == "dressed") for piece in shown]
    gap = max(max(pair) for pair in sides) / 4
    board = Board(
        sum((max(pair) for pair in sides), F(0)) + gap * (len(sides) - 1),
        max(min(pair) for pair in sides),
    )
    marks: list[Mark] = []
    x = F(0)
    for pair in sides:
        marks.append(board.box("whole", x, 0, max(pair), min(pair)))
        x += max(pair) + gap
    wide, thick = max(sides[0]), min(sides[0])
    marks += [
        board.below(f"{say.length(wide)} wide" if len(shown) == 1 else f"{len(shown)} sizes"),
        board.beside(say.length(thick), thick),
    ]
    listed = "; ".join(f"{piece.count} of {piece.name}" for piece in shown)
    rest = f" The first {_DRAWN} sizes are drawn." if len(pieces) > _DRAWN else ""
    return Drawing("Cross-sections", f"Seen from the end: {listed}.{rest}", tuple(marks))


SHAPES = (
    Shape(
        "lumber-faces",
        "Faces of lumber",
        "Area of all sides of many pieces, with paint or oil for it.",
        "Covering",
        (
            Question(
                "pieces",
                "Pieces",
                Kind.PIECES,
                help="One size a line: 24 @ 2x4x8 or 6 @ 3/4 in x 5 in x 7 ft.",
            ),
            Question(
                "surface",
                "Nominal sizes are",
                Kind.CHOICE,
                "dressed",
                choices=(("dressed", "Dressed, dry"), ("full", "Full size, rough")),
            ),
            Question(
                "faces",
                "Faces to coat",
                Kind.CHOICE,
                "all",
                choices=(
                    ("all", "All six"),
                    ("along", "The four long ones"),
                    ("front", "One wide face and both edges"),
                ),
            ),
            *COATS,
        ),
        _work,
    ),
)
