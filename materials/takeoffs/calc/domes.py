"""A geodesic dome as a shape: struts, hubs, triangles, floor and skin."""

from collections import Counter
from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.calc.money import round_half_up
from materials.takeoffs.calc.dome_geometry import Dome, letter
from materials.takeoffs.calc.dome_panels import panels
from materials.takeoffs.calc.dome_size import find_dome
from materials.takeoffs.calc.dome_walls import standing, wall_notes
from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.panel_pieces import panel_pieces
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.types import (
    Figure,
    Kind,
    Question,
    Shape,
    Worked,
    feet_and_inches,
)
from materials.takeoffs.calc.wording import Say, counted, number

F = Fraction
MOST_KINDS = 6


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    found = find_dome(given)
    made, radius = found.made, found.radius
    figures = _struts(say, made, radius, given["struts"])
    figures += [
        counted(f"hub-{ends}", f"Hubs of {ends} struts", count, "counted from the shape")
        for ends, count in made.hub_counts.items()
    ]
    figures += [
        counted(f"face-{kind.lower()}", f"Triangles {kind}", count, "by the letters of their sides")
        for kind, count in made.face_counts.items()
    ]
    square = f"{say.length(radius)}²"
    figures.append(
        say.areas(
            "skin",
            "Skin area",
            made.skin * radius**2,
            f"{len(made.faces)} triangles, {number(made.skin)} × {square}",
        )
    )
    if made.base:
        around = made.floor_radius * radius
        figures += [
            say.areas(
                "floor",
                "Floor inside the lowest struts",
                made.floor * radius**2,
                f"polygon of {len(made.base)} corners, {number(made.floor)} × {square}",
            ),
            say.areas(
                "circle",
                "Floor of the circle around it",
                PI * around**2,
                f"π × ({say.length(around)})²",
            ),
        ]
    figures.append(
        say.lengths(
            "height",
            "Height",
            made.height * radius,
            f"{number(made.height)} × {say.length(radius)}",
        )
    )
    figures += standing(say, given, made, radius)
    cover = panels(say, given, made, radius)
    notes = (
        *found.notes,
        *_notes(say, made, radius),
        *wall_notes(say, given),
        *cover.notes,
    )
    more = (cover.drawing,) if cover.drawing else ()
    drawing = _drawing(say, given, made, radius)
    pieces = panel_pieces(made, radius, say.is_metric)
    return Worked((*figures, *cover.figures), drawing, notes, more, pieces)


def _pieces(made: Dome, struts: str | None) -> list[int]:
    """Pieces of each kind of strut: one a strut, two, or one for each triangle beside it."""
    if struts == "double":
        return [2 * count for count in made.strut_counts]
    if struts == "frames":
        sides = Counter("".join(kind * n for kind, n in made.face_counts.items()))
        return [sides[letter(kind)] for kind in range(len(made.factors))]
    return made.strut_counts


def _struts(say: Say, made: Dome, radius: Fraction, struts: str | None) -> list[Figure]:
    figures, total = [], F(0)
    pieces = _pieces(made, struts)
    for kind, (factor, count) in enumerate(zip(made.factors, pieces, strict=True)):
        length = F(factor) * radius
        total += count * length
        places = made.strut_counts[kind]
        doubled = f"{places} struts, " if count != places else ""
        figures.append(
            say.sized(
                f"strut-{letter(kind).lower()}",
                f"Strut {letter(kind)}",
                count,
                length,
                f"{doubled}{factor:.5f} × {say.length(radius)} each{_on_tape(say, length)}",
            )
        )
    formula = " + ".join(f"{number(each.value)} × {each.size}" for each in figures)
    figures.append(say.lengths("struts", "All struts together", total, formula))
    return figures


def _on_tape(say: Say, length: Fraction) -> str:
    """The nearest sixteenth of an inch, for who measures in feet."""
    return "" if say.is_metric else f", about {feet_and_inches(length, nearest=True)}"


def _notes(say: Say, made: Dome, radius: Fraction) -> tuple[str, ...]:
    share = F(len(made.faces), 20 * made.frequency**2)
    notes = [
        f"{len(made.faces)} of the {20 * made.frequency**2} triangles of the whole sphere"
        f" ({round_half_up(share * 100, 0)}%), {len(made.struts)} struts, {len(made.places)} hubs.",
        "Lengths run from middle to middle of the hubs: subtract what your hubs need.",
        "Each edge of the icosahedron is divided evenly (class I; see NASA CR-1734, 1971).",
    ]
    uneven = made.unevenness * radius
    if uneven > F(1, 1000) * radius:
        notes.append(f"The base is not level: its hubs differ by {say.length(uneven)} in height.")
    return tuple(notes)


