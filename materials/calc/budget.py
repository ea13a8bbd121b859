"""Cash of a build: spent, committed, remaining, forecast at completion, sharing of cost."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .money import round_half_up, split_amount
from .prices import new_cost_of_one
from .stock import Position
from .types import Key, PersonInput

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

    Where one price is missing the other serves. Should salvage have come dearer than new,
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


@dataclass(frozen=True, slots=True)
class PersonShare:
    """What a person paid, an equal share of it among those who paid, and the balance."""

    person: PersonInput
    share: Fraction

    @property
    def balance(self) -> Fraction:
        """Paid out less share: above 0 the others owe this person."""
        return self.person.paid_out - self.share


def share_equally(persons: Sequence[PersonInput], places: int) -> list[PersonShare]:
    """Split all that was paid out equally among those who paid, exact to the minor unit."""
    payers = [person for person in persons if person.paid_for]
    whole = round_half_up(sum((person.paid_out for person in persons), ZERO), places)
    parts = split_amount(whole, [1] * len(payers), places) if payers else []
    shares = {person.key: Fraction(p) for person, p in zip(payers, parts, strict=True)}
    return [PersonShare(person, shares.get(person.key, ZERO)) for person in persons]
