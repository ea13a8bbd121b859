"""Raised beds of several sizes at once: soil, walls, lining, and forms used again."""

from collections.abc import Callable, Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.types import Box, Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say, allowed, number, round_up, summed

F = Fraction
_DRAWN = 8
_MOST_COURSES = 200


def _inside(given: Mapping[str, Any]) -> list[Box]:
    """The beds within their walls."""
    thick = given["thickness"] if given["walls"] != "there" else None
    inside = [
        Box(bed.count, bed.length - 2 * (thick or 0), bed.width - 2 * (thick or 0), bed.height)
        for bed in given["beds"]
    ]
    if any(min(bed.length, bed.width) <= 0 for bed in inside):
        raise TakeoffError("The walls fill a whole bed: check its width.", "thickness")
    return inside


def _sum(beds: Sequence[Box], one: Callable[[Box], Fraction]) -> Fraction:
    return sum((bed.count * one(bed) for bed in beds), F(0))


def _terms(beds: Sequence[Box], one: Callable[[Box], str]) -> str:
    return summed((f"{bed.count} × " if bed.count > 1 else "") + one(bed) for bed in beds)


def _plan(say: Say) -> Callable[[Box], str]:
    return lambda bed: f"{say.length(bed.length)} × {say.length(bed.width)}"


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    beds, inside = given["beds"], _inside(given)
    figures = [*_filling(say, given, inside), *_lining(say, given, inside)]
    if given["walls"] == "boards":
        figures += _boards(say, given, beds)
    elif given["walls"] == "poured":
        figures += _poured(say, given, beds, inside)
    notes = ["Soil settles: order more loose soil, or fill again after some rains."]
    if given["walls"] == "poured":
        notes.append(
            "Forms are counted by contact area, both faces of each wall. See that each fits the"
            " next bed. Fresh walls push: brace the forms."
        )
    if given["lining"] != "none":
        notes.append("A lined bed needs drain holes.")
    return Worked(tuple(figures), _drawing(say, beds), tuple(notes))


def _filling(say: Say, given: Mapping[str, Any], inside: Sequence[Box]) -> list[Figure]:
    """Soil, the layer below it, and where plants grow."""
    fill, layer = given["fill"], given["layer"] or F(0)
    if any(layer >= bed.height * fill for bed in inside):
        raise TakeoffError("The layer below leaves no room for soil in a bed.", "layer")
    full = f" × {number(fill * 100)}%" if fill != 1 else ""
    less = f" − {say.length(layer)}" if layer else ""

    def deep(bed: Box) -> str:
        text = f"{say.length(bed.height)}{full}"
        return f"({text}{less})" if less else text

    plan = _plan(say)
    soil = _sum(inside, lambda bed: bed.length * bed.width * (bed.height * fill - layer))
    area = _sum(inside, lambda bed: bed.length * bed.width)
    figures = [
        say.volumes("soil", "Soil", soil, _terms(inside, lambda b: f"{plan(b)} × {deep(b)}"))
    ]
    if layer:
        how = f"{say.area(area)} × {say.length(layer)}"
        figures.append(say.volumes("layer", "Layer below the soil", area * layer, how))
    figures.append(say.areas("growing", "Growing area", area, _terms(inside, plan)))
    return figures


def _lining(say: Say, given: Mapping[str, Any], inside: Sequence[Box]) -> list[Figure]:
    if given["lining"] == "none":
        return []
    waste, has_floor = given["waste"] or F(0), given["lining"] == "all"

    def one(bed: Box) -> Fraction:
        floor = bed.length * bed.width if has_floor else F(0)
        return 2 * (bed.length + bed.width) * bed.height + floor

    def how(bed: Box) -> str:
        length, width, tall = (say.length(n) for n in (bed.length, bed.width, bed.height))
        sides = f"2 × ({length} + {width}) × {tall}"
        return f"({sides} + {length} × {width})" if has_floor else sides

    area = _sum(inside, one)
    label = "Lining, sides and bottom" if has_floor else "Lining, sides"
    figures = [say.areas("lining", label, area, _terms(inside, how))]
    if waste:
        figures.append(
            say.areas(
                "with-waste",
                "Lining with the allowance",
                area * (1 + waste),
                f"{say.area(area)}{allowed(waste)}",
                waste=True,
            )
        )
    return figures


def _boards(say: Say, given: Mapping[str, Any], beds: Sequence[Box]) -> list[Figure]:
    """Boards around all beds, in whole courses."""
    face = given["board"]
    if face is None:
        raise TakeoffError("Beds of boards need the width of one board.", "board")
    if any(bed.height > _MOST_COURSES * face for bed in beds):
        raise TakeoffError("That is more than 200 courses of boards: check the heights.", "board")

    def one(bed: Box) -> Fraction:
        return round_up(bed.height / face) * 2 * (bed.length + bed.width)

    def how(bed: Box) -> str:
        around = f"2 × ({say.length(bed.length)} + {say.length(bed.width)})"
        return f"{round_up(bed.height / face)} × {around}"

    return [say.lengths("boards", "Boards around", _sum(beds, one), _terms(beds, how))]


