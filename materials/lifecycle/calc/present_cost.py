"""Present cost of alternatives over a study period (ASTM E917, NIST Handbook 135).

All money is in the money of today and the rate is real, above inflation; what is stated with
inflation in it is turned into that first. Years are whole. Cash and hours are two figures;
hours have a present value only at a stated rate. ``None`` is not known and never 0.

What happens when:
- the first cost stands at the beginning, year 0;
- at the end of its life it is replaced, as often as that falls before the period ends;
- what a replacement drags along falls in the year of each, and leaves nothing at the end;
- yearly upkeep falls in every year; upkeep every so many years begins anew with each
  replacement and is not done in a year in which it is replaced or the period ends;
- what is left at the end is its last cost, by the share of its life that is still to come,
  unless an amount is stated.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from .factors import capital_recovery
from .types import Alternative, Dragged, Terms

ZERO = Fraction(0)
ONE = Fraction(1)
NOTHING = Dragged("", ZERO, ZERO)


class CostKind(StrEnum):
    """What money and hours go into."""

    FIRST = "first"
    UPKEEP = "upkeep"
    REPLACED = "replaced"
    DRAGGED = "dragged"
    LEFT = "left"


@dataclass(frozen=True, slots=True)
class Event:
    """Money and hours of one year, in today's money; ``factor`` is its SPV.

    ``LEFT`` holds what is taken off again, below 0; its hours are those of the life to come.
    """

    year: int
    kind: CostKind
    amount: Fraction | None
    hours: Fraction | None
    factor: Fraction

    @property
    def present(self) -> Fraction | None:
        """What the amount is worth at the beginning."""
        return None if self.amount is None else self.amount * self.factor

    def present_of_hours(self, rate: Fraction | None) -> Fraction | None:
        """What the hours are worth at the beginning; 0 for none, None when not known."""
        if self.hours is None or (rate is None and self.hours):
            return None
        return self.hours * (rate or ZERO) * self.factor


@dataclass(frozen=True, slots=True)
class Timeline:
    """An alternative over the years."""

    alternative: Alternative
    terms: Terms
    events: tuple[Event, ...]

    @property
    def cash(self) -> Fraction | None:
        """Present value of the money."""
        return _sum(event.present for event in self.events) if self.events else None

    @property
    def hours_worked(self) -> Fraction | None:
        """All hours that are worked, of every year alike."""
        if not self.events:
            return None
        return _sum(event.hours for event in self.events if event.kind is not CostKind.LEFT)

    @property
    def hours_value(self) -> Fraction | None:
        """Present value of the hours at the stated rate."""
        if not self.events:
            return None
        return _sum(event.present_of_hours(self.terms.hour_rate) for event in self.events)

    def cost(self, with_hours: bool) -> Fraction | None:
        """Present value of the money, or of money and hours together."""
        return _sum([self.cash, self.hours_value]) if with_hours else self.cash

    def per_year(self, with_hours: bool) -> Fraction | None:
        """The equal cost at the end of each year that has the same present value."""
        cost = self.cost(with_hours)
        if cost is None:
            return None
        return cost * capital_recovery(self.terms.rate, self.terms.years)

    def running(self, with_hours: bool) -> tuple[tuple[int, Fraction], ...]:
        """(Year, present cost up to its end), where it changes; () when it is not known."""
        if self.cost(with_hours) is None:
            return ()
        sums: dict[int, Fraction] = {}
        so_far = ZERO
        for event in self.events:
            so_far += event.present or ZERO
            if with_hours:
                so_far += event.present_of_hours(self.terms.hour_rate) or ZERO
            sums[event.year] = so_far
        return tuple(sums.items())


def _sum(values: Iterable[Fraction | None]) -> Fraction | None:
    total = ZERO
    for value in values:
        if value is None:
            return None
        total += value
    return total


def replaced_in(life: int, years: int) -> range:
    """The years in which it is replaced."""
    return range(life, years, life)


def upkept_in(every: int | None, life: int, years: int) -> tuple[int, ...]:
    """The years in which upkeep falls."""
    if every is None:
        return ()
    if every == 1:
        return tuple(range(1, years + 1))
    return tuple(
        year
        for start in range(0, years, life)
        for year in range(start + every, min(start + life, years), every)
    )


def share_left(life: int, years: int) -> Fraction:
    """The share of the last one's life that is still to come when the period ends."""
    return Fraction(-years % life, life)


