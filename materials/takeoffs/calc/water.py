"""Tanks and runs of pipe."""

from collections.abc import Mapping
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.ground import COUNT, STOCK, length_ask
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.types import Kind, Question, Shape, Worked
from materials.takeoffs.calc.wording import Say, allowed, counted, round_up, summed

F = Fraction


def _tank(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    across, height, count = given["diameter"], given["height"], given["count"]
    times = f"{count} × " if count > 1 else ""
    floor = PI * across * across / 4
    round_ = f"π ÷ 4 × ({say.length(across)})²"
    figures = [
        say.volumes(
            "volume",
            "Holds",
            count * floor * height,
            f"{times}{round_} × {say.length(height)}",
            "gal",
            "L",
        ),
        say.volumes(
            "space",
            "The same in volume",
            count * floor * height,
            f"{times}{round_} × {say.length(height)}",
            "cu ft",
            "cu m",
        ),
        say.areas("floor", "Floor area", count * floor, f"{times}{round_}"),
        say.areas(
            "wall",
            "Wall area",
            count * PI * across * height,
            f"{times}π × {say.length(across)} × {say.length(height)}",
        ),
        say.lengths("around", "Around it", count * PI * across, f"{times}π × {say.length(across)}"),
    ]
    lid = height / 12 if height < across else across / 10
    board = Board(across, height + 2 * lid)
    middle = across / 2
    marks = (
        board.round("thin", middle, lid, middle, lid),
        board.box("whole", 0, lid, across, height),
        board.round("whole", middle, lid + height, middle, lid),
        board.below(f"{say.length(across)} across"),
        board.beside(say.length(height)),
    )
    words = f"A round tank {say.length(across)} across and {say.length(height)} high."
    return Worked(tuple(figures), Drawing("The tank", words, marks))


def _pipe(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    runs, stock, waste = given["runs"], given["stock"], given["waste"] or F(0)
    whole = sum((run.whole for run in runs), F(0))
    parts = summed(
        (f"{run.count} × " if run.count > 1 else "") + say.length(run.each) for run in runs
    )
    figures = [say.lengths("pipe", "Pipe", whole, parts)]
    if waste:
        figures.append(
            say.lengths(
                "with-waste",
                "Pipe with the allowance",
                whole * (1 + waste),
                f"{say.length(whole)}{allowed(waste)}",
                waste=True,
            )
        )
    if stock:
        pieces = round_up(whole * (1 + waste) / stock)
        figures.append(
            say.sized(
                "pieces",
                "Pieces of stock length",
                pieces,
                stock,
                f"{say.length(whole)}{allowed(waste)} ÷ {say.length(stock)}, up to whole ones",
                waste=bool(waste),
            )
        )
    figures += [
        counted(
            f"fitting-{n}", fitting.name[:1].upper() + fitting.name[1:], fitting.count, "as listed"
        )
        for n, fitting in enumerate(given["fittings"], 1)
    ]
    longest = sorted((run.each for run in runs for _ in range(min(run.count, 8))), reverse=True)[:8]
    board = Board(longest[0], longest[0] * 2 / 3)
    marks: list[Mark] = []
    for n, length in enumerate(longest):
        y = board.tall * (len(longest) - n) / (len(longest) + 1)
        marks.append(board.line("strong", (0, y), (length, y)))
        if stock and length / stock <= 60:
            for joint in range(1, round_up(length / stock)):
                x = joint * stock
                marks.append(board.line("thin", (x, y - board.tall / 30), (x, y + board.tall / 30)))
    marks.append(board.below(f"longest run {say.length(longest[0])}"))
    joints = ", a mark at each joint of stock lengths" if stock else ""
    words = f"Runs of pipe side by side{joints}: {parts}."
    return Worked(tuple(figures), Drawing("The runs", words, tuple(marks)))


SHAPES = (
    Shape(
        "tank",
        "Round tank",
        "Gallons, wall and floor of a cylinder.",
        "Ground",
        (COUNT, length_ask("diameter", "Diameter"), length_ask("height", "Height of the water")),
        _tank,
    ),
    Shape(
        "pipe",
        "Runs of pipe",
        "Length, pieces of stock length and fittings.",
        "Ground",
        (
            Question("runs", "Runs", Kind.LENGTHS, help="One a line: 35 ft or 2 @ 12' 6\"."),
            Question(
                "fittings", "Fittings", Kind.FITTINGS, help="One a line: 4 elbows.", needed=False
            ),
            STOCK,
            Question(
                "waste",
                "Waste allowance, %",
                Kind.PERCENT,
                "0",
                "Your own allowance.",
                needed=False,
            ),
        ),
        _pipe,
    ),
)
