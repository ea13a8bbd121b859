"""Tanks and cisterns with sloping sides: what they hold at any depth, and their lining."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.ground import COUNT
from materials.takeoffs.calc.roots import PI, root
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say, allowed, round_up

F = Fraction
# A cubic foot of water, as tables give it for cold water; a cubic metre weighs a tonne.
POUNDS_A_CUBIC_FOOT, KILOS_A_CUBIC_METRE = F(624, 10), 1000


@dataclass(frozen=True, slots=True)
class Level:
    """A level cut: its two sides, alike for a round one."""

    is_round: bool
    length: Fraction
    width: Fraction

    @property
    def area(self) -> Fraction:
        return self.length * self.width * (PI / 4 if self.is_round else 1)

    @property
    def around(self) -> Fraction:
        return PI * self.length if self.is_round else 2 * (self.length + self.width)


@dataclass(frozen=True, slots=True)
class Frustum:
    """A body whose sides run straight from a level bottom to a level top."""

    bottom: Level
    top: Level
    height: Fraction

    def level(self, depth: Fraction) -> Level:
        """The cut at so much above the bottom."""
        part = depth / self.height
        return Level(
            self.top.is_round,
            self.bottom.length + part * (self.top.length - self.bottom.length),
            self.bottom.width + part * (self.top.width - self.bottom.width),
        )

    def holds(self, depth: Fraction) -> Fraction:
        """Volume up to a depth, by the prismoidal formula, which is exact for such bodies."""
        half = self.level(depth / 2)
        return depth / 6 * (self.bottom.area + 4 * half.area + self.level(depth).area)

    @property
    def slants(self) -> tuple[Fraction, Fraction]:
        """Length along the slope of the long sides, and of the short ones."""
        leans = (
            (self.top.width - self.bottom.width) / 2,
            (self.top.length - self.bottom.length) / 2,
        )
        long, short = (root(self.height**2 + lean**2) for lean in leans)
        return long, short

    @property
    def sides(self) -> Fraction:
        """Area of the sides, without bottom and top."""
        along, across = self.slants
        if self.top.is_round:
            return PI / 2 * (self.bottom.length + self.top.length) * along
        return (self.bottom.length + self.top.length) * along + (
            self.bottom.width + self.top.width
        ) * across


def _frustum(given: Mapping[str, Any]) -> Frustum:
    is_round = given["form"] == "round"
    top, bottom = given["top"], given["bottom"] or F(0)
    if is_round:
        wide = (top, bottom)
    else:
        wide = (given["top_width"] or top, given["bottom_width"] or bottom)
    return Frustum(Level(is_round, bottom, wide[1]), Level(is_round, top, wide[0]), given["height"])


def _depths(say: Say, given: Mapping[str, Any]) -> list[Fraction]:
    """The depths that are asked for, or each quarter."""
    height = given["height"]
    if not given["depths"]:
        return [height * n / 4 for n in (1, 2, 3)]
    depths = [each.each for each in given["depths"]]
    if max(depths) > height:
        raise TakeoffError(
            f"{say.length(max(depths))} is deeper than the tank: enter at most"
            f" {say.length(height)}.",
            "depths",
        )
    return list(dict.fromkeys(depths))


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    body, count = _frustum(given), given["count"]
    times = f"{count} × " if count > 1 else ""
    whole = count * body.holds(body.height)
    formula = _prismoid(say, body, body.height, times)
    figures = [
        say.volumes("volume", "Holds", whole, formula, "gal", "L"),
        say.volumes("space", "The same in volume", whole, formula, "cu ft", "cu m"),
    ]
    depths = _depths(say, given)
    figures += [
        say.volumes(
            f"depth-{n}",
            f"Holds at {say.length(depth)} deep",
            count * body.holds(depth),
            _prismoid(say, body, depth, times),
            "gal",
            "L",
        )
        for n, depth in enumerate(depths, 1)
    ]
    figures += _lining(say, given, body, times)
    figures += [
        say.areas("lid", "Lid", count * body.top.area, f"{times}{_area_text(say, body.top)}"),
        say.lengths("rim", "Around the rim", count * body.top.around, f"{times}around the top"),
    ]
    return Worked(tuple(figures), _drawing(say, body, depths), _notes(say, body, whole))


def _prismoid(say: Say, body: Frustum, depth: Fraction, times: str) -> str:
    areas = [body.bottom.area, body.level(depth / 2).area, body.level(depth).area]
    low, half, high = (say.area(area) for area in areas)
    return f"{times}{say.length(depth)} ÷ 6 × ({low} + 4 × {half} + {high})"


def _area_text(say: Say, level: Level) -> str:
    if level.is_round:
        return f"π ÷ 4 × ({say.length(level.length)})²"
    return f"{say.length(level.length)} × {say.length(level.width)}"


def _lining(say: Say, given: Mapping[str, Any], body: Frustum, times: str) -> list[Figure]:
    """Bottom, sides, and what lines both, lapped over the rim."""
    count, lap, waste = given["count"], given["lap"] or F(0), given["waste"] or F(0)
    bottom, sides = count * body.bottom.area, count * body.sides
    along, across = body.slants
    if body.top.is_round:
        ends = f"({say.length(body.bottom.length)} + {say.length(body.top.length)})"
        formula = f"{times}π ÷ 2 × {ends} × {say.length(along)}"
    else:
        long = f"({say.length(body.bottom.length)} + {say.length(body.top.length)})"
        short = f"({say.length(body.bottom.width)} + {say.length(body.top.width)})"
        formula = f"{long} × {say.length(along)} + {short} × {say.length(across)}"
        formula = f"{times}({formula})" if times else formula
    lined = bottom + sides + count * lap * body.top.around
    figures = [say.areas("sides", "Sides", sides, formula)]
    if bottom:
        how = f"{times}{_area_text(say, body.bottom)}"
        figures.append(say.areas("bottom", "Bottom", bottom, how))
    how = f"{say.area(bottom)} + {say.area(sides)}"
    if lap:
        how += f" + {times}{say.length(body.top.around)} × {say.length(lap)}"
    figures.insert(0, say.areas("lining", "Lining", lined, how))
    if waste:
        figures.insert(
            1,
            say.areas(
                "with-waste",
                "Lining with the allowance",
                lined * (1 + waste),
                f"{say.area(lined)}{allowed(waste)}",
                waste=True,
            ),
        )
    return figures


def _notes(say: Say, body: Frustum, whole: Fraction) -> tuple[str, ...]:
    if say.is_metric:
        weight = f"{round_up(whole * F(3048, 10000) ** 3 * KILOS_A_CUBIC_METRE):,} kg"
        how = "1,000 kg a cubic metre"
    else:
        weight, how = f"{round_up(whole * POUNDS_A_CUBIC_FOOT):,} lb", "62.4 lb a cubic foot"
    return (
        "Volume by the prismoidal formula: depth ÷ 6 × (bottom + 4 × middle + top).",
        f"Full of water it weighs {weight} ({how}): check what it stands on.",
        "Inside a tank the air can kill: test it, and keep somebody outside (29 CFR 1926,"
        " subpart AA). Cover it against children and animals. Local codes apply.",
    )


def _drawing(say: Say, body: Frustum, depths: list[Fraction]) -> Drawing:
    """From the side, with a line at each depth."""
    top, bottom = body.top.length, body.bottom.length
    wide = max(top, bottom)
    board = Board(wide, body.height)
    middle = wide / 2
    marks: list[Mark] = [
        board.area(
            "whole",
            (middle - bottom / 2, 0),
            (middle + bottom / 2, 0),
            (middle + top / 2, body.height),
            (middle - top / 2, body.height),
        )
    ]
    for depth in depths:
        half = body.level(depth).length / 2
        marks.append(board.line("thin", (middle - half, depth), (middle + half, depth)))
    marks += [
        board.above(f"{say.length(top)} at the top"),
        board.below(f"{say.length(bottom)} at the bottom" if bottom else "a point at the bottom"),
        board.beside(say.length(body.height)),
    ]
    form = "round" if body.top.is_round else "rectangular"
    words = (
        f"A {form} tank from its side, {say.length(body.height)} high,"
        f" {say.length(top)} at the top and {say.length(bottom)} at the bottom. Lines are depths."
    )
    return Drawing("The tank from its side", words, tuple(marks))


def _ask(name: str, label: str, help_: str = "", needed: bool = False) -> Question:
    return Question(name, label, Kind.LENGTH, help=help_, needed=needed)


SHAPES = (
    Shape(
        "frustum",
        "Tank with sloping sides",
        "Cisterns, troughs and basins: volume by depth, and the lining.",
        "Ground",
        (
            Question(
                "form",
                "Seen from above",
                Kind.CHOICE,
                "round",
                choices=(("round", "Round"), ("rectangular", "Rectangular")),
            ),
            COUNT,
            _ask("top", "Top: length, or width across a round one", needed=True),
            _ask("top_width", "Top: width", "Empty for round or square ones."),
            _ask(
                "bottom",
                "Bottom: length, or width across a round one",
                "Empty where it comes to a point.",
            ),
            _ask("bottom_width", "Bottom: width", "Empty for round or square ones."),
            _ask("height", "Depth, straight down", needed=True),
            Question(
                "depths",
                "Depths to read",
                Kind.LENGTHS,
                help="One a line, as on a dipstick: 2 ft. Empty for each quarter.",
                needed=False,
            ),
            _ask("lap", "Lining over the rim", "All around; empty for none."),
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
