"""What a cutting plan is made from, and what it is.

All lengths are exact, in one unit that the caller chooses; all money in one currency.

- A board's usable length is its length less ``trim`` at each of its two ends. The cut that takes
  an end off is part of the trim.
- Pieces are cut one after the other from one end. Between two pieces the saw takes one kerf.
- After the last piece the saw takes one more kerf, and what is behind it is the off-cut. Where
  what is left is no longer than the kerf, the last cut takes all of it: there is no off-cut.
- Waste is all that does not become a piece: the length of the boards used less that of the
  pieces. Off-cuts are part of it, whether or not they can be used again.
"""

from dataclasses import dataclass
from fractions import Fraction

MOST_KINDS = 200
MOST_COUNT = 10_000
MOST_PIECES = 20_000


class CuttingError(ValueError):
    """What stands in the way of any plan: one plain sentence for each fault."""

    def __init__(self, *faults: str) -> None:
        super().__init__(" ".join(faults))
        self.faults = faults


@dataclass(frozen=True)
class Stock:
    """A kind of board: ``count`` of one length, or as many as are wanted where that is None.

    ``price`` is for one board and None where not known; what is on hand without a price is paid
    for already and costs nothing more. ``name`` is how people call it, ``trim`` what is cut off at
    each end.
    """

    name: str
    length: Fraction
    price: Fraction | None = None
    count: int | None = None
    trim: Fraction = Fraction(0)
    is_on_hand: bool = False

    @property
    def usable(self) -> Fraction:
        """Length between the ends that are cut off; below 0 where nothing is left."""
        return self.length - 2 * self.trim


@dataclass(frozen=True)
class Need:
    """Pieces of one length."""

    name: str
    length: Fraction
    count: int


@dataclass(frozen=True)
class Order:
    """Everything that a plan depends on."""

    stocks: tuple[Stock, ...]
    needs: tuple[Need, ...]
    kerf: Fraction = Fraction(0)


@dataclass(frozen=True)
class Cut:
    """``count`` boards of one kind that are all cut alike.

    ``stock`` is a place in the order's stocks, ``pieces`` pairs of a place in its needs and how
    many of it one board yields, the longest first; ``off_cut`` is what stays of one board in one
    length; ``kerfs`` the saw cuts in one board.
    """

    stock: int
    count: int
    pieces: tuple[tuple[int, int], ...]
    off_cut: Fraction
    kerfs: int


@dataclass(frozen=True)
class Plan:
    """Which boards are cut how.

    ``cost``: of the boards used, None where a price is not known; ``waste``: their length less
    that of the pieces; ``cost_bound`` and ``waste_bound``: no plan costs less, none of that cost
    wastes less. ``patterns``: how many ways to fill a board were looked at where that is all of
    them, else None. ``boards_alone``: how many boards the pieces and their cuts would fill if
    pieces could be split; None where boards are of several kinds. ``left_out``: places in the
    order's stocks that could not be used for want of a price.
    """

    cuts: tuple[Cut, ...]
    cost: Fraction | None
    waste: Fraction
    used: Fraction
    longest: Fraction
    cost_bound: Fraction | None
    waste_bound: Fraction
    is_least_cost: bool
    is_least_waste: bool
    is_longest: bool
    patterns: int | None
    boards_alone: Fraction | None
    left_out: tuple[int, ...]

    @property
    def proved(self) -> bool:
        """Whether no plan costs less, and none of the same cost wastes less."""
        return self.is_least_cost and self.is_least_waste

    @property
    def boards(self) -> int:
        """How many boards are cut."""
        return sum(cut.count for cut in self.cuts)
