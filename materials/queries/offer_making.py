"""What could be made of an offer, and what it is worth to the build that way.

Worth: what all that it could serve costs without the offer, less what that costs with what it
brings at hand for nothing. Both are the cheapest plan of getting and making.
"""

from collections import defaultdict
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Sum

from ..calc.money import minor_units, round_money
from ..calc.prices import highest_price, new_cost_of_one
from ..calc.reports import CostSheet
from ..calc.shopping import is_counted
from ..calc.supply.blocks import split
from ..calc.supply.types import Problem
from ..calc.types import Key, PurchaseInput
from ..calc.ways import Led, follow
from ..choices import State
from ..models import Build, Component, Purchase, PurchaseLine
from .making import cost_of_needs, with_more
from .needed import Supply, get_supply
from .preview import LinePreview

# More ways than that say no more to anybody who has to decide.
SHOWN = 12


@dataclass(frozen=True)
class MadeFromOffer:
    """One thing that could be made of a component offered.

    ``led``: how, how many of all that is offered, what one costs and the hours in it.
    ``new``: one new with tax. ``elsewhere``: one as other open offers have it, delivered.
    ``needed``: still needed of it; None where no requirement is stated.
    """

    source: Component
    part: Component
    through: tuple[Component, ...]
    led: Led
    new: Fraction | None
    elsewhere: Fraction | None
    needed: Fraction | None
    is_extra_unknown: bool

    @property
    def is_cheaper_than_new(self) -> bool:
        """Whether one costs less than new."""
        return self.led.one is not None and self.new is not None and self.led.one < self.new


@dataclass(frozen=True)
class OfferMaking:
    """``without`` and ``with_it``: cost of all that it could serve; None where it is not known.

    ``serves``: names of what is still needed of that. ``missing``: names of what nothing but this
    offer meets. ``highest_price``: the most to pay for everything offered so that delivered it
    costs no more than it saves; None: no price. ``more_hours``: of making with it, less those
    without; ``highest_price_with_hours``: the price after them and those to fetch it, at the rate.
    """

    rows: tuple[MadeFromOffer, ...]
    serves: tuple[str, ...] = ()
    without: Decimal | None = None
    with_it: Decimal | None = None
    missing: tuple[str, ...] = ()
    highest_price: Decimal | None = None
    more_hours: Fraction = Fraction(0)
    highest_price_with_hours: Decimal | None = None

    @property
    def worth(self) -> Decimal | None:
        """What it saves; None where that is not known."""
        if self.without is None or self.with_it is None:
            return None
        return self.without - self.with_it

    @property
    def fewer_hours(self) -> Fraction:
        """Hours of making that it saves; below 0 where it takes more."""
        return -self.more_hours

    @property
    def is_extra_unknown(self) -> bool:
        """Whether an extra cost that nobody knows is missing in what it saves."""
        return any(row.is_extra_unknown for row in self.rows)

    @property
    def useful(self) -> tuple[MadeFromOffer, ...]:
        """What of it the build still needs."""
        return tuple(row for row in self.rows if row.needed)


def judge_making(
    build: Build,
    purchase: Purchase,
    offer: PurchaseInput,
    lines: Sequence[LinePreview],
    sheet: CostSheet,
    on: date,
) -> OfferMaking | None:
    """What could be made of an offer; None where nothing of it has to do with making."""
    offered: dict[Key, Fraction] = defaultdict(Fraction)
    parts: dict[Key, LinePreview] = {}
    for line in lines:
        # What is named only now has no ways yet.
        if line.component.pk is not None:
            offered[line.component.pk] += Fraction(line.usable_qty)
            parts.setdefault(line.component.pk, line)
    if not offered:
        return None
    positions = [row.position for row in sheet.components]
    tax = sheet.build.retail_tax_share
    supply = get_supply(build, on, positions, tax, offered.keys())
    made = {out.component for known in supply.ways.ways for out in known.way.makes}
    sources = {known.way.source for known in supply.ways.ways}
    if not offered.keys() & (made | sources):
        return None
    rows = _rows(build, purchase, sheet, supply, offered, parts)
    saved = _saved(build, rows, supply, offered)
    if saved.worth is None or saved.missing:
        return saved
    worth, worked = Fraction(saved.worth), None
    if purchase.expected_hours is not None and build.own_labour_rate is not None:
        hours = Fraction(purchase.expected_hours) + saved.more_hours
        worked = hours * Fraction(build.own_labour_rate)
    return replace(
        saved,
        highest_price=highest_price(offer, worth),
        highest_price_with_hours=None if worked is None else highest_price(offer, worth - worked),
    )