def _poured(
    say: Say, given: Mapping[str, Any], beds: Sequence[Box], inside: Sequence[Box]
) -> list[Figure]:
    """What fills the walls, and forms: all that is formed, and what has to be made."""
    if not given["thickness"]:
        raise TakeoffError("Poured walls need a thickness.", "thickness")
    walls, contact = F(0), []
    for bed, within in zip(beds, inside, strict=True):
        walls += bed.count * (bed.length * bed.width - within.length * within.width) * bed.height
        around = 2 * (bed.length + bed.width + within.length + within.width)
        contact.append((around * bed.height, bed.count))
    total = sum((area * count for area, count in contact), F(0))
    texts = [
        (
            f"({say.length(bed.length)} × {say.length(bed.width)} − {say.length(within.length)} ×"
            f" {say.length(within.width)}) × {say.length(bed.height)}"
        )
        for bed, within in zip(beds, inside, strict=True)
    ]
    times = [f"{bed.count} × " if bed.count > 1 else "" for bed in beds]
    formed = summed(
        (f"{count} × " if count > 1 else "") + say.area(area) for area, count in contact
    )
    made, how = _forms_made(say, given["uses"] or 1, contact)
    return [
        say.volumes(
            "walls", "Walls", walls, summed(a + b for a, b in zip(times, texts, strict=True))
        ),
        say.areas("formed", "Faces to form", total, formed),
        say.areas("forms", "Forms to make", made, how),
    ]


def _forms_made(
    say: Say, uses: int, contact: Sequence[tuple[Fraction, int]]
) -> tuple[Fraction, str]:
    """Forms for the beds that stand in them at once, the largest there are.

    With each form used so many times, that is every bed over the uses, up to whole ones.
    """
    count = sum(n for _, n in contact)
    at_once = round_up(F(count, uses))
    left, made, terms = at_once, F(0), []
    for area, n in sorted(contact, reverse=True):
        taken = min(left, n)
        if taken:
            terms.append((f"{taken} × " if taken > 1 else "") + say.area(area))
            made += taken * area
            left -= taken
    largest = "the largest: " if at_once < count else ""
    return made, f"{count} ÷ {uses} → {at_once} at once, {largest}{summed(terms)}"


def _drawing(say: Say, beds: Sequence[Box]) -> Drawing:
    """The beds from above, side by side."""
    shown = [bed for bed in beds for _ in range(min(bed.count, _DRAWN))][:_DRAWN]
    gap = max(bed.width for bed in shown) / 4
    board = Board(
        sum((bed.width for bed in shown), F(0)) + gap * (len(shown) - 1),
        max(bed.length for bed in shown),
    )
    marks: list[Mark] = []
    x = F(0)
    for bed in shown:
        marks.append(board.box("whole", x, 0, bed.width, bed.length))
        x += bed.width + gap
    count = sum(bed.count for bed in beds)
    marks += [
        board.below(f"{count} bed{'s' if count > 1 else ''}"),
        board.beside(say.length(shown[0].length), shown[0].length),
    ]
    listed = "; ".join(
        f"{bed.count} of {say.length(bed.length)} × {say.length(bed.width)},"
        f" {say.length(bed.height)} high"
        for bed in beds[:_DRAWN]
    )
    rest = f" {len(shown)} of them are drawn." if len(shown) < count else ""
    return Drawing("The beds from above", f"{listed}.{rest}", tuple(marks))


SHAPES = (
    Shape(
        "beds",
        "Raised beds, several sizes",
        "A list of beds: soil, walls, lining, and forms used again.",
        "Ground",
        (
            Question(
                "beds",
                "Beds, outside",
                Kind.BOXES,
                help="Length x width x height, one size a line: 3 @ 7 ft x 3 ft x 14 in.",
            ),
            Question(
                "walls",
                "Walls",
                Kind.CHOICE,
                "boards",
                choices=(
                    ("boards", "Of boards"),
                    ("poured", "Poured in forms"),
                    ("there", "There already"),
                ),
            ),
            Question(
                "thickness",
                "Thickness of the walls",
                Kind.LENGTH,
                "1 1/2 in",
                "Empty to leave it out.",
                needed=False,
            ),
            Question(
                "board",
                "Width of one board",
                Kind.LENGTH,
                "5 1/2 in",
                "For walls of boards: as they measure.",
                needed=False,
                least=F(1, 24),
            ),
            Question(
                "uses",
                "Each form is used",
                Kind.WHOLE,
                "1",
                "For poured walls: how many times, one bed after the other.",
                needed=False,
                least=1,
                most=1000,
            ),
            Question("fill", "Filled to, %", Kind.PERCENT, "100", least=1),
            Question(
                "layer",
                "Layer below the soil",
                Kind.LENGTH,
                help="Gravel or brush at the bottom: how deep. Empty for none.",
                needed=False,
            ),
            Question(
                "lining",
                "Lining",
                Kind.CHOICE,
                "none",
                choices=(
                    ("none", "None"),
                    ("sides", "Sides"),
                    ("all", "Sides and bottom"),
                ),
            ),
            Question(
                "waste",
                "Allowance on the lining, %",
                Kind.PERCENT,
                "0",
                "Your own allowance, for laps and cuts.",
                needed=False,
            ),
        ),
        _work,
    ),
)
