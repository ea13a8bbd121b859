"""Which alternative is cheapest, what would change the choice, and how sure it is.

An alternative is compared with the cheapest of the others at their likely figures. Prices and
lives at which a choice changes are exact: a price by solving, a life by trying every whole year.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from math import prod

from .present_cost import CostKind, PriceLine, Timeline, make_timeline, price_line, quick_cost
from .types import MAX_LIFE, Alternative, Terms

Span = tuple[int, int | None]
ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class Count:
    """In how many of some cases something holds."""

    cheaper: int
    cases: int


@dataclass(frozen=True, slots=True)
class Standing:
    """Where an alternative stands among the others.

    ``rival``: the cheapest of the others, None when none is known. ``line``: how its present
    value hangs on its first cost. ``lives``: the lives at which it costs no more than its
    rival, as (from, to); an open end means however long; None when not known. ``low`` and
    ``high``: its present value over its own cases. ``own``: in how many
    of them it is cheaper than its rival. ``joint``: in how many combinations of everybody's
    cases it is the cheapest.
    """

    timeline: Timeline
    cost: Fraction | None
    rival: Timeline | None
    rival_cost: Fraction | None
    line: PriceLine | None
    lives: tuple[Span, ...] | None
    low: Fraction | None
    high: Fraction | None
    own: Count | None
    joint: Count | None

    @property
    def ahead(self) -> Fraction | None:
        """By how much it is cheaper than its rival, below 0 when it costs more."""
        if self.cost is None or self.rival_cost is None:
            return None
        return self.rival_cost - self.cost

    @property
    def break_even_price(self) -> Fraction | None:
        """The first cost at which it costs what its rival does.

        Below 0: not even given would it be as cheap. None when something else is not known.
        """
        if self.line is None or self.rival_cost is None or self.line.slope <= 0:
            return None
        return (self.rival_cost - self.line.fixed) / self.line.slope

    def highest_price(self, places: int) -> Decimal | None:
        """The highest first cost, in minor units, at which it costs no more; None for none."""
        price = self.break_even_price
        if price is None or price < 0:
            return None
        return Decimal(int(price * 10**places)).scaleb(-places)

    @property
    def break_even_life(self) -> int | None:
        """The life under which it costs more; None when there is none, or more than one."""
        if not self.lives or len(self.lives) > 1 or self.lives[0][1] is not None:
            return None
        return self.lives[0][0] if self.lives[0][0] > 1 else None

    @property
    def has_range(self) -> bool:
        """Whether a range of its price or life is stated."""
        return self.own is not None and self.own.cases > 1


@dataclass(frozen=True, slots=True)
class Comparison:
    """All alternatives, in their order, compared in cash or with hours."""

    terms: Terms
    with_hours: bool
    standings: tuple[Standing, ...]

    @property
    def known(self) -> tuple[Standing, ...]:
        """Those whose present cost is known, the cheapest first."""
        known = [row for row in self.standings if row.cost is not None]
        return tuple(sorted(known, key=lambda row: row.cost or ZERO))

    @property
    def cheapest(self) -> Standing | None:
        """The cheapest; None when fewer than two are known or the first two are alike."""
        known = self.known
        if len(known) < 2 or known[0].cost == known[1].cost:
            return None
        return known[0]

    @property
    def left_out(self) -> tuple[Standing, ...]:
        """Those whose present cost is not known."""
        return tuple(row for row in self.standings if row.cost is None)


def compare(terms: Terms, alternatives: Sequence[Alternative], with_hours: bool) -> Comparison:
    """Compare alternatives at their likely figures, and over the ranges stated."""
    timelines = [make_timeline(terms, one) for one in alternatives]
    costs = [timeline.cost(with_hours) for timeline in timelines]
    # Over their cases count those alone whose present cost is known throughout.
    cases = [_case_costs(terms, one, with_hours) for one in alternatives]
    standings = []
    for place, one in enumerate(alternatives):
        rival = min(
            (other for other, cost in enumerate(costs) if other != place and cost is not None),
            key=lambda other: costs[other] or ZERO,
            default=None,
        )
        rival_cost = None if rival is None else costs[rival]
        own = cases[place]
        standings.append(
            Standing(
                timelines[place],
                costs[place],
                None if rival is None else timelines[rival],
                rival_cost,
                price_line(terms, one, with_hours),
                None if rival_cost is None else lives_within(terms, one, rival_cost, with_hours),
                min(own) if own else None,
                max(own) if own else None,
                None
                if rival_cost is None or not own
                else Count(sum(cost < rival_cost for cost in own), len(own)),
                _joint(cases, place),
            )
        )
    return Comparison(terms, with_hours, tuple(standings))


def _case_costs(terms: Terms, one: Alternative, with_hours: bool) -> list[Fraction]:
    costs = [quick_cost(terms, case, with_hours) for case in one.cases()]
    known = [cost for cost in costs if cost is not None]
    return known if len(known) == len(costs) else []


def _joint(cases: Sequence[Sequence[Fraction]], place: int) -> Count | None:
    """Combinations of everybody's cases in which one is cheaper than all the others."""
    others = [costs for other, costs in enumerate(cases) if other != place and costs]
    if not cases[place] or not others:
        return None
    won = sum(
        prod(sum(rival > cost for rival in costs) for costs in others) for cost in cases[place]
    )
    return Count(won, len(cases[place]) * prod(len(costs) for costs in others))


def lives_within(
    terms: Terms, one: Alternative, limit: Fraction, with_hours: bool
) -> tuple[Span, ...] | None:
    """Whole lives at which its present cost does not pass a limit, as (from, to).

    Every life is tried: longer need not be cheaper, for upkeep begins anew with a replacement.
    None as the end of a span: however long, as far as lives are looked at (200 years). None
    instead of spans where the cost is not known at every life.
    """
    spans: list[Span] = []
    start: int | None = None
    for life in range(1, MAX_LIFE + 1):
        cost = quick_cost(terms, one.at(one.price, life), with_hours)
        if cost is None:
            return None
        if cost <= limit:
            start = life if start is None else start
        elif start is not None:
            spans.append((start, life - 1))
            start = None
    return tuple(spans) if start is None else (*spans, (start, None))


@dataclass(frozen=True, slots=True)
class TwoChoices:
    """The same alternatives compared in money alone and with own hours counted."""

    money: Comparison
    hours: Comparison

    @property
    def differ(self) -> bool:
        """Whether own hours change the choice: each way has a cheapest, and not the same one."""
        money, hours = self.money.cheapest, self.hours.cheapest
        if money is None or hours is None:
            return False
        return money.timeline.alternative.key != hours.timeline.alternative.key


def differences(
    one: Timeline, other: Timeline, with_hours: bool
) -> tuple[tuple[str, Fraction], ...]:
    """Why one costs what the other does not: present money by what it goes into, one less other.

    Named by ``CostKind``, and "hours" for the worth of all own hours; nothing for what is alike.
    They sum to the whole difference. Both costs must be known.
    """
    sums: dict[str, Fraction] = {kind.value: ZERO for kind in CostKind}
    for timeline, sign in ((one, 1), (other, -1)):
        for event in timeline.events:
            sums[event.kind] += sign * (event.present or ZERO)
        if with_hours:
            sums["hours"] = sums.get("hours", ZERO) + sign * (timeline.hours_value or ZERO)
    return tuple((kind, amount) for kind, amount in sums.items() if amount)
