"""Prices of components of one kind beside each other, by what each kind is bought for."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Sum

from ..calc.kind_sense import Ask, Measure, measures_of, missing_of
from ..calc.kinds import Kind, Known, known_kind
from ..calc.measures import QuantityError
from ..calc.prices import new_cost_of_one
from ..calc.units import UnitError
from ..choices import State
from ..models import Build, Component, PurchaseLine
from .components import list_components
from .kept import get_kept_sheet
from .quantities import base_unit, contents_of


def kind_known(component: Component) -> Known:
    """A component's kind, and what a guess of it rests on."""
    return known_kind(component.kind, component.name, component.unit, component.contents)


def measures_for(component: Component, build: Build) -> tuple[Measure, ...]:
    """What its prices compare by; nothing where its unit or contents cannot be read."""
    try:
        base, contents = base_unit(component), contents_of(component)
    except (QuantityError, UnitError):
        return ()
    is_metric = build.distance_unit == "km"
    return measures_of(kind_known(component).kind, base, contents, is_metric=is_metric)


def missing_for(component: Component) -> tuple[Ask, ...]:
    """What its kind is asked for and its contents do not say."""
    try:
        base, contents = base_unit(component), contents_of(component)
    except (QuantityError, UnitError):
        return ()
    return missing_of(kind_known(component).kind, base, contents)


@dataclass(frozen=True)
class OpenOffer:
    """What one base unit of a component costs, delivered, in an open offer."""

    purchase: int
    number: str
    of_one: Fraction


@dataclass(frozen=True)
class Compared:
    """A component by one measure: what one of it cost so far, costs new with tax, is offered at.

    None where not known; ``new`` also where it would not be bought new. ``offer``: the cheapest
    open one, and ``offered`` its price.
    """

    part: Component
    measure: Measure
    paid: Fraction | None
    new: Fraction | None
    offer: OpenOffer | None

    @property
    def offered(self) -> Fraction | None:
        return None if self.offer is None else self.measure.price(self.offer.of_one)

    @property
    def least(self) -> Fraction | None:
        """The least it is known to cost."""
        known = [price for price in (self.paid, self.new, self.offered) if price is not None]
        return min(known, default=None)


@dataclass(frozen=True)
class Alike:
    """Components whose prices compare by one measure, the cheapest first, unknown ones last.

    A component stands alone where no other can take its place by that measure.
    """

    kind: Kind
    words: str
    rows: tuple[Compared, ...]

    @property
    def cheapest(self) -> Compared | None:
        """The one that is known to cost least."""
        return self.rows[0] if self.rows and self.rows[0].least is not None else None

    @property
    def is_comparison(self) -> bool:
        """Whether two or more have a price."""
        return sum(row.least is not None for row in self.rows) > 1

    def row_of(self, component: Component) -> Compared | None:
        """A component's own row."""
        return next((row for row in self.rows if row.part.pk == component.pk), None)


def list_alike(build: Build, on: date) -> list[Alike]:
    """All that compares, by kind and measure, in a fixed number of queries."""
    sheet = get_kept_sheet(build, on)
    tax = sheet.build.retail_tax_share
    positions = {row.position.component.key: row.position for row in sheet.components}
    offers = _cheapest_offers(build)
    groups: dict[tuple[Kind, str, int], list[Compared]] = defaultdict(list)
    for part in list_components(build):
        kind, position = kind_known(part).kind, positions.get(part.pk)
        if kind is None:
            continue
        for measure in measures_for(part, build):
            new = new_cost_of_one(position.component, tax) if position else None
            row = Compared(
                part,
                measure,
                measure.price(position.average if position else None),
                measure.price(new if part.would_buy_new else None),
                offers.get(part.pk),
            )
            alone = 0 if measure.is_shared else part.pk
            groups[kind, measure.words, alone].append(row)
    order = list(Kind)
    return [
        Alike(kind, words, tuple(sorted(rows, key=lambda row: (row.least is None, row.least or 0))))
        for (kind, words, _), rows in sorted(
            groups.items(), key=lambda each: order.index(each[0][0])
        )
    ]


def _cheapest_offers(build: Build) -> dict[int, OpenOffer]:
    lines = (
        PurchaseLine.objects.filter(
            purchase__build=build, purchase__state=State.OFFER, price_amount__isnull=False
        )
        .order_by("purchase_id")
        .values_list("component_id", "purchase_id", "purchase__number")
        .annotate(usable=Sum("usable_qty"), landed=Sum("landed_amount"))
    )
    best: dict[int, OpenOffer] = {}
    for component, purchase, number, usable, landed in lines:
        if not usable:
            continue
        offer = OpenOffer(purchase, number, Fraction(landed) / Fraction(usable))
        known = best.get(component)
        best[component] = offer if known is None or offer.of_one < known.of_one else known
    return best
