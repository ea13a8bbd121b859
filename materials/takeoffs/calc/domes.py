"""A geodesic dome as a shape: struts, hubs, triangles, floor and skin."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.dome_geometry import Dome, dome, letter, usual_rows
from materials.takeoffs.calc.dome_panels import dome_panels
from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.types import (
    Figure,
    Kind,
    Question,
    Shape,
    TakeoffError,
    Worked,
    feet_and_inches,
)
from materials.takeoffs.calc.wording import Say, counted, number

F = Fraction
MOST_KINDS = 6


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    frequency, radius = int(given["frequency"]), given["radius"]
    rows, of = given["rows"] or (usual_rows(frequency), 0)
    if frequency == 3 and of == 8:
        # Builders call four and five of the nine rows three and five eighths.
        rows, of = {3: 4, 5: 5}.get(rows, rows), 9 if rows in (3, 5) else of
    if of and of != 3 * frequency:
        raise TakeoffError(
            f"A {frequency}V sphere has {3 * frequency} rows of triangles, not {of}: change the"
            " frequency, or enter how many rows.",
            "rows",
        )
    if rows > 3 * frequency:
        raise TakeoffError(
            f"A {frequency}V sphere has {3 * frequency} rows of triangles: enter at most that.",
            "rows",
        )
    made = dome(frequency, rows)
    figures = _struts(say, made, radius)
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
    return Worked(
        tuple(figures),
        _drawing(say, made, radius),
        _notes(say, made, radius),
        panels=dome_panels(made, radius, say.is_metric),
    )


def _struts(say: Say, made: Dome, radius: Fraction) -> list[Figure]:
    figures, total = [], F(0)
    for kind, (factor, count) in enumerate(zip(made.factors, made.strut_counts, strict=True)):
        length = F(factor) * radius
        total += count * length
        figures.append(
            say.sized(
                f"strut-{letter(kind).lower()}",
                f"Strut {letter(kind)}",
                count,
                length,
                f"{factor:.5f} × {say.length(radius)} each{_on_tape(say, length)}",
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
        f" ({number(share * 100)}%), {len(made.struts)} struts, {len(made.places)} hubs.",
        "Lengths run from middle to middle of the hubs: subtract what your hubs need.",
    ]
    uneven = made.unevenness * radius
    if uneven > F(1, 1000) * radius:
        notes.append(f"The base is not level: its hubs differ by {say.length(uneven)} in height.")
    return tuple(notes)


def _drawing(say: Say, made: Dome, radius: Fraction) -> Drawing:
    """The near half from the side, each kind of strut in a line of its own."""
    heights = [F(z) for _, _, z in made.places]
    low = min(heights)
    board = Board(F(2), max(1 - low, F(1, 4)))
    marks: list[Mark] = []
    for one, other, kind in made.struts:
        ends = [made.places[one], made.places[other]]
        if ends[0][1] + ends[1][1] > 0:
            continue
        points = [(1 + F(x), F(z) - low) for x, _, z in ends]
        marks.append(board.line(f"strut-{min(kind, MOST_KINDS - 1)}", *points))
    marks += [
        board.below(f"sphere {say.length(2 * radius)} across"),
        board.beside(say.length(made.height * radius)),
    ]
    struts = "; ".join(
        f"{count} of {letter(kind)}, {say.length(F(factor) * radius)}"
        for kind, (factor, count) in enumerate(zip(made.factors, made.strut_counts, strict=True))
    )
    words = (
        f"A {made.frequency}V dome of {made.rows} rows of triangles seen from its side, the near"
        f" half only. Struts: {struts}."
    )
    key = tuple(
        (f"strut-{min(kind, MOST_KINDS - 1)}", f"Strut {letter(kind)}")
        for kind in range(len(made.factors))
    )
    return Drawing("The dome from its side", words, tuple(marks), key)


SHAPES = (
    Shape(
        "dome",
        "Geodesic dome",
        "Struts, hubs, triangles, floor and skin; a point on top.",
        "Domes",
        (
            Question(
                "radius",
                "Radius of the sphere",
                Kind.LENGTH,
                help="Half its width, to the middle of the hubs.",
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
        ),
        _work,
    ),
)
