"""Cash of a build: forecast at completion."""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from .prices import new_cost_of_one
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
        new = new_cost_of_one(position.component, tax_share)
        average = position.average
        if new is None and average is None:
            left_out.append(position.component.key)
            continue
        at_average += needed * (average if average is not None else new or ZERO)
        at_retail += needed * (new if new is not None else average or ZERO)
    low, high = sorted((at_average, at_retail))
    return Forecast(low, high, tuple(left_out))
