"""Feet or metres: measures are said, and figures given, in the system they were typed in."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from materials.calc.measures import format_quantity, plain
from materials.calc.units import UNITS
from materials.takeoffs.calc.types import Figure, feet_and_inches

_FT, _SQ_FT, _CU_FT = UNITS["ft"].factor, UNITS["sq ft"].factor, UNITS["cu ft"].factor
PLACES = 3


def number(value: Fraction | int) -> str:
    """A number in a formula."""
    return plain(value, PLACES)


def round_up(value: Fraction) -> int:
    """The next whole number: what has to be bought whole."""
    return -((-value).__floor__())


def summed(parts: Iterable[str]) -> str:
    """Terms of a sum."""
    return " + ".join(parts)


def allowed(share: Fraction) -> str:
    """How an allowance stands in a formula: nothing for none."""
    return f" × {number(1 + share)}" if share else ""


@dataclass(frozen=True, slots=True)
class Say:
    """Writes feet, square feet and cubic feet in one system of units."""

    is_metric: bool

    def length(self, feet: Fraction | int) -> str:
        """A length; in feet and inches where it comes out even."""
        even = "" if self.is_metric else feet_and_inches(Fraction(feet))
        return even or self._text(Fraction(feet) * _FT, "m" if self.is_metric else "ft")

    def area(self, feet: Fraction | int) -> str:
        return self._text(Fraction(feet) * _SQ_FT, "sq m" if self.is_metric else "sq ft")

    def volume(self, feet: Fraction | int) -> str:
        return self._text(Fraction(feet) * _CU_FT, "cu m" if self.is_metric else "cu ft")

    @staticmethod
    def _text(value: Fraction, symbol: str) -> str:
        return format_quantity(value / UNITS[symbol].factor, UNITS[symbol], PLACES)

    def lengths(
        self, key: str, label: str, feet: Fraction, formula: str, waste: bool = False
    ) -> Figure:
        """A figure that is a length."""
        symbol = "m" if self.is_metric else "ft"
        value = feet * _FT / UNITS[symbol].factor
        return Figure(key, label, value, symbol, formula, has_waste=waste)

    def areas(
        self, key: str, label: str, feet: Fraction, formula: str, waste: bool = False
    ) -> Figure:
        """A figure that is an area."""
        symbol = "sq m" if self.is_metric else "sq ft"
        value = feet * _SQ_FT / UNITS[symbol].factor
        return Figure(key, label, value, symbol, formula, has_waste=waste)

    def volumes(
        self,
        key: str,
        label: str,
        feet: Fraction,
        formula: str,
        customary: str = "cu yd",
        metric: str = "cu m",
        waste: bool = False,
    ) -> Figure:
        """A figure that is a volume, in cubic yards or what is said instead."""
        symbol = metric if self.is_metric else customary
        value = feet * _CU_FT / UNITS[symbol].factor
        return Figure(key, label, value, symbol, formula, has_waste=waste)

    def sized(
        self, key: str, label: str, count: int, each: Fraction, formula: str, waste: bool = False
    ) -> Figure:
        """Pieces of one length."""
        symbol = "m" if self.is_metric else "ft"
        size = each * _FT / UNITS[symbol].factor
        return Figure(key, label, Fraction(count), "piece", formula, size, symbol, waste)


def counted(
    key: str, label: str, count: int, formula: str, unit: str = "piece", waste: bool = False
) -> Figure:
    """A figure that is a whole number of things."""
    return Figure(key, label, Fraction(count), unit, formula, has_waste=waste)
