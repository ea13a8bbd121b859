"""What a plan of sheets or ripped boards is made from, and what it is.

All lengths are exact, in one unit that the caller chooses; all money in one currency. A sheet's
length lies across the drawing, its width goes up.

- A sheet's usable part is what is left when ``trim`` has come off each of its four edges (of a
  board that is ripped: off its two ends). The saw cut that takes an edge off is part of the trim.
- Every cut goes straight from one edge of what is cut to the other, and takes one kerf. Where what
  lies behind a cut is no wider than the kerf, the cut takes all of it.
- A board is ripped along its length first, into strips as wide as their pieces, and each strip is
  cross-cut then. Sheets are cut in any order.
- A remnant is a rectangle that stays. Waste is all that does not become a piece: the area of what
  is cut less that of the pieces. Remnants are part of it, whether or not they are used again.
"""

from dataclasses import dataclass
from fractions import Fraction

ACROSS, ALONG = 0, 1


@dataclass(frozen=True)
class Sheet:
    """A kind of sheet or board: ``count`` of one size, or as many as are wanted where None.

    ``price`` is for one and None where not known; what is on hand without a price is paid for
    already and costs nothing more.
    """

    name: str
    length: Fraction
    width: Fraction
    price: Fraction | None = None
    count: int | None = None
    trim: Fraction = Fraction(0)
    is_on_hand: bool = False

    @property
    def area(self) -> Fraction:
        return self.length * self.width


@dataclass(frozen=True)
class Part:
    """Pieces of one size. ``may_turn``: the length need not run along the sheet's length.

    ``is_triangle``: with ``length`` as one side and ``width`` as the height above it; ``offset``
    is where the third corner stands along that side (None: above its middle).
    """

    name: str
    length: Fraction
    width: Fraction
    count: int
    may_turn: bool = False
    is_triangle: bool = False
    offset: Fraction | None = None

    @property
    def corner(self) -> Fraction:
        """Where the third corner of a triangle stands along its length."""
        return self.length / 2 if self.offset is None else self.offset

    @property
    def area(self) -> Fraction:
        """Of one piece."""
        return self.length * self.width / (2 if self.is_triangle else 1)


@dataclass(frozen=True)
class FlatOrder:
    """Everything that a plan depends on. ``keep``: remnants narrower than this are no use;
    ``is_ripped``: boards, ripped and then cross-cut."""

    sheets: tuple[Sheet, ...]
    parts: tuple[Part, ...]
    kerf: Fraction = Fraction(0)
    keep: Fraction = Fraction(0)
    is_ripped: bool = False


@dataclass(frozen=True)
class Form:
    """A rectangle that yields ``count`` pieces of one need, in whole steps, one kerf added to each
    side. ``turned``: the pieces lie with their length up."""

    need: int
    wide: int
    tall: int
    count: int = 1
    turned: bool = False


@dataclass(frozen=True)
class Split:
    """A rectangle cut in two: ``at`` is how much of it the first part takes."""

    axis: int
    at: int
    first: "Node"
    second: "Node"


# What becomes of a rectangle: nothing, a form that fills it (its place), or two parts of it.
Node = int | Split | None


@dataclass(frozen=True)
class Box:
    """A rectangle on a sheet: ``kind`` is piece, remnant or waste; measured from the lower left
    corner of the whole sheet."""

    kind: str
    left: Fraction
    low: Fraction
    wide: Fraction
    tall: Fraction
    need: int | None = None
    count: int = 1
    turned: bool = False


@dataclass(frozen=True)
class Saw:
    """One cut: which rectangle is cut (length, width), in which direction, how far from its left
    or lower edge, and the places in the sheet's boxes where each of the two parts ends up, None
    where it is cut further or nothing is left of it."""

    axis: int
    left: Fraction
    low: Fraction
    wide: Fraction
    tall: Fraction
    at: Fraction
    first: int | None
    second: int | None


@dataclass(frozen=True)
class FlatCut:
    """``count`` sheets of one kind that are all cut alike.

    ``pieces``: pairs of a place in the order's parts and how many one sheet yields.
    """

    sheet: int
    count: int
    pieces: tuple[tuple[int, int], ...]
    boxes: tuple[Box, ...]
    saws: tuple[Saw, ...]

    @property
    def largest(self) -> Fraction:
        """Area of the largest remnant."""
        return max(
            (b.wide * b.tall for b in self.boxes if b.kind == "remnant"), default=Fraction(0)
        )


@dataclass(frozen=True)
class FlatPlan:
    """Which sheets are cut how.

    ``cost``: of what is used, None where a price is not known; ``waste``: area; ``cost_bound`` and
    ``waste_bound``: no plan costs less, none of that cost wastes less; ``left_out``: places in the
    order's sheets that could not be used for want of a price.
    """

    cuts: tuple[FlatCut, ...]
    cost: Fraction | None
    waste: Fraction
    used: Fraction
    largest: Fraction
    cost_bound: Fraction | None
    waste_bound: Fraction
    is_least_cost: bool
    is_least_waste: bool
    is_largest: bool
    left_out: tuple[int, ...]

    @property
    def proved(self) -> bool:
        """Whether no plan costs less, and none of the same cost wastes less."""
        return self.is_least_cost and self.is_least_waste

    @property
    def sheets(self) -> int:
        """How many sheets are cut."""
        return sum(cut.count for cut in self.cuts)