def _drawing(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> Drawing:
    """The near half from the side, each kind of strut in a line of its own."""
    low = min(F(z) for _, _, z in made.places)
    knee = (given["knee"] or F(0)) / radius
    board = Board(F(2), max(1 - low, F(1, 4)) + knee)
    marks = _wall_marks(board, made, low, knee)
    for one, other, kind in made.struts:
        ends = [made.places[one], made.places[other]]
        if ends[0][1] + ends[1][1] > 0:
            continue
        points = [(1 + F(x), F(z) - low + knee) for x, _, z in ends]
        marks.append(board.line(f"strut-{min(kind, MOST_KINDS - 1)}", *points))
    for each in given["entrance"][:1]:
        wide, tall = each.width / radius, each.height / radius
        marks.append(board.box("open", 1 - wide / 2, 0, wide, tall))
    marks += [
        board.below(f"sphere {say.length(2 * radius)} across"),
        board.beside(say.length((made.height + knee) * radius)),
    ]
    struts = "; ".join(
        f"{count} of {letter(kind)}, {say.length(F(factor) * radius)}"
        for kind, (factor, count) in enumerate(zip(made.factors, made.strut_counts, strict=True))
    )
    words = (
        f"A {made.frequency}V dome of {made.rows} rows of triangles seen from its side, the near"
        f" half only. Struts: {struts}."
    )
    if knee:
        words += f" It stands on a knee wall of {say.length(given['knee'])}."
    if given["entrance"]:
        words += " The entrance is drawn in the middle."
    key = tuple(
        (f"strut-{min(kind, MOST_KINDS - 1)}", f"Strut {letter(kind)}")
        for kind in range(len(made.factors))
    )
    return Drawing("The dome from its side", words, tuple(marks), key)


def _wall_marks(board: Board, made: Dome, low: Fraction, knee: Fraction) -> list[Mark]:
    """The near sides of the knee wall."""
    marks: list[Mark] = []
    for n, hub in enumerate(made.base):
        ends = [made.places[hub], made.places[made.base[(n + 1) % len(made.base)]]]
        if knee and ends[0][1] + ends[1][1] <= 0:
            left, right = [(1 + F(x), knee + F(z) - low) for x, _, z in ends]
            marks.append(board.area("whole", (left[0], 0), left, right, (right[0], 0)))
    return marks


SHAPES = (
    Shape(
        "dome",
        "Geodesic dome",
        "Struts, hubs, skin and floor; knee wall, entrance, edges and sheets of panels.",
        "Domes",
        (
            Question(
                "radius",
                "Radius of the sphere",
                Kind.LENGTH,
                help="To the middle of the hubs. Or leave it empty, and enter width or height.",
                needed=False,
            ),
            Question(
                "width",
                "Width at the base",
                Kind.LENGTH,
                help="Across the floor, to the middle of the hubs.",
                needed=False,
            ),
            Question(
                "height",
                "Height, without a knee wall",
                Kind.LENGTH,
                help="Lowest hub to the top. With the width, it chooses the rows.",
                needed=False,
            ),
            Question(
                "frequency",
                "Frequency",
                Kind.CHOICE,
                "2",
                "Into how many parts each edge of the icosahedron is divided.",
                choices=(("1", "1V"), ("2", "2V"), ("3", "3V"), ("4", "4V")),
            ),
            Question(
                "rows",
                "Rows of triangles, from the top",
                Kind.PART,
                help=(
                    "Like 5/9 or 5. If empty: half a sphere, or just over. 2V: 3 of 6. 3V: 4 "
                    "of 9 is called 3/8, 5 of 9 is 5/8. 4V: 6 of 12."
                ),
                needed=False,
                least=1,
                most=12,
            ),
            Question(
                "struts",
                "Each strut is",
                Kind.CHOICE,
                "single",
                needed=False,
                choices=(
                    ("single", "One piece"),
                    ("double", "Doubled, two pieces"),
                    ("frames", "One piece for each triangle beside it"),
                ),
            ),
            Question(
                "knee",
                "Height of the knee wall",
                Kind.LENGTH,
                help="Floor to the lowest hubs; empty for none.",
                needed=False,
            ),
            Question(
                "spacing",
                "Spacing of its studs",
                Kind.LENGTH,
                help="From middle to middle; empty to leave them out.",
                needed=False,
                least=F(1, 4),
            ),
            Question(
                "entrance",
                "Entrance",
                Kind.AREAS,
                help="Width x height from the floor: 3 ft x 6' 8\". Empty for none.",
                needed=False,
            ),
            Question(
                "sheet",
                "One sheet for panels",
                Kind.AREAS,
                help="Like 4 ft x 8 ft; empty to leave panels out.",
                needed=False,
            ),
            Question(
                "seam",
                "One roll or length covers",
                Kind.LENGTH,
                help="Channel, tape or sealant for the edges: like 50 ft. Empty for none.",
                needed=False,
                least=F(1, 4),
            ),
        ),
        _work,
    ),
)
