"""What a takeoff is made of: the questions of a shape, what was read, and what it comes to.

A takeoff turns the measures of a shape into quantities. Lengths are in feet, areas in square
feet and volumes in cubic feet inside, as exact fractions; only square roots, pi and the chords
of domes are rounded, to ``roots.DIGITS`` digits.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Any

from materials.calc.lumber import NominalSize
from materials.calc.measures import format_quantity, plain
from materials.calc.units import UNITS
from materials.takeoffs.calc.drawing import Drawing


class TakeoffError(ValueError):
    """Measures that make no such shape; one sentence for the user, ``ask`` names the question."""

    def __init__(self, text: str, question: str = "") -> None:
        super().__init__(text)
        self.ask = question


def feet_and_inches(feet: Fraction, nearest: bool = False) -> str:
    """Feet as they are read off a tape: 12 ft, 16 in, 6' 8", 7' 7 1/2".

    Empty where it does not come out to a sixteenth, unless the ``nearest`` will do.
    """
    parts = feet * 12 * 16
    if parts.denominator != 1 and not nearest:
        return ""
    inches, sixteenth = divmod((parts + Fraction(1, 2)).__floor__(), 16)
    part = Fraction(sixteenth, 16)
    if not inches % 12 and not part:
        return f"{inches // 12} ft"
    less = f" {part}" if part else ""
    if inches < 24:
        return f"{inches}{less} in" if inches else f"{part} in"
    return f"{inches // 12}' {inches % 12}{less}\""


class Kind(StrEnum):
    """What is typed in answer to a question."""

    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    MASS = "mass"
    WHOLE = "whole number"
    PART = "how many of how many"
    NUMBER = "number"
    PERCENT = "percent"
    SLOPE = "slope"
    CHOICE = "choice"
    # Several, one a line.
    AREAS = "areas"
    LENGTHS = "lengths"
    VOLUMES = "volumes"
    FITTINGS = "fittings"
    LUMBER = "lumber"
    BOXES = "boxes"
    PIECES = "pieces"
    PARTS = "parts"
    BAGS = "bags"


MANY = (
    Kind.AREAS,
    Kind.LENGTHS,
    Kind.VOLUMES,
    Kind.FITTINGS,
    Kind.LUMBER,
    Kind.BOXES,
    Kind.PIECES,
    Kind.PARTS,
    Kind.BAGS,
)


@dataclass(frozen=True, slots=True)
class Question:
    """One question of a shape. ``start`` stands in the box at first; ``least`` is allowed itself.

    An empty answer to one that is not ``needed`` is None, or nothing where several are asked.
    """

    name: str
    label: str
    kind: Kind
    start: str = ""
    help: str = ""
    needed: bool = True
    least: Fraction | int = 0
    most: Fraction | int = 0
    choices: tuple[tuple[str, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Figure:
    """One quantity a shape comes to.

    ``formula`` says how, with the builder's own numbers in it. ``each``: what one piece measures
    in ``each_unit``, where pieces are of one size. ``has_waste``: an allowance is in it.
    """

    key: str
    label: str
    value: Fraction
    unit: str
    formula: str
    each: Fraction | None = None
    each_unit: str = "ft"
    has_waste: bool = False

    @property
    def is_area(self) -> bool:
        """Whether it can stand for an area of the build."""
        return UNITS[self.unit].dimension == "area"

    @property
    def size(self) -> str:
        """What one piece measures, to be read; empty without a size."""
        if self.each is None:
            return ""
        text = format_quantity(self.each, UNITS[self.each_unit], 3)
        if self.each_unit != "ft":
            return text
        return feet_and_inches(self.each) or text

    @property
    def shown(self) -> str:
        """The quantity to be read: “34 pieces of 7.625 ft”, “1,073.313 sq ft”."""
        text = format_quantity(self.value, UNITS[self.unit], 3)
        number, _, unit = text.partition(" ")
        whole, point, part = number.partition(".")
        text = f"{int(whole):,}{point}{part} {unit}"
        return f"{text} of {self.size}" if self.size else text

    @property
    def typed(self) -> str:
        """The quantity as the one parser reads it again: “30 @ 8.198011 ft”, “96 sq ft”."""
        if self.each is None:
            return format_quantity(self.value, UNITS[self.unit])
        return f"{plain(self.value)} @ {format_quantity(self.each, UNITS[self.each_unit])}"


@dataclass(frozen=True, slots=True)
class Panel:
    """``count`` triangles of one kind: a side, the height above it, and where along the side the
    third corner stands, all in ``unit``."""

    kind: str
    length: Fraction
    width: Fraction
    corner: Fraction
    count: int
    unit: str


@dataclass(frozen=True, slots=True)
class Worked:
    """What a shape comes to; ``more`` are drawings after the first one."""

    figures: tuple[Figure, ...]
    drawing: Drawing
    notes: tuple[str, ...] = ()
    more: tuple[Drawing, ...] = ()
    panels: tuple[Panel, ...] = ()

    @property
    def drawings(self) -> tuple[Drawing, ...]:
        return self.drawing, *self.more


@dataclass(frozen=True, slots=True)
class Area:
    """Surfaces alike: how many, what one measures, and its sides where they were typed."""

    count: int
    each: Fraction
    width: Fraction | None = None
    height: Fraction | None = None

    @property
    def whole(self) -> Fraction:
        return self.count * self.each


@dataclass(frozen=True, slots=True)
class Sized:
    """Things alike: how many, what one measures, and a name where one was typed."""

    count: int
    each: Fraction = Fraction(0)
    name: str = ""

    @property
    def whole(self) -> Fraction:
        return self.count * self.each


@dataclass(frozen=True, slots=True)
class Box:
    """Boxes alike: how many, and the sides of one in feet."""

    count: int
    length: Fraction
    width: Fraction
    height: Fraction


@dataclass(frozen=True, slots=True)
class Piece:
    """Pieces of lumber alike: how many, the sides of one in feet as named, and how it was typed.

    ``size`` is there for nominal lumber, which is less once it is dressed.
    """

    count: int
    thick: Fraction
    wide: Fraction
    long: Fraction
    name: str
    size: NominalSize | None = None

    def sides(self, dressed: bool) -> tuple[Fraction, Fraction]:
        """Thickness and width in feet: dry dressed ones, or full as named."""
        if self.size is None or not dressed:
            return self.thick, self.wide
        thick, wide = self.size.dressed()
        return thick / 12, wide / 12


Values = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Shape:
    """Something a builder measures. ``work`` takes what was read, by the names of ``questions``."""

    code: str
    title: str
    about: str
    group: str
    questions: tuple[Question, ...]
    work: Callable[[Mapping[str, Any]], Worked]
