"""Cash of a build: forecast at completion."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from .prices import average_and_new
from .stock import Position
from .types import Key

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Forecast:
    """Range of the cash at completion. ``left_out``: components needed but with no price at all."""

    low: Fraction
    high: Fraction
    left_out: tuple[Key, ...]


def forecast(
    positions: Iterable[Position], spent: Fraction, committed: Fraction, tax_share: Fraction
) -> Forecast:
    """Spent + committed + still needed, once at averages so far and once at new retail.

    Where one price is missing the other serves. Should salvage have cost more than new,
    the two ends are given in order.
    """
    at_average = at_retail = spent + committed
    left_out = []
    for position in positions:
        needed = position.still_needed
        if not needed:
            continue
        so_far, new = average_and_new(position.component, position.average, tax_share)
        if so_far is None or new is None:
            left_out.append(position.component.key)
            continue
        at_average += needed * so_far
        at_retail += needed * new
    low, high = sorted((at_average, at_retail))
    return Forecast(low, high, tuple(left_out))
