"""Strips and trims: around openings and along runs, and the boards they are ripped from."""

from collections.abc import Mapping, Sequence
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.ground import STOCK
from materials.takeoffs.calc.types import Area, Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say, allowed, counted, round_up, summed

F = Fraction


def _around(given: Mapping[str, Any]) -> Fraction:
    """Length of trim around all openings, on all sides of the wall that are trimmed."""
    total = F(0)
    for each in given["openings"]:
        wide, tall = _sides(each)
        heads = 2 if given["sides"] == "four" else 1
        # A mitred corner is longer by the width of the strip on each of its two legs.
        corners = 4 * heads * given["width"] if given["corners"] == "mitred" else F(0)
        total += each.count * (2 * tall + heads * wide + corners)
    return total * (2 if given["both"] == "both" else 1)


def _sides(each: Area) -> tuple[Fraction, Fraction]:
    if each.width is None or each.height is None:
        raise TakeoffError("Enter openings here as width x height, like 3 ft x 7 ft.", "openings")
    return each.width, each.height


def _around_text(say: Say, given: Mapping[str, Any]) -> str:
    head = "2 × " if given["sides"] == "four" else ""
    corners = 8 if given["sides"] == "four" else 4
    mitred = f" + {corners} × {say.length(given['width'])}" if given["corners"] == "mitred" else ""
    terms = []
    for each in given["openings"]:
        wide, tall = _sides(each)
        times = f"{each.count} × " if each.count > 1 else ""
        terms.append(f"{times}(2 × {say.length(tall)} + {head}{say.length(wide)}{mitred})")
    both = given["both"] == "both"
    return f"2 × ({summed(terms)})" if both else summed(terms)


def _listed(say: Say, parts: Sequence[Any]) -> str:
    return summed((f"{p.count} × " if p.count > 1 else "") + say.length(p.each) for p in parts)


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    around = _around(given)
    runs = sum((each.whole for each in given["runs"]), F(0))
    gaps = sum((each.whole for each in given["gaps"]), F(0))
    if not around and not runs:
        raise TakeoffError("Enter openings, or runs, or both.", "runs")
    if gaps >= around + runs:
        raise TakeoffError("The gaps are as long as all the trim: check them.", "gaps")
    total = around + runs - gaps
    figures = []
    terms = []
    if around:
        figures.append(say.lengths("around", "Around openings", around, _around_text(say, given)))
        terms.append(say.length(around))
    if runs:
        figures.append(say.lengths("runs", "Runs", runs, _listed(say, given["runs"])))
        terms.append(say.length(runs))
    formula = summed(terms) + (f" − ({_listed(say, given['gaps'])})" if gaps else "")
    figures.insert(0, say.lengths("length", "Strips and trims", total, formula))
    figures += _bought(say, given, total)
    figures.append(
        say.areas(
            "face",
            "Face of it all",
            total * given["width"],
            f"{say.length(total)} × {say.length(given['width'])}",
        )
    )
    notes = ("Short ends are counted as used up: a cutting plan counts each piece.",)
    return Worked(tuple(figures), _drawing(say, given, total), notes)


def _bought(say: Say, given: Mapping[str, Any], total: Fraction) -> list[Figure]:
    """The length with its allowance, pieces of stock length, and boards to rip."""
    waste, stock, width = given["waste"] or F(0), given["stock"], given["width"]
    needed, text = total * (1 + waste), f"{say.length(total)}{allowed(waste)}"
    figures = []
    if waste:
        figures.append(say.lengths("with-waste", "With the allowance", needed, text, waste=True))
    strips = round_up(needed / stock) if stock else 0
    if stock:
        how = f"{text} ÷ {say.length(stock)}, up to whole ones"
        figures.append(
            say.sized("strips", "Strips of stock length", strips, stock, how, bool(waste))
        )
    if not given["board"]:
        return figures
    kerf = given["kerf"] or F(0)
    each = ((given["board"] + kerf) / (width + kerf)).__floor__()
    if not each:
        raise TakeoffError("The boards are narrower than one strip: check the widths.", "board")
    cut = f" + {say.length(kerf)}" if kerf else ""
    figures.append(
        counted(
            "rips",
            "Strips out of one board",
            each,
            f"({say.length(given['board'])}{cut}) ÷ ({say.length(width)}{cut}), down to whole ones",
        )
    )
    if stock:
        how = f"{strips} ÷ {each}, up to whole ones"
        boards = round_up(F(strips, each))
        figures.append(say.sized("boards", "Boards to rip", boards, stock, how, bool(waste)))
    else:
        figures.append(
            say.lengths(
                "boards", "Boards to rip", needed / each, f"{text} ÷ {each}", waste=bool(waste)
            )
        )
    return figures


