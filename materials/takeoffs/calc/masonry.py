"""Blocks and bricks, and lists of lumber."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, Sized, TakeoffError, Worked
from materials.takeoffs.calc.walls import OPENINGS, opened
from materials.takeoffs.calc.waste import to_nearest, waste_ask
from materials.takeoffs.calc.wording import Say, allowed, counted, number, round_up, summed

F = Fraction


# Faces of a nominal 8x8x16 block in its joints: three in four feet, three courses in two feet.
BLOCKS_A_FOOT, COURSES_A_FOOT = F(3, 4), F(3, 2)


BLOCKS_A_SQ_FT, BRICKS_A_SQ_FT = BLOCKS_A_FOOT * COURSES_A_FOOT, F(27, 4)


def _masonry(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    length, height = given["length"], given["height"]
    out, out_parts = opened(say, given["openings"])
    area, waste = length * height, given["waste"] or F(0)
    if out >= area:
        raise TakeoffError("The openings are larger than the wall: check them.", "openings")
    figures: list[Figure] = []
    if given["unit"] == "block":
        row, courses = round_up(length * BLOCKS_A_FOOT), round_up(height * COURSES_A_FOOT)
        less = (out * BLOCKS_A_SQ_FT).__floor__()
        units, per = row * courses - less, BLOCKS_A_SQ_FT
        formula = f"{row} a course × {courses} courses"
        figures = [
            counted("course", "Blocks in a course", row, f"{number(length)} ft × ¾"),
            counted("courses", "Courses", courses, f"{number(height)} ft × 3/2"),
        ]
        formula += f" − {number(out)} sq ft × {number(per)}" if out else ""
    else:
        per = BRICKS_A_SQ_FT if given["unit"] == "brick" else given["per_sq_ft"]
        if per is None:
            raise TakeoffError("Say how many of your units cover a square foot.", "per_sq_ft")
        units = round_up((area - out) * per)
        formula = f"{number(area - out)} sq ft × {number(per)}, up to whole ones"
    if units > 10**7:
        raise TakeoffError("That is more than ten million units: check the measures.", "per_sq_ft")
    figures.insert(0, counted("units", "Units", units, formula))
    if waste:
        figures.insert(
            1,
            counted(
                "with-waste",
                "Units with the allowance",
                round_up(units * (1 + waste)),
                f"{units}{allowed(waste)}, up to whole ones",
                waste=True,
            ),
        )
    figures.append(
        say.areas(
            "area",
            "Wall area without openings",
            area - out,
            f"{say.length(length)} × {say.length(height)}" + (f" − ({out_parts})" if out else ""),
        )
    )
    return Worked(tuple(figures), _bond(say, length, height, per))


def _bond(say: Say, length: Fraction, height: Fraction, per: Fraction) -> Drawing:
    """Courses in running bond; units twice as long as high, and larger where there are many."""
    tall = root(1 / per / 2)
    while height / tall > 16 or length / (2 * tall) > 24:
        tall *= 2
    board = Board(length, height)
    marks = [board.box("whole", 0, 0, length, height)]
    course = F(0)
    n = 0
    while course < height:
        top = min(course + tall, height)
        if course:
            marks.append(board.line("thin", (0, course), (length, course)))
        x = tall if n % 2 else 2 * tall
        while x < length:
            marks.append(board.line("thin", (x, course), (x, top)))
            x += 2 * tall
        course, n = top, n + 1
    marks += [board.below(say.length(length)), board.beside(say.length(height))]
    words = (
        f"A wall {say.length(length)} long and {say.length(height)} high in running bond; the units"
        " are not to scale where there are many."
    )
    return Drawing("The wall", words, tuple(marks))


def _more_of_each(pieces: Sequence[Sized], waste: Fraction, nearest: bool) -> list[Figure]:
    """Pieces with the allowance: each size is rounded by itself, for each is bought by itself."""
    sizes: dict[str, int] = {}
    for each in pieces:
        name = "".join(each.name.casefold().split())
        sizes[name] = sizes.get(name, 0) + each.count
    how = "half up" if nearest else "up to whole ones"
    more = {}
    for name, count in sizes.items():
        exact = F(count) * (1 + waste)
        more[name] = int(to_nearest(exact)) if nearest else round_up(exact)
    if len(sizes) == 1:
        ((name, count),) = sizes.items()
        label, formula = f"Pieces of {name} with the allowance", f"{count}{allowed(waste)}, {how}"
        return [counted("pieces-waste", label, more[name], formula, waste=True)]
    figures = [
        counted(
            f"pieces-waste-{number}",
            f"Pieces of {name} with the allowance",
            more[name],
            f"{count}{allowed(waste)}, {how}",
            waste=True,
        )
        for number, (name, count) in enumerate(sizes.items(), start=1)
    ]
    terms = summed(f"{number} of {name}" for name, number in more.items())
    label = "All sizes together, each with the allowance"
    whole = counted("pieces-waste", label, sum(more.values()), terms, waste=True)
    return [*figures, whole]


def _lumber(given: Mapping[str, Any]) -> Worked:
    pieces, waste = given["pieces"], given["waste"] or F(0)
    count = sum(each.count for each in pieces)
    feet = sum((each.whole for each in pieces), F(0))
    parts = summed(f"{each.count} × {number(each.each)}" for each in pieces)
    figures = [
        Figure(
            "board-feet",
            "Board feet",
            feet,
            "bf",
            f"{parts}; each is thickness × width × length ÷ 12",
        ),
        counted("pieces", "Pieces", count, summed(str(each.count) for each in pieces)),
    ]
    if waste:
        with_waste = feet * (1 + waste)
        nearest = given["rounding"] == "nearest"
        sizes = _more_of_each(pieces, waste, nearest)
        figures += [
            Figure(
                "with-waste",
                "Board feet with the allowance",
                with_waste,
                "bf",
                f"{number(feet)}{allowed(waste)}",
                has_waste=True,
            ),
            *sizes,
        ]
    widest = max(each.whole for each in pieces)
    shown = pieces[:8]
    board = Board(widest, widest * 2 / 3)
    step = board.tall / len(shown)
    marks: list[Mark] = []
    for n, each in enumerate(shown):
        base = board.tall - (n + 1) * step
        marks.append(board.box("whole", 0, base + step / 6, each.whole, step * 2 / 3))
        x, y = board.place(0, base + step / 2)
        marks.append(Mark("text", "", x=x - 6, y=y + 5, text=each.name[:12], anchor="end"))
    marks.append(board.below(f"{number(feet)} board feet"))
    words = (
        "Board feet of each line: "
        + "; ".join(f"{each.count} of {each.name} come to {number(each.whole)}" for each in pieces)
        + "."
    )
    return Worked(tuple(figures), Drawing("Board feet, line by line", words, tuple(marks)))


SHAPES = (
    Shape(
        "masonry",
        "Blocks or bricks",
        "Concrete blocks by the 3/4 and 3/2 rule, bricks, or your own unit.",
        "Covering",
        (
            Question(
                "unit",
                "Unit",
                Kind.CHOICE,
                "block",
                choices=(
                    ("block", "Block, nominal 8x8x16"),
                    ("brick", "Modular brick, 6.75 to the sq ft"),
                    ("own", "My own unit"),
                ),
            ),
            Question("length", "Length", Kind.LENGTH),
            Question("height", "Height", Kind.LENGTH),
            OPENINGS,
            Question(
                "per_sq_ft",
                "My own unit: how many to a square foot",
                Kind.NUMBER,
                needed=False,
                most=100,
            ),
            waste_ask(""),
        ),
        _masonry,
    ),
    Shape(
        "lumber",
        "List of lumber",
        "Board feet of nominal sizes.",
        "Covering",
        (
            Question("pieces", "Pieces", Kind.LUMBER, help="One a line: 12 @ 2x8x12."),
            waste_ask("lumber", "10"),
            Question(
                "rounding",
                "Pieces with the allowance",
                Kind.CHOICE,
                "up",
                choices=(
                    ("up", "Up to the next whole piece"),
                    ("nearest", "A half and more up, less dropped"),
                ),
            ),
        ),
        _lumber,
    ),
)
