"""A sourcing problem as a whole-number program, to the minor unit what the ledger would book.

Money is counted in minor units. Where the costing rules round (a line's price, a percentage,
new material, the extra cost of a conversion) the program holds a whole number of its own that
two rows force to be that rounding, so a plan's cost is the sum of the same rounded amounts.
"""

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from ..costing import DISCOUNT, charge_amount
from ..solver import Row
from ..types import ChargeInput, Key, PercentOn
from .reach import most_useful
from .types import HAULAGE, Need, Offer, Part, Problem, Recipe

ZERO, HALF = Fraction(0), Fraction(1, 2)


class Sum:
    """A constant and so much of each variable."""

    def __init__(self, parts: dict[int, Fraction] | None = None, constant: Fraction = ZERO):
        self.parts = {place: factor for place, factor in (parts or {}).items() if factor}
        self.constant = constant

    def __add__(self, other: "Sum") -> "Sum":
        parts = dict(self.parts)
        for place, factor in other.parts.items():
            parts[place] = parts.get(place, ZERO) + factor
        return Sum(parts, self.constant + other.constant)

    def times(self, factor: Fraction) -> "Sum":
        """The sum so many times."""
        parts = {place: own * factor for place, own in self.parts.items()}
        return Sum(parts, self.constant * factor)

    def of(self, values: Sequence[int]) -> Fraction:
        """What it comes to."""
        return sum((f * values[place] for place, f in self.parts.items()), self.constant)

    @property
    def is_whole(self) -> bool:
        """Whether it is a whole number whatever the variables are."""
        factors = (self.constant, *self.parts.values())
        return all(factor.denominator == 1 for factor in factors)


def total(sums: Iterable[Sum]) -> Sum:
    """All of them together."""
    parts: dict[int, Fraction] = defaultdict(Fraction)
    constant = ZERO
    for one in sums:
        constant += one.constant
        for place, factor in one.parts.items():
            parts[place] += factor
    return Sum(dict(parts), constant)


@dataclass
class Program:
    """Variables and rows as they are put together.

    ``money`` in minor units; ``hours``; ``trips``: journeys; ``taken``: 1 where anything of a
    part is; ``steps``, ``new``, ``made``: how many; ``supply``: of each component, its need not
    taken off; ``visits``: 1 where anything of an offer is taken.
    """

    places: int
    upper: list[int | None] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    money: Sum = field(default_factory=Sum)
    hours: Sum = field(default_factory=Sum)
    trips: Sum = field(default_factory=Sum)
    taken: dict[Key, Sum] = field(default_factory=dict)
    steps: dict[Key, Sum] = field(default_factory=dict)
    new: dict[Key, Sum] = field(default_factory=dict)
    made: dict[Key, Sum] = field(default_factory=dict)
    visits: dict[Key, Sum] = field(default_factory=dict)
    supply: dict[Key, Sum] = field(default_factory=dict)

    def variable(self, most: int | None = None) -> Sum:
        """A new whole number from 0 to ``most``."""
        self.upper.append(most)
        return Sum({len(self.upper) - 1: Fraction(1)})

    def at_least(self, left: Sum, right: Sum | None = None) -> None:
        """``left`` is not less than ``right`` (0)."""
        self.rows.append(row_of(left + (right or Sum()).times(Fraction(-1))))

    def rounded(self, exact: Sum) -> Sum:
        """A sum that is never below 0, rounded half up to whole minor units."""
        if exact.is_whole:
            return exact
        whole = self.variable(self._most(exact + Sum(constant=HALF)))
        size = math.lcm(2, *(f.denominator for f in (exact.constant, *exact.parts.values())))
        half_step = Sum(constant=HALF - Fraction(1, size))
        minus = Fraction(-1)
        # whole − ½ ≤ exact < whole + ½; the ends are told apart by one tick of all there is.
        self.at_least(whole + half_step, exact)
        self.at_least(exact + Sum(constant=HALF) + whole.times(minus))
        return whole

    def _most(self, exact: Sum) -> int | None:
        """The largest whole number a sum can reach; a narrow range is searched faster."""
        reach = exact.constant
        for place, factor in exact.parts.items():
            top = self.upper[place]
            if factor > 0 and top is None:
                return None
            reach += max(ZERO, factor * (top or 0))
        return max(0, math.floor(reach))

    def floored(self, exact: Sum) -> Sum:
        """The whole ones of a sum that is never below 0."""
        if exact.is_whole:
            return exact
        whole = self.variable(self._most(exact))
        size = math.lcm(*(f.denominator for f in (exact.constant, *exact.parts.values())))
        self.at_least(exact, whole)
        self.at_least(whole + Sum(constant=1 - Fraction(1, size)), exact)
        return whole