def _drawing(say: Say, given: Mapping[str, Any], total: Fraction) -> Drawing:
    """The first opening with its trim, or a board with its strips, or one strip."""
    width = given["width"]
    if given["openings"]:
        wide, tall = _sides(given["openings"][0])
        low = width if given["sides"] == "four" else F(0)
        board = Board(wide + 2 * width, tall + width + low)
        marks: list[Mark] = [
            board.box("whole", 0, 0, wide + 2 * width, tall + width + low),
            board.box("open", width, low, wide, tall),
            board.below(say.length(wide)),
            board.beside(say.length(tall)),
        ]
        sides = "all four sides" if given["sides"] == "four" else "three sides"
        words = f"An opening with trim of {say.length(width)} on {sides}, seen from the front."
        return Drawing("The trim of an opening", words, tuple(marks))
    board = Board(width * 8, width)
    marks = [
        board.box("whole", 0, 0, width * 8, width),
        board.below(say.length(total)),
        board.beside(say.length(width)),
    ]
    words = f"Strips {say.length(width)} wide, {say.length(total)} in all; the length is cut short."
    return Drawing("The strips", words, tuple(marks))


def _choice(name: str, label: str, *choices: tuple[str, str]) -> Question:
    return Question(name, label, Kind.CHOICE, choices[0][0], choices=choices)


SHAPES = (
    Shape(
        "trims",
        "Strips and trims",
        "Trim around openings and along runs, and boards to rip for it.",
        "Covering",
        (
            Question(
                "openings",
                "Openings to trim",
                Kind.AREAS,
                help="Doors and windows, one a line: 2 @ 3 ft x 4 ft. Empty for none.",
                needed=False,
            ),
            _choice(
                "sides", "Sides of each opening", ("three", "Three, as a door"), ("four", "Four")
            ),
            _choice(
                "both", "Sides of the wall", ("one", "One"), ("both", "Both, inside and outside")
            ),
            _choice(
                "corners",
                "Length at the corners",
                ("plain", "As the opening measures"),
                ("mitred", "Mitred: longer by its width"),
            ),
            Question(
                "runs",
                "Runs",
                Kind.LENGTHS,
                help="Baseboards, edges and battens, one a line: 14 ft or 6 @ 7' 4\".",
                needed=False,
            ),
            Question(
                "gaps",
                "Gaps to leave out",
                Kind.LENGTHS,
                help="Doors in a run of baseboard, one a line: 3 @ 32 in.",
                needed=False,
            ),
            Question("width", "Width of one strip", Kind.LENGTH, "2 1/2 in", least=F(1, 192)),
            STOCK,
            Question(
                "board",
                "Width of the boards to rip",
                Kind.LENGTH,
                help="As they measure; empty where strips are there already.",
                needed=False,
            ),
            Question(
                "kerf", "Width of one saw cut", Kind.LENGTH, "1/8 in", needed=False, most=F(1, 12)
            ),
            Question(
                "waste",
                "Waste allowance, %",
                Kind.PERCENT,
                "0",
                "Your own allowance.",
                needed=False,
            ),
        ),
        _work,
    ),
)