def _saved(
    build: Build,
    rows: tuple[MadeFromOffer, ...],
    supply: Supply,
    offered: dict[Key, Fraction],
) -> OfferMaking:
    """Cost of what the offer could serve without and with it, and what only the offer meets."""
    known = supply.needs.keys()
    recipes = tuple(
        way.as_recipe()
        for way in supply.ways.ways
        if {way.way.source, *(out.component for out in way.way.makes)} <= known
    )
    problem = _touched(
        Problem(minor_units(build.currency), tuple(supply.needs.values()), recipes=recipes),
        offered,
    )
    more = tuple(
        with_more(need, offered[need.component]) if need.component in offered else need
        for need in problem.needs
    )
    without, with_it = cost_of_needs(problem), cost_of_needs(replace(problem, needs=more))
    if without is None or with_it is None:
        return OfferMaking(rows)
    gaps = [key for key, much in without.missing.items() if with_it.missing.get(key, 0) < much]
    return OfferMaking(
        rows,
        tuple(need.name for need in problem.needs if need.quantity > 0),
        round_money(without.money, build.currency),
        round_money(with_it.money, build.currency),
        tuple(supply.needs[key].name for key in gaps),
        more_hours=with_it.hours - without.hours,
    )


def _touched(problem: Problem, offered: Collection[Key]) -> Problem:
    """Of a problem all that what is offered has to do with; the rest costs the same either way."""
    blocks = [
        block for block in split(problem) if any(need.component in offered for need in block.needs)
    ]
    return replace(
        problem,
        needs=tuple(need for block in blocks for need in block.needs),
        recipes=tuple(recipe for block in blocks for recipe in block.recipes),
    )


def _rows(
    build: Build,
    purchase: Purchase,
    sheet: CostSheet,
    supply: Supply,
    offered: dict[Key, Fraction],
    lines: dict[Key, LinePreview],
) -> tuple[MadeFromOffer, ...]:
    tax = sheet.build.retail_tax_share
    positions = {row.position.component.key: row.position for row in sheet.components}
    retail = {key: new_cost_of_one(pos.component, tax) for key, pos in positions.items()}
    counted = {key for key, pos in positions.items() if is_counted(pos.component.unit)}
    ways = [known.way for known in supply.ways.ways]
    by_key = {known.code: known for known in supply.ways.ways}
    parts = {part.pk: part for known in supply.ways.ways for part in known.makes}
    found: list[tuple[Key, Led]] = []
    for key, quantity in offered.items():
        one = lines[key].per_usable
        found += [(key, led) for led in follow(ways, key, quantity, one, retail, counted)]
    other = _elsewhere(build, purchase, [led.component for _, led in found])
    rows = []
    for key, led in found:
        position = positions.get(led.component)
        rows.append(
            MadeFromOffer(
                source=lines[key].component,
                part=parts[int(str(led.component))],
                through=tuple(by_key[way.key].source for way in led.path[1:]),
                led=led,
                new=retail.get(led.component),
                elsewhere=other.get(led.component),
                needed=position.still_needed if position else None,
                is_extra_unknown=any(way.extra is None for way in led.path),
            )
        )
    rows.sort(key=lambda row: not row.needed)
    return tuple(rows[:SHOWN])


def _elsewhere(build: Build, purchase: Purchase, wanted: list[Any]) -> dict[Key, Fraction]:
    """The lowest cost of one, delivered, in other open offers."""
    if not wanted:
        return {}
    lines = (
        PurchaseLine.objects.filter(
            purchase__build=build,
            purchase__state=State.OFFER,
            component__in=wanted,
            price_amount__isnull=False,
        )
        .exclude(purchase=purchase.pk)
        .order_by()
        .values_list("component_id", "purchase_id")
        .annotate(usable=Sum("usable_qty"), landed=Sum("landed_amount"))
    )
    best: dict[Key, Fraction] = {}
    for component, _, usable, landed in lines:
        if usable:
            one = Fraction(landed) / Fraction(usable)
            best[component] = min(one, best.get(component, one))
    return best
