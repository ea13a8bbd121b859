"""The panels of a dome: edges between them by length, and sheets to cut them from."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.dome_geometry import Dome
from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.nesting import Rows, nest
from materials.takeoffs.calc.types import Area, Figure, TakeoffError
from materials.takeoffs.calc.wording import Say, counted, round_up

F = Fraction
_DRAWN, _DRAWN_PANELS = 3, 60


@dataclass(frozen=True, slots=True)
class Panels:
    """What the panels come to; ``drawing`` shows them in their sheets."""

    figures: list[Figure]
    notes: tuple[str, ...] = ()
    drawing: Drawing | None = None


def panels(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> Panels:
    """Edges and sheets, where a sheet or what seals an edge was stated."""
    if not given["sheet"] and not given["seam"]:
        return Panels([])
    figures = _edges(say, given, made, radius)
    if not given["sheet"]:
        return Panels(figures)
    sheets, notes, drawing = _sheets(say, _sheet(given), made, radius)
    return Panels(figures + sheets, notes, drawing)


def _sheet(given: Mapping[str, Any]) -> Area:
    (one, *more) = given["sheet"]
    if more or one.count != 1 or one.width is None or one.height is None:
        raise TakeoffError("Enter the size of one sheet, like 4 ft x 8 ft.", "sheet")
    return Area(1, one.each, one.width, one.height)


def _edges(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> list[Figure]:
    """Edges by length: those between two panels, those on the base, and all sides of panels."""
    whole = (
        sum((F(f) * n for f, n in zip(made.factors, made.strut_counts, strict=True)), F(0)) * radius
    )
    ring = {
        frozenset((hub, made.base[(n + 1) % len(made.base)])) for n, hub in enumerate(made.base)
    }
    on_base = (
        sum(
            (F(made.factors[kind]) for a, b, kind in made.struts if frozenset((a, b)) in ring), F(0)
        )
        * radius
    )
    inner = whole - on_base
    between = len(made.struts) - len(ring)
    figures = [
        say.lengths(
            "edges", "Edges between panels", inner, f"{between} struts with a panel on either side"
        )
    ]
    if ring:
        figures.append(
            say.lengths("edges-base", "Edges on the base", on_base, f"{len(ring)} struts")
        )
    figures.append(
        say.lengths(
            "panel-sides",
            "All sides of the panels",
            2 * inner + on_base,
            f"2 × {say.length(inner)}" + (f" + {say.length(on_base)}" if ring else ""),
        )
    )
    if seam := given["seam"]:
        for key, label, length in (
            ("seam-edges", "Rolls or lengths, once along each edge", whole),
            ("seam-sides", "Rolls or lengths, once along each panel side", 2 * inner + on_base),
        ):
            how = f"{say.length(length)} ÷ {say.length(seam)}, up to whole ones"
            figures.append(counted(key, label, round_up(length / seam), how))
    return figures


def _sheets(
    say: Say, one: Area, made: Dome, radius: Fraction
) -> tuple[list[Figure], tuple[str, ...], Drawing | None]:
    """Sheets for each kind of panel, all of them, and what to know of it."""
    assert one.width is not None
    assert one.height is not None
    figures, nests, large, total = [], [], [], 0
    for kind, count in made.face_counts.items():
        sides = [F(made.factors[ord(each) - ord("A")]) * radius for each in kind]
        found = nest((sides[0], sides[1], sides[2]), one.width, one.height)
        if not found.count:
            large.append(kind)
            continue
        hands = 2 if len(set(kind)) == 3 else 1
        sheets = hands * round_up(F(count, hands * found.count))
        total += sheets
        nests.append((kind, found))
        way = f"2 × ({count // 2} of each hand" if hands == 2 else f"{count}"
        how = f"{way} ÷ {found.count} a sheet{')' if hands == 2 else ''}, up to whole ones"
        figures.append(
            counted(f"sheets-{kind.lower()}", f"Sheets for panels {kind}", sheets, how, "sheet")
        )
    notes = []
    if total:
        notes.append(
            "Panels lie head to tail in rows, all good face up. They run to the middle of the"
            " struts, so what a saw takes is inside them. Another layout may need fewer sheets."
        )
    if large:
        notes.append(
            f"Too large for a row in one sheet, so to be joined: panels {', '.join(large)}."
        )
    if total:
        how = " + ".join(str(int(figure.value)) for figure in figures)
        label = "Sheets for all panels" if not large else "Sheets for the panels that fit"
        figures.append(counted("sheets", label, total, how, "sheet"))
    return figures, tuple(notes), _drawing(say, one, nests) if nests else None


def _drawing(say: Say, one: Area, nests: list[tuple[str, Rows]]) -> Drawing:
    """One sheet for each kind, side by side, the shorter side across."""
    assert one.width is not None
    assert one.height is not None
    wide, tall = min(one.width, one.height), max(one.width, one.height)
    is_turned = one.width > one.height
    shown = nests[:_DRAWN]
    gap = wide / 6
    board = Board(wide * len(shown) + gap * (len(shown) - 1), tall)
    marks: list[Mark] = []
    for n, (_, found) in enumerate(shown):
        left = n * (wide + gap)
        marks.append(board.box("bare", left, 0, wide, tall))
        for triangle in found.triangles(_DRAWN_PANELS):
            points = [(y, x) if is_turned else (x, y) for x, y in triangle]
            marks.append(board.area("whole", *[(left + x, y) for x, y in points]))
    marks += [
        board.below(", ".join(kind for kind, _ in shown)),
        board.beside(say.length(tall)),
    ]
    listed = "; ".join(f"{found.count} of {kind}" for kind, found in shown)
    rest = " The first kinds are drawn." if len(nests) > _DRAWN else ""
    words = f"From left to right, what one sheet holds: {listed}.{rest}"
    return Drawing("Panels in a sheet", words, tuple(marks))
