"""Where pieces and remnants lie on a sheet, drawn in a field of fixed width."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from .triangles import triangles
from .types import Box, FlatCut, FlatOrder, FlatPlan, Part
from .words import by, letter_of, names_of, saw_lines, size_of

WIDTH = 360
# What is drawn lower than this is drawn higher than it is.
LEAST_HEIGHT = 84
# Beyond the edges, so that their lines show.
MARGIN = 2


@dataclass(frozen=True)
class Shape:
    """One rectangle or triangle: ``kind`` is piece, off-cut or waste; places are whole units."""

    kind: str
    points: str
    x: str
    y: str
    name: str


@dataclass(frozen=True)
class Drawn:
    """All sheets that are cut alike: the shapes, and the same in words.

    ``kept``: remnants by name and size; ``steps``: each cut in order.
    """

    count: int
    sheet: str
    size: str
    field: str
    edge: str
    shapes: tuple[Shape, ...]
    pieces: tuple[tuple[str, int, str], ...]
    steps: tuple[str, ...]
    kept: tuple[tuple[str, str], ...]
    is_stretched: bool
    description: str


def drawn(order: FlatOrder, plan: FlatPlan, length: Callable[[Fraction], str]) -> list[Drawn]:
    """The sheets of a plan, all to one scale across."""
    longest = max(order.sheets[cut.sheet].length for cut in plan.cuts)
    return [_drawn(order, cut, length, Fraction(WIDTH) / longest) for cut in plan.cuts]


def _drawn(
    order: FlatOrder, cut: FlatCut, length: Callable[[Fraction], str], scale: Fraction
) -> Drawn:
    sheet, names = order.sheets[cut.sheet], names_of(cut)
    upward = max(scale, LEAST_HEIGHT / sheet.width)
    height = _whole(sheet.width * upward)
    wide = _whole(sheet.length * scale)

    def at(x: Fraction, y: Fraction) -> tuple[int, int]:
        return _whole(x * scale), height - _whole(y * upward)

    shapes = tuple(
        shape
        for box, name in zip(cut.boxes, names, strict=True)
        for shape in _shapes(order, box, name, at)
    )
    pieces = tuple((letter_of(n), count, order.parts[n].name) for n, count in cut.pieces)
    kept = tuple(
        (name, by((box.wide, box.tall), length))
        for box, name in zip(cut.boxes, names, strict=True)
        if box.kind == "remnant"
    )
    listed = ", ".join(f"{count} of {name} ({letter})" for letter, count, name in pieces)
    rest = f"; {len(kept)} remnants" if len(kept) > 1 else "; one remnant" if kept else ""
    return Drawn(
        cut.count,
        f"{sheet.name} on hand" if sheet.is_on_hand else sheet.name,
        size_of(sheet, length),
        f"{-MARGIN} {-MARGIN} {WIDTH + 2 * MARGIN} {height + 2 * MARGIN}",
        f"0,0 {wide},0 {wide},{height} 0,{height}",
        shapes,
        pieces,
        tuple(saw_lines(order, cut, length)),
        kept,
        upward != scale,
        f"{listed}{rest}. The cuts below say where each lies.",
    )


def _shapes(
    order: FlatOrder, box: Box, name: str, at: Callable[[Fraction, Fraction], tuple[int, int]]
) -> list[Shape]:
    if box.need is not None and order.parts[box.need].is_triangle:
        return _strip(order.parts[box.need], order.kerf, box, name, at)
    right, top = box.left + box.wide, box.low + box.tall
    corners = [at(box.left, box.low), at(right, box.low), at(right, top), at(box.left, top)]
    points = " ".join(f"{x},{y}" for x, y in corners)
    kind = {"piece": "piece", "remnant": "off-cut", "waste": "waste"}[box.kind]
    # A name is left out where it would not fit.
    room = corners[1][0] - corners[0][0], corners[0][1] - corners[3][1]
    is_shown = room[0] >= 8 * len(name) and room[1] >= 13
    x = (corners[0][0] + corners[1][0]) // 2
    y = (corners[0][1] + corners[3][1]) // 2 + 4
    return [Shape(kind, points, str(x), str(y), name if is_shown else "")]


def _strip(
    part: Part,
    kerf: Fraction,
    box: Box,
    name: str,
    at: Callable[[Fraction, Fraction], tuple[int, int]],
) -> list[Shape]:
    """The triangles of one strip, each with its own number, on what is left of the strip."""
    edges = (0, 0), (box.wide, 0), (box.wide, box.tall), (0, box.tall)
    around = " ".join("{},{}".format(*at(box.left + x, box.low + y)) for x, y in edges)
    shapes = [Shape("waste", around, "0", "0", "")]
    first = name.partition(" ")[0]
    letter = first.rstrip("0123456789")
    number = int(first[len(letter) :])
    for more, corners in enumerate(triangles(part, kerf, box.count)):
        turned = [(part.width - y, x) if box.turned else (x, y) for x, y in corners]
        places = [at(box.left + x, box.low + y) for x, y in turned]
        points = " ".join(f"{x},{y}" for x, y in places)
        x, y = (sum(place[axis] for place in places) // 3 for axis in (0, 1))
        high = max(place[1] for place in places) - min(place[1] for place in places)
        shown = f"{letter}{number + more}" if high >= 30 else ""
        shapes.append(Shape("piece", points, str(x), str(y + 4), shown))
    return shapes


def _whole(value: Fraction) -> int:
    return (value + Fraction(1, 2)).__floor__()
