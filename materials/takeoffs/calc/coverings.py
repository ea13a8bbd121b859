"""What covers a surface: boards, sheets, paint."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Area, Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.walls import OPENINGS, opened
from materials.takeoffs.calc.waste import waste_ask
from materials.takeoffs.calc.wording import Say, allowed, counted, number, round_up

F = Fraction


def _surface(say: Say, given: Mapping[str, Any]) -> tuple[Fraction, str]:
    """Surfaces less openings, and how that came about."""
    whole, parts = opened(say, given["areas"])
    out, out_parts = opened(say, given["openings"])
    if out >= whole:
        raise TakeoffError(
            f"The openings come to {say.area(out)}, and the surfaces to {say.area(whole)}: check"
            " them.",
            "openings",
        )
    return whole - out, parts + (f" − ({out_parts})" if out else "")


def _boards(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    across, along, face = given["across"], given["along"], given["face"]
    waste = given["waste"] or F(0)
    if waste >= 1:
        raise TakeoffError("Waste cannot take all of it: enter less than 100%.", "waste")
    exact = across / face / (1 - waste)
    boards = round_up(exact)
    over = f" ÷ {number(1 - waste)}" if waste else ""
    figures = [
        say.sized(
            "boards",
            "Boards",
            boards,
            along,
            f"{say.length(across)} ÷ {say.length(face)}{over} = {number(exact)}, up to whole ones",
            waste=bool(waste),
        ),
        say.lengths(
            "length",
            "Length of all boards",
            boards * along,
            f"{boards} × {say.length(along)}",
            waste=bool(waste),
        ),
        say.areas(
            "area", "Area covered", across * along, f"{say.length(across)} × {say.length(along)}"
        ),
    ]
    if given["stock"]:
        stock = given["stock"]
        figures.append(
            say.sized(
                "stock",
                "Boards of stock length",
                round_up(boards * along / stock),
                stock,
                f"{boards} × {say.length(along)} ÷ {say.length(stock)}, up to whole ones",
                waste=bool(waste),
            )
        )
    shown = round_up(across / face)
    step = max(1, shown // 60)
    board = Board(along, across)
    marks = [board.box("whole", 0, 0, along, across)]
    marks += [
        board.line("thin", (0, n * face), (along, n * face)) for n in range(step, shown, step)
    ]
    marks += [board.below(say.length(along)), board.beside(say.length(across))]
    words = (
        f"Boards {say.length(along)} long laid side by side over {say.length(across)}, each"
        f" covering {say.length(face)}."
    )
    note = "The waste allowance comes out of what is bought, as in the manual."
    return Worked(tuple(figures), Drawing("The boards", words, tuple(marks)), (note,))


def _grid(say: Say, area: Fraction, one: Area, words: str, title: str) -> Drawing:
    """So many sheets as cover an area, laid in rows that make about a square."""
    wide = one.width or root(one.each)
    tall = one.height or root(one.each)
    count = round_up(area / one.each)
    shown = min(count, 60)
    columns = 1
    while columns * columns * wide < shown * tall:
        columns += 1
    rows = round_up(F(shown, columns))
    board = Board(columns * wide, rows * tall)
    marks: list[Mark] = []
    for n in range(shown):
        kind = "whole" if (n + 1) * one.each <= area else "open"
        marks.append(
            board.box(kind, (n % columns) * wide, (rows - 1 - n // columns) * tall, wide, tall)
        )
    marks.append(board.below(f"{count} to cover {say.area(area)}"))
    caption = words if shown == count else f"{words} {shown} of them are drawn."
    return Drawing(title, caption, tuple(marks))


def _sheathing(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    area, formula = _surface(say, given)
    sheets: Sequence[Area] = given["sheet"]
    if len(sheets) != 1 or sheets[0].count != 1:
        raise TakeoffError("Enter the size of one sheet, like 4 ft x 8 ft.", "sheet")
    one, waste = sheets[0], given["waste"] or F(0)
    if area / one.each > 10**6:
        raise TakeoffError("That is more than a million sheets: check the size of one.", "sheet")
    count = round_up(area * (1 + waste) / one.each)
    figures = [
        say.areas("area", "Area to cover", area, formula),
        counted(
            "sheets",
            "Sheets",
            count,
            f"{say.area(area)}{allowed(waste)} ÷ {say.area(one.each)}, up to whole ones",
            "sheet",
            bool(waste),
        ),
    ]
    if given["nails"]:
        figures.append(
            Figure(
                "nails",
                "Nails",
                area * given["nails"] / 1000,
                "lb",
                f"{number(area)} sq ft × {number(given['nails'])} lb ÷ 1000 sq ft",
            )
        )
    words = f"Sheets of {say.area(one.each)} over {say.area(area)}; one drawn dashed is cut."
    return Worked(tuple(figures), _grid(say, area, one, words, "The sheets"))


def coated(say: Say, given: Mapping[str, Any], area: Fraction) -> list[Figure]:
    """Paint and cans for so many coats on an area."""
    coats, coverage, can = given["coats"], given["coverage"], given["can"]
    painted = coats * area
    per = F(231, 1728) if given["per"] == "gal" else 1 / (F(3048, 10000) ** 3 * 1000)
    paint = painted / coverage * per
    name = "gal" if given["per"] == "gal" else "L"
    cans = round_up(paint / can)
    return [
        say.areas("painted", "All coats together", painted, f"{coats} × {say.area(area)}"),
        Figure(
            "paint",
            "Paint",
            painted / coverage,
            name,
            f"{say.area(painted)} ÷ {say.area(coverage)} to the {name}",
        ),
        counted(
            "cans",
            "Whole cans",
            cans,
            f"{number(paint / per)} {name} ÷ {number(can / per)} {name}, up to whole ones",
            "can",
        ),
    ]


def _paint(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    area, formula = _surface(say, given)
    coats = given["coats"]
    figures = [say.areas("area", "Surface", area, formula), *coated(say, given, area)]
    board = Board(F(12), F(7))
    marks = [
        board.box("whole" if n % 2 else "bare", 0, n * F(7, coats), 12, F(7, coats))
        for n in range(min(coats, 10))
    ]
    marks += [board.below(say.area(area)), board.beside(f"{coats} coat{'s' if coats > 1 else ''}")]
    words = f"{say.area(area)} painted {coats} time{'s' if coats > 1 else ''}, coat over coat."
    return Worked(tuple(figures), Drawing("The coats", words, tuple(marks)))


_AREAS = Question(
    "areas",
    "Surfaces",
    Kind.AREAS,
    help=("One a line, like 24 ft x 8 ft, 2 @ 12 ft x 8 ft or 528 sq ft."),
)
_STOCK = Question(
    "stock",
    "Stock length",
    Kind.LENGTH,
    help="The length they are sold in. Leave it empty to skip it.",
    needed=False,
)

COATS = (
    Question("coats", "Coats", Kind.WHOLE, "2", least=1, most=20),
    Question(
        "coverage",
        "One covers",
        Kind.AREA,
        "350 sq ft",
        "Often 350 to 400 sq ft a gallon; primer 200 to 300.",
        least=1,
    ),
    Question(
        "per",
        "Name of one can",
        Kind.CHOICE,
        "gal",
        choices=(("gal", "gallon"), ("L", ("litre"))),
    ),
    Question("can", "One can holds", Kind.VOLUME, "1 gal", least=F(1, 10000)),
)

SHAPES = (
    Shape(
        "boards",
        "Boards",
        "Flooring or siding laid side by side.",
        "Covering",
        (
            Question("across", "Width to cover", Kind.LENGTH, help="Across the boards."),
            Question("along", "Length along the boards", Kind.LENGTH),
            Question(
                "face",
                "What one board covers",
                Kind.LENGTH,
                "5 1/2 in",
                "Width of its face, without tongue or lap.",
                least=F(1, 24),
            ),
            _STOCK,
            waste_ask("boards", "15"),
        ),
        _boards,
    ),
    Shape(
        "sheathing",
        "Sheets",
        "Plywood, sheathing or drywall in whole sheets.",
        "Covering",
        (
            _AREAS,
            OPENINGS,
            Question("sheet", "One sheet", Kind.AREAS, "4 ft x 8 ft"),
            waste_ask(""),
            Question(
                "nails",
                "Nails, pounds for 1,000 sq ft",
                Kind.NUMBER,
                help="The Army's manual takes 20 lb of 8d for 1-in sheathing. If empty: none.",
                needed=False,
                most=1000,
            ),
        ),
        _sheathing,
    ),
    Shape(
        "paint",
        "Coats of paint",
        "Paint for so many coats, in whole cans.",
        "Covering",
        (
            _AREAS,
            OPENINGS,
            *COATS,
        ),
        _paint,
    ),
)
