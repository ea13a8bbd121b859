"""Sawn lumber: nominal sizes, dressed sizes and board feet.

Dressed sizes follow Voluntary Product Standard PS 20 (American Softwood Lumber Standard), table 3,
in inches, dry and green. Lumber is named by its nominal size; a 2x8 is dressed 1-1/2 x 7-1/4 in.
Board feet are always counted on the nominal size.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, TypeAlias

Inches: TypeAlias = Fraction | int


class LumberError(ValueError):
    """A size that is no nominal lumber size; the message is one sentence for the user."""


# Nominal -> (dressed dry, dressed green), inches. Thickness of boards and dimension lumber.
_THICKNESS: Final[dict[Fraction, tuple[Fraction, Fraction]]] = {
    Fraction(1): (Fraction(3, 4), Fraction(25, 32)),
    Fraction(5, 4): (Fraction(1), Fraction(33, 32)),
    Fraction(3, 2): (Fraction(5, 4), Fraction(41, 32)),
    Fraction(2): (Fraction(3, 2), Fraction(25, 16)),
    Fraction(5, 2): (Fraction(2), Fraction(33, 16)),
    Fraction(3): (Fraction(5, 2), Fraction(41, 16)),
    Fraction(7, 2): (Fraction(3), Fraction(49, 16)),
    Fraction(4): (Fraction(7, 2), Fraction(57, 16)),
}
# Face width of boards and dimension lumber.
_WIDTH: Final[dict[Fraction, tuple[Fraction, Fraction]]] = {
    Fraction(2): (Fraction(3, 2), Fraction(25, 16)),
    Fraction(3): (Fraction(5, 2), Fraction(41, 16)),
    Fraction(4): (Fraction(7, 2), Fraction(57, 16)),
    Fraction(5): (Fraction(9, 2), Fraction(37, 8)),
    Fraction(6): (Fraction(11, 2), Fraction(45, 8)),
    Fraction(7): (Fraction(13, 2), Fraction(53, 8)),
    Fraction(8): (Fraction(29, 4), Fraction(15, 2)),
    Fraction(9): (Fraction(33, 4), Fraction(17, 2)),
    Fraction(10): (Fraction(37, 4), Fraction(19, 2)),
    Fraction(11): (Fraction(41, 4), Fraction(21, 2)),
    Fraction(12): (Fraction(45, 4), Fraction(23, 2)),
    Fraction(14): (Fraction(53, 4), Fraction(27, 2)),
    Fraction(16): (Fraction(61, 4), Fraction(31, 2)),
}
_SMALLEST_TIMBER: Final = 5
_LARGEST_TIMBER: Final = 24


def _timber(nominal: Fraction, *, green: bool) -> Fraction:
    """Dressed side of a timber: 5-6 in less 1/2, 7-15 in less 3/4, 16 in and up less 1."""
    if green or nominal < 7:
        return nominal - Fraction(1, 2)
    return nominal - (Fraction(3, 4) if nominal < 16 else 1)


@dataclass(frozen=True, slots=True)
class NominalSize:
    """A nominal cross-section in inches, thickness first; LumberError for any other size."""

    thickness: Fraction
    width: Fraction

    def __post_init__(self) -> None:
        thick, wide = self.thickness, self.width
        if self.is_timber:
            whole = thick.denominator == 1 and wide.denominator == 1
            if whole and max(thick, wide) <= _LARGEST_TIMBER:
                return
        elif thick in _THICKNESS and wide in _WIDTH and wide >= thick:
            return
        if wide in _THICKNESS and thick in _WIDTH and thick > wide:
            raise LumberError(
                f"Lumber is named by its thickness first: enter {inch_text(wide)}x"
                f"{inch_text(thick)}, not {self}."
            )
        raise LumberError(
            f"{self} is not a nominal lumber size (such as 1x4, 2x8, 4x4 or 6x8): give each "
            "measure its own unit, like '1/2 in x 4 ft x 8 ft'."
        )

    @property
    def is_timber(self) -> bool:
        """True where the least side is 5 in or more, nominal."""
        return min(self.thickness, self.width) >= _SMALLEST_TIMBER

    def dressed(self, *, green: bool = False) -> tuple[Fraction, Fraction]:
        """Dressed thickness and width in inches, dry unless `green`."""
        if self.is_timber:
            return _timber(self.thickness, green=green), _timber(self.width, green=green)
        column = 1 if green else 0
        return _THICKNESS[self.thickness][column], _WIDTH[self.width][column]

    def __str__(self) -> str:
        return f"{inch_text(self.thickness)}x{inch_text(self.width)}"


def board_feet(
    thickness_in: Inches, width_in: Inches, length_ft: Inches, pieces: Inches = 1
) -> Fraction:
    """Board feet of `pieces` sticks: pieces x thickness x width x length / 12, nominal sizes.

    Stock under 1 in thick counts as 1 in.
    """
    return Fraction(pieces) * max(Fraction(thickness_in), Fraction(1)) * width_in * length_ft / 12


def surface_measure(width_in: Inches, length_ft: Inches) -> int:
    """Surface measure of one hardwood board: width in x length ft / 12, to the nearest whole.

    A half goes up.
    """
    return (Fraction(width_in) * length_ft / 12 + Fraction(1, 2)).__floor__()


def hardwood_board_feet(
    thickness_in: Inches, width_in: Inches, length_ft: Inches, pieces: int = 1
) -> Fraction:
    """Board feet of hardwood boards: the whole surface measure, then times the thickness.

    Stock under 1 in thick counts as 1 in. Rounding comes first, board by board.
    """
    return pieces * surface_measure(width_in, length_ft) * max(Fraction(thickness_in), Fraction(1))


def inch_text(value: Fraction) -> str:
    """Inches as a builder writes them: '6', '5/4', '3-1/2', '0.3' where it is no fraction of 64."""
    if value.denominator == 1:
        return str(value.numerator)
    whole, rest = divmod(value, 1)
    if value == Fraction(5, 4):
        return "5/4"
    return f"{whole}-{rest}" if whole else str(rest)