def make_timeline(terms: Terms, alternative: Alternative) -> Timeline:
    """All money and hours of an alternative, by year; no event where its life is not known."""
    one, life, years = alternative, alternative.life, terms.years
    if life is None:
        return Timeline(one, terms, ())
    powers = _powers(ONE / (1 + terms.rate), years)
    grown = _powers(1 + one.upkeep_change, years)
    replacement = one.price if one.replacement is None else one.replacement
    again_hours = one.hours if one.again_hours is None else one.again_hours
    events = [Event(0, CostKind.FIRST, one.price, one.hours, ONE)]
    events += [
        Event(year, CostKind.REPLACED, replacement, again_hours, powers(year))
        for year in replaced_in(life, years)
    ]
    if (dragged := one.dragged) is not None:
        events += [
            Event(year, CostKind.DRAGGED, dragged.amount, dragged.hours, powers(year))
            for year in replaced_in(life, years)
        ]
    for year in upkept_in(one.upkeep_every, life, years):
        amount = None if one.upkeep is None else one.upkeep * grown(year)
        events.append(Event(year, CostKind.UPKEEP, amount, one.upkeep_hours, powers(year)))
    events.sort(key=lambda event: event.year)
    left = _left(one, life, years, replacement, again_hours)
    if left != (ZERO, ZERO):
        events.append(Event(years, CostKind.LEFT, *left, powers(years)))
    return Timeline(one, terms, tuple(events))


def _left(
    one: Alternative, life: int, years: int, replacement: Fraction | None, hours: Fraction | None
) -> tuple[Fraction | None, Fraction | None]:
    """What is left at the end, in money and hours, below 0."""
    if one.residual is not None:
        return -one.residual, ZERO
    share = share_left(life, years)
    if not share:
        return ZERO, ZERO
    last, last_hours = (replacement, hours) if life < years else (one.price, one.hours)
    return (
        None if last is None else -last * share,
        None if last_hours is None else -last_hours * share,
    )


@dataclass(frozen=True, slots=True)
class PriceLine:
    """A present value as it hangs on the first cost: ``fixed`` + ``slope`` x price."""

    fixed: Fraction
    slope: Fraction

    def at(self, price: Fraction) -> Fraction:
        """The present value at a price."""
        return self.fixed + self.slope * price


def price_line(terms: Terms, alternative: Alternative, with_hours: bool) -> PriceLine | None:
    """How its present value hangs on its first cost; None when something else is not known."""
    fixed = quick_cost(terms, alternative.at(ZERO, alternative.life), with_hours)
    one = quick_cost(terms, alternative.at(ONE, alternative.life), with_hours)
    return None if fixed is None or one is None else PriceLine(fixed, one - fixed)


def quick_cost(terms: Terms, alternative: Alternative, with_hours: bool) -> Fraction | None:
    """``run(…).cost(…)``, summed by kind: quick enough to be asked for every life there is."""
    one, life, years = alternative, alternative.life, terms.years
    if life is None:
        return None
    v = ONE / (1 + terms.rate)
    powers = _powers(v, years)
    replacing = powers.add(replaced_in(life, years))
    upkept = upkept_in(one.upkeep_every, life, years)
    replacement = one.price if one.replacement is None else one.replacement
    again_hours = one.hours if one.again_hours is None else one.again_hours
    dragged = one.dragged or NOTHING
    left, left_hours = _left(one, life, years, replacement, again_hours)
    end = powers(years)
    keeping = _powers(v * (1 + one.upkeep_change), years).add(upkept)
    cash = _weighed(
        (one.price, ONE),
        (replacement, replacing),
        (dragged.amount, replacing),
        (one.upkeep, keeping),
        (left, end),
    )
    if not with_hours or cash is None:
        return cash
    hours = _weighed(
        (one.hours, ONE),
        (again_hours, replacing),
        (dragged.hours, replacing),
        (one.upkeep_hours, powers.add(upkept)),
        (left_hours, end),
    )
    if hours is None or (hours and terms.hour_rate is None):
        return None
    return cash + hours * (terms.hour_rate or ZERO)


def _weighed(*parts: tuple[Fraction | None, Fraction]) -> Fraction | None:
    """Amounts by their weights; what has no weight need not be known."""
    total = ZERO
    for amount, weight in parts:
        if not weight:
            continue
        if amount is None:
            return None
        total += amount * weight
    return total


class _Powers:
    """Whole powers of a ratio up to a number of years, over one denominator."""

    def __init__(self, ratio: Fraction, years: int):
        above, below = ratio.numerator, ratio.denominator
        self._tops = [above**n * below ** (years - n) for n in range(years + 1)]
        self._below = below**years

    def __call__(self, year: int) -> Fraction:
        return Fraction(self._tops[year], self._below)

    def add(self, years: Iterable[int]) -> Fraction:
        """The powers of some years, added up."""
        return Fraction(sum(self._tops[year] for year in years), self._below)


@lru_cache(maxsize=64)
def _powers(ratio: Fraction, years: int) -> _Powers:
    return _Powers(ratio, years)
