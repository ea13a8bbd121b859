"""Inputs of comparing lifetime costs: plain values, no database.

Money is in the money of today, rates are shares of one a year and above inflation, lives are
whole years. ``None`` is not known and never 0.
"""

from dataclasses import dataclass, replace
from fractions import Fraction

from ...calc.types import Key, Number

ZERO = Fraction(0)
MAX_YEARS, MAX_LIFE = 100, 200
NAMELESS = "Name what a replacement drags along, like taking off the cladding."


@dataclass(frozen=True, slots=True)
class Terms:
    """What holds for all alternatives: years studied, real rate, value of an own hour."""

    years: int
    rate: Fraction = ZERO
    hour_rate: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Dragged:
    """Other work that each replacement takes, to reach what is replaced and close up again.

    ``amount`` and ``hours`` are those of one time, beyond the replacement itself.
    """

    name: str
    amount: Fraction | None = None
    hours: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Alternative:
    """One way to do it. ``life`` and ``upkeep_every`` are whole years.

    ``replacement`` and ``again_hours``: replacing it, each time; None: as at first. ``residual``:
    what is left at the end; None: straight line. ``upkeep_change``: yearly change of the price
    of upkeep beyond inflation. ``upkeep_every`` None: there is none. ``dragged``: what each
    replacement drags along; None: nothing. The lows and highs are None where no range is stated.
    """

    key: Key
    name: str
    price: Fraction | None
    hours: Fraction | None
    life: int | None
    upkeep_every: int | None = None
    upkeep: Fraction | None = None
    upkeep_hours: Fraction | None = None
    upkeep_change: Fraction = ZERO
    replacement: Fraction | None = None
    again_hours: Fraction | None = None
    residual: Fraction | None = None
    price_low: Fraction | None = None
    price_high: Fraction | None = None
    life_low: int | None = None
    life_high: int | None = None
    dragged: Dragged | None = None

    @property
    def prices(self) -> tuple[Fraction | None, ...]:
        """Low, likely and high price, those stated, each once."""
        stated = (self.price_low, self.price, self.price_high)
        return tuple(dict.fromkeys(p for p in stated if p is not None)) or (None,)

    @property
    def lives(self) -> tuple[int | None, ...]:
        """Low, likely and high life, those stated, each once."""
        stated = (self.life_low, self.life, self.life_high)
        return tuple(dict.fromkeys(n for n in stated if n is not None)) or (None,)

    def cases(self) -> tuple["Alternative", ...]:
        """Every combination of its prices and lives; one when no range is stated."""
        return tuple(self.at(price, life) for price in self.prices for life in self.lives)

    def at(self, price: Fraction | None, life: int | None) -> "Alternative":
        """The same at another price and life."""
        return replace(self, price=price, life=life)


def is_nameless(name: str, amount: Number | None, hours: Number | None) -> bool:
    """Whether figures are stated for what a replacement drags along, but not what it is."""
    return not name and (amount is not None or hours is not None)


def out_of_order(
    kind: str, low: Number | None, likely: Number | None, high: Number | None
) -> tuple[str, str] | None:
    """What is wrong with a range: which end (``low``, ``likely`` or ``high``), and a sentence."""
    if likely is None and (low is not None or high is not None):
        return "likely", f"State the likely {kind} as well, or leave its range empty."
    if likely is None:
        return None
    if low is not None and low > likely:
        return "low", f"The lowest {kind} is above the likely one: swap them."
    if high is not None and high < likely:
        return "high", f"The highest {kind} is below the likely one: swap them."
    return None