def row_of(left: Sum, low: Fraction = ZERO) -> Row:
    """``left`` ≥ ``low`` as a row in the smallest whole numbers that say the same.

    Whole variables reach only whole multiples of what their factors have in common, so the end
    is moved up to the next of these: no plan is lost, and the search is told more.
    """
    least = low - left.constant
    size = math.lcm(*(f.denominator for f in left.parts.values()))
    whole = {place: int(f * size) for place, f in left.parts.items()}
    common = math.gcd(*whole.values()) or 1
    end = math.ceil(least * size / common)
    return Row({place: f // common for place, f in whole.items()}, low=end)


def write_program(
    problem: Problem,
    price_shift: dict[Key, int] | None = None,
    wanted: Problem | None = None,
) -> Program:
    """The program of a problem; ``price_shift``: minor units to add to the price of a part.

    ``wanted``: the same problem with needs that say how much is of use, where its own ask less.
    """
    made = Program(problem.places)
    supply: dict[Key, list[Sum]] = defaultdict(list)
    costs: list[Sum] = []
    hours: list[Sum] = []
    for offer in problem.offers:
        cost = _write_offer(made, offer, price_shift or {}, supply)
        costs.append(cost)
        hours.append(made.visits[offer.key].times(offer.hours))
    costs += _write_trips(made, problem.offers)
    runs, packs = most_useful(wanted or problem)
    for recipe in problem.recipes:
        costs.append(_write_recipe(made, recipe, supply, runs[recipe.key]))
        hours.append(made.made[recipe.key].times(recipe.hours))
    for need in problem.needs:
        if need.new is not None:
            costs.append(_write_new(made, need, supply, packs[need.component]))
        made.supply[need.component] = total(supply[need.component])
        made.at_least(made.supply[need.component], Sum(constant=need.quantity - need.spare))
    made.money, made.hours = total(costs), total(hours)
    return made


def haulage_of(offer: Offer, places: int) -> int:
    """The haulage of an offer that does not hang on its price, in minor units."""
    charges = [charge for charge in offer.charges if _is_haulage(charge)]
    return sum((_fixed(charge, places) for charge in charges), 0)


def _is_haulage(charge: ChargeInput) -> bool:
    return charge.kind == HAULAGE and charge.percent is None


def _fixed(charge: ChargeInput, places: int) -> int:
    return int(charge_amount(charge, 0, 0, places) * 10**places)


def _write_offer(
    made: Program, offer: Offer, price_shift: dict[Key, int], supply: dict[Key, list[Sum]]
) -> Sum:
    """The landed cost of what is taken, its own haulage included."""
    visit = made.variable(1)
    made.visits[offer.key] = visit
    prices = [_write_part(made, part, price_shift.get(part.key, 0), visit) for part in offer.parts]
    made.at_least(total(made.taken[part.key] for part in offer.parts), visit)
    for part in offer.parts:
        for component, quantity in part.brings:
            supply[component].append(made.steps[part.key].times(quantity))
    price = total(prices)
    so_far = price
    for charge in offer.charges:
        if charge.percent is None:
            amount = visit.times(Fraction(_fixed(charge, made.places)))
            is_less = amount.parts and min(amount.parts.values()) < 0
        else:
            on = so_far if charge.percent_on is PercentOn.PRICE_AND_CHARGES else price
            share = Fraction(charge.percent) / 100
            amount = made.rounded(on.times(abs(share)))
            is_less = share < 0 or charge.kind == DISCOUNT
            if is_less:
                amount = amount.times(Fraction(-1))
        so_far = so_far + amount
        if is_less:
            # Nobody is paid for taking the smaller part of an offer.
            made.at_least(so_far)
    return so_far


def _write_part(made: Program, part: Part, price_shift: int, visit: Sum) -> Sum:
    """The price of what is taken of a part, rounded as a line's price is."""
    unit = 10**made.places
    exact, steps, taken = [], [], []
    ends = [start - 1 for start, _ in part.tiers[1:]] + [part.most]
    for (start, price), end in zip(part.tiers, ends, strict=True):
        end = min(end, part.most)
        if end < start:
            continue
        here = made.variable(1)
        count = here if end == 1 else made.variable(end)
        if end > 1:
            made.at_least(count, here.times(Fraction(start)))
            made.at_least(here.times(Fraction(end)), count)
        taken.append(here)
        steps.append(count)
        exact.append(count.times((price * unit + price_shift) * part.units))
    made.taken[part.key], made.steps[part.key] = total(taken), total(steps)
    made.at_least(visit, made.taken[part.key])
    return made.rounded(total(exact))


def _write_trips(made: Program, offers: Sequence[Offer]) -> list[Sum]:
    """One haulage for all that is fetched from one supplier: the highest of what is taken."""
    trips: dict[Key, list[Offer]] = defaultdict(list)
    for offer in offers:
        trips[("offer", offer.key) if offer.supplier is None else offer.supplier].append(offer)
    costs, journeys = [], []
    for offers_together in trips.values():
        if len(offers_together) == 1:
            journeys.append(made.visits[offers_together[0].key])
            continue
        going = made.variable(1)
        journeys.append(going)
        for offer in offers_together:
            made.at_least(going, made.visits[offer.key])
            costs.append(made.visits[offer.key].times(-Fraction(haulage_of(offer, made.places))))
        reached = 0
        for level in sorted({haulage_of(offer, made.places) for offer in offers_together} - {0}):
            step = made.variable(1)
            for offer in offers_together:
                if haulage_of(offer, made.places) >= level:
                    made.at_least(step, made.visits[offer.key])
            costs.append(step.times(Fraction(level - reached)))
            reached = level
    made.trips = total(journeys)
    return costs


def _write_recipe(
    made: Program, recipe: Recipe, supply: dict[Key, list[Sum]], most: int | None
) -> Sum:
    steps = made.variable(most)
    made.made[recipe.key] = steps
    supply[recipe.source].append(steps.times(-recipe.uses))
    for out in recipe.makes:
        got = steps.times(out.quantity)
        supply[out.component].append(made.floored(got) if out.is_counted else got)
    return made.rounded(steps.times(recipe.extra * 10**made.places))


def _write_new(made: Program, need: Need, supply: dict[Key, list[Sum]], most: int | None) -> Sum:
    assert need.new is not None
    steps = made.variable(most)
    made.new[need.component] = steps
    supply[need.component].append(steps.times(need.new.covers))
    return made.rounded(steps.times(need.new.price * 10**made.places))
