"""Floor under a sloping ceiling: how much of it is high enough to count."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from materials.takeoffs.calc.drawing import Board, Drawing, Mark
from materials.takeoffs.calc.roofs import factor_text, slope_factor, slope_text
from materials.takeoffs.calc.types import Figure, Kind, Question, Shape, TakeoffError, Worked
from materials.takeoffs.calc.wording import Say

F = Fraction
# Feet. Both rules name the same two heights: International Residential Code 2015, sections R304
# and R305.1; ANSI Z765-2021, ceiling height.
LOW: Final = 5
HIGH: Final = 7
# R304: the least area and the least side of a room.
LEAST_ROOM: Final = 70
LEAST_SIDE: Final = 7


@dataclass(frozen=True, slots=True)
class Section:
    """A cut across a room: its ceiling rises from ``low`` over ``run``, at most to ``flat``."""

    width: Fraction
    low: Fraction
    slope: Fraction
    has_two_slopes: bool
    flat: Fraction | None = None

    @property
    def run(self) -> Fraction:
        """Level distance from a low wall to where the slope ends, if nothing cuts it short."""
        return self.width / 2 if self.has_two_slopes else self.width

    @property
    def peak(self) -> Fraction:
        """The greatest height of the ceiling."""
        peak = self.low + self.run * self.slope
        return peak if self.flat is None else min(peak, self.flat)

    @property
    def sloping(self) -> Fraction:
        """Level width of what slopes of one side."""
        return (self.peak - self.low) / self.slope if self.slope else F(0)

    def wide_at(self, height: Fraction | int) -> Fraction:
        """How wide the floor is where the ceiling is so high or higher."""
        if height <= self.low:
            return self.width
        if height > self.peak or not self.slope:
            return F(0)
        left = self.run - (height - self.low) / self.slope
        return left * (2 if self.has_two_slopes else 1)


def _section(given: Mapping[str, Any]) -> Section:
    low = given["low"] or F(0)
    if given["flat"] is not None and given["flat"] <= low:
        raise TakeoffError("The flat ceiling is no higher than the low wall: check both.", "flat")
    if not low and not given["slope"]:
        raise TakeoffError(
            "A flat ceiling needs a wall below it: enter a slope, or a height of the wall.", "slope"
        )
    return Section(given["width"], low, given["slope"], given["sides"] == "two", given["flat"])


def _work(given: Mapping[str, Any]) -> Worked:
    say: Say = given["say"]
    made, length = _section(given), given["length"]
    wide = {height: made.wide_at(height) for height in (LOW, HIGH)}
    low, high = (length * wide[height] for height in (LOW, HIGH))
    label, why = _judged(say, given, low, high, wide[LOW])
    long = say.length(length)
    figures = [
        say.areas("usable", label, low, f"{long} × {say.length(wide[LOW])}"),
        say.areas(
            "high",
            f"Floor with {say.length(HIGH)} or more above it",
            high,
            f"{long} × {say.length(wide[HIGH])}",
        ),
        say.areas(
            "whole", "Whole floor", length * made.width, f"{long} × {say.length(made.width)}"
        ),
        *_widths(say, made, wide),
        *_ceiling(say, made, length),
    ]
    return Worked(tuple(figures), _drawing(say, made, wide), why)


def _judged(
    say: Say, given: Mapping[str, Any], low: Fraction, high: Fraction, side: Fraction
) -> tuple[str, tuple[str, ...]]:
    """Whether the floor counts by the rule that was chosen, as a label, and why."""
    is_measured = given["rule"] == "measured"
    required = low if is_measured else given["required"] or F(LEAST_ROOM)
    if not low or low < required:
        label = f"Too little floor with {say.length(LOW)} above it"
    elif 2 * high < required:
        label = f"Too little of it with {say.length(HIGH)} above it"
    else:
        label = "Usable floor"
    if is_measured:
        return label, _as_measured(low, high)
    notes = [
        f"A room needs {say.area(required)} with 5 ft or more above it. Half of that needs 7 ft"
        " (IRC 2015, R304 and R305.1).",
        f"Here it is {say.area(low)}, and {say.area(high)} of that has 7 ft.",
    ]
    if min(side, given["length"]) < LEAST_SIDE:
        notes.append("R304 also asks for 7 ft of floor each way: this room is narrower.")
    notes.append("Your local code decides. Stairs, exits and floor joists have rules of their own.")
    return label, tuple(notes)


def _as_measured(low: Fraction, high: Fraction) -> tuple[str, ...]:
    """The rule of the standard, and what it makes of the floor."""
    # Down to whole ones: a part just below half is shown below half.
    part = f"{(high / low * 100).__floor__()}%" if low else "none"
    counts = "it counts" if low and 2 * high >= low else "none of it counts"
    return (
        "Floor below 5 ft never counts. Half of the floor that counts needs a ceiling of 7 ft"
        " (ANSI Z765-2021).",
        f"Here {part} of it has 7 ft: {counts}.",
    )


def _widths(say: Say, made: Section, wide: Mapping[int, Fraction]) -> list[Figure]:
    figures = []
    for height, width in wide.items():
        if not width:
            continue
        slope = f"({say.length(height)} − {say.length(made.low)}) ÷ {slope_text(made.slope)}"
        if height <= made.low:
            formula = "the whole width"
        elif made.has_two_slopes:
            formula = f"{say.length(made.width)} − 2 × {slope}"
        else:
            formula = f"{say.length(made.width)} − {slope}"
        label = f"Width with {say.length(height)} or more above it"
        figures.append(say.lengths(f"width-{height}", label, width, formula))
    return figures


def _ceiling(say: Say, made: Section, length: Fraction) -> list[Figure]:
    """Height of the peak, and the area of what slopes."""
    rise = f"{say.length(made.low)} + {say.length(made.run)} × {slope_text(made.slope)}"
    figures = [
        say.lengths(
            "peak", "Highest ceiling", made.peak, rise if made.flat != made.peak else "as stated"
        )
    ]
    if not made.slope:
        return figures
    times = 2 if made.has_two_slopes else 1
    area = times * length * made.sloping * slope_factor(made.slope)
    text = f"{say.length(length)} × {say.length(made.sloping)} × {factor_text(made.slope)}"
    label = "Sloping ceiling"
    figures.append(say.areas("sloping", label, area, f"2 × {text}" if times == 2 else text))
    return figures


def _drawing(say: Say, made: Section, wide: Mapping[int, Fraction]) -> Drawing:
    """The room cut across, with the floor that has each height."""
    board = Board(made.width, made.peak)
    corners = [(F(0), F(0)), (made.width, F(0))]
    if made.has_two_slopes:
        corners += [
            (made.width, made.low),
            (made.width - made.sloping, made.peak),
            (made.sloping, made.peak),
        ]
    else:
        corners += [(made.width, made.peak), (made.sloping, made.peak)]
    corners.append((F(0), made.low))
    marks: list[Mark] = [board.area("whole", *corners)]
    for height, width in wide.items():
        if width and height <= made.peak:
            start = made.width - width if not made.has_two_slopes else (made.width - width) / 2
            kind = "open" if height == LOW else "bare"
            marks.append(board.box(kind, start, 0, width, F(height)))
    marks += [
        board.below(say.length(made.width)),
        board.beside(say.length(made.low) if made.low else "0", made.low or made.peak / 6),
        board.above(say.length(made.peak)),
    ]
    key = (
        ("open", f"{say.length(LOW)} or more"),
        ("bare", f"{say.length(HIGH)} or more"),
    )
    words = (
        f"The room cut across, {say.length(made.width)} wide and {say.length(made.peak)} high at"
        f" most. The floor has {say.length(LOW)} over {say.length(wide[LOW])}, and"
        f" {say.length(HIGH)} over {say.length(wide[HIGH])}."
    )
    return Drawing("The room cut across", words, tuple(marks), key)


SHAPES = (
    Shape(
        "headroom",
        "Room under a slope",
        "Floor that counts under a sloping ceiling, by the rule you choose.",
        "Roofs",
        (
            Question("length", "Length of the room", Kind.LENGTH, help="Along the low wall."),
            Question("width", "Width of the room", Kind.LENGTH, help="From wall to wall."),
            Question(
                "low",
                "Height of the low wall",
                Kind.LENGTH,
                help="The knee wall, floor to ceiling; empty for none.",
                needed=False,
            ),
            Question(
                "sides",
                "The ceiling slopes to",
                Kind.CHOICE,
                "two",
                choices=(("two", "Two sides"), ("one", "One side")),
            ),
            Question("slope", "Slope", Kind.SLOPE, "8/12", "Rise over run: 8/12 or 8 in 12."),
            Question(
                "flat",
                "Height of a flat ceiling",
                Kind.LENGTH,
                help="Where it ends the slopes, as under collar ties; empty for none.",
                needed=False,
            ),
            Question(
                "rule",
                "Rule",
                Kind.CHOICE,
                "code",
                "The code says what a room needs; the standard what is counted as floor.",
                choices=(
                    ("code", "Residential code (IRC 2015)"),
                    ("measured", "Floor of a house (ANSI Z765)"),
                ),
            ),
            Question(
                "required",
                "Floor that the room needs",
                Kind.AREA,
                "70 sq ft",
                "By the code: 70 sq ft for a room to live in, but not for a kitchen.",
                needed=False,
            ),
        ),
        _work,
    ),
)
