"""What is still needed: where it is got best, and what is made of what is there or got."""

from collections import defaultdict
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Sum

from ..calc.money import round_money
from ..calc.prices import new_cost_of_one
from ..calc.quantities import format_quantity
from ..calc.reports import CostSheet
from ..calc.shopping import (
    Pack,
    ToGet,
    held_pack,
    round_to_get,
    to_get,
    to_get_new,
)
from ..calc.stock import Position, spare_of
from ..calc.supply.steps import step_as_paid, step_at_new_price
from ..calc.supply.types import Need, New
from ..calc.types import ComponentInput, Key
from ..calc.units import find_unit
from ..choices import State
from ..models import Build, PurchaseLine, RetailPrice, Supplier
from .exchange import name_key
from .making import MakingPlan, plan_making
from .quantities import contents_of, pack_of
from .reports import get_cost_sheet
from .ways import KnownWays, get_known_ways

NOWHERE = "Nowhere known yet"
TRIFLES = "Trifles"
ZERO = Fraction(0)
# What comes to less than this share of the whole list stands in one line at its end.
TRIFLE = Fraction(1, 100)


@dataclass(frozen=True)
class Place:
    """Where a component was got or is for sale, and what one usable base unit comes to there.

    ``is_new``: the new price with tax, not something that was bought. ``get`` is how much to
    get there, whole ones of what is counted, and ``cost`` what that comes to. ``step``: the least
    that is had there at a time.
    """

    name: str
    one: Fraction
    is_new: bool
    get: ToGet
    cost: Decimal
    step: New


@dataclass(frozen=True)
class NeededRow:
    """A component to get. ``new_price`` is its new price of one with tax, None unknown.

    ``get`` is how much to get at the best place, or of the component itself where none is known;
    ``needed`` what of it is wanted, in base units: what is made of other things is taken off, and
    what is worked up is added. ``is_worked_up``: some of it goes into other things;
    ``is_partly_made``: some of what is needed is made.
    """

    position: Position
    best: Place | None
    new_price: Fraction | None
    get: ToGet
    needed: Fraction
    is_worked_up: bool = False
    is_partly_made: bool = False

    @property
    def on_site(self) -> Fraction:
        """Built in or on hand."""
        return self.position.usable_on_site

    @property
    def wanted(self) -> Fraction:
        """Required with its waste allowance."""
        return self.position.component.wanted or ZERO

    @property
    def is_rounded(self) -> bool:
        """Whether what one asks for differs from what is needed."""
        part = self.position.component
        asked = round_to_get(self.get.quantity, self.get.unit)
        return (self.get.unit, asked) != (part.unit, self.needed)

    @property
    def is_packed(self) -> bool:
        """Whether it is got in another unit than its own."""
        return self.get.unit != self.position.component.unit

    @property
    def ask(self) -> str:
        """The quantity to get as one would type it."""
        return format_quantity(
            round_to_get(self.get.quantity, self.get.unit), find_unit(self.get.unit), 3
        )

    @property
    def cost(self) -> Decimal | None:
        """What that comes to at the best known place, to the minor unit."""
        return None if self.best is None else self.best.cost


@dataclass(frozen=True)
class ShoppingList:
    """What to get at one place."""

    place: str
    rows: tuple[NeededRow, ...]

    @property
    def cost(self) -> Decimal | None:
        """What the rows come to; None where it is known of none."""
        return sum_known(self.rows)


@dataclass(frozen=True)
class Shopping:
    """All that is still needed, place by place, and apart from it what hardly costs anything.

    ``total`` sums the known costs, None when none is known; ``without_price`` counts the rows
    it leaves out. ``stated`` and ``unstated`` count components that do and do not say what the
    build requires of them. ``making``: what is made, whose extra cost is in the
    total. ``needed``: all that is still needed.
    """

    lists: tuple[ShoppingList, ...]
    trifles: ShoppingList
    total: Decimal | None
    without_price: int
    stated: int
    unstated: int
    making: MakingPlan = field(default_factory=MakingPlan)
    needed: Mapping[Key, Fraction] = field(default_factory=dict)


def get_shopping(build: Build, on: date) -> Shopping:
    """The shopping lists of a build; a fixed number of queries."""
    return get_shopping_of(build, on, get_cost_sheet(build, on))


def get_shopping_of(build: Build, on: date, sheet: CostSheet) -> Shopping:
    """The same where its cost sheet is known."""
    positions = [row.position for row in sheet.components]
    rows, making = _rows(build, on, positions, sheet.build.retail_tax_share)
    total = sum_known(rows)
    if making.is_used:
        total = (total or Decimal(0)) + making.extra
    trifles = [row for row in rows if is_trifle(row, total)]
    stated = sum(position.component.required is not None for position in positions)
    return Shopping(
        lists=tuple(group_by_place([row for row in rows if row not in trifles])),
        trifles=ShoppingList(TRIFLES, tuple(trifles)),
        total=total,
        without_price=sum(row.cost is None for row in rows),
        stated=stated,
        unstated=len(positions) - stated,
        making=making,
        needed={p.component.key: p.still_needed for p in positions if p.still_needed},
    )


def sum_known(rows: Collection[NeededRow]) -> Decimal | None:
    """What the rows come to as far as it is known; None where it is known of none."""
    costs = [row.cost for row in rows if row.cost is not None]
    return sum(costs, Decimal(0)) if costs else None


def is_trifle(row: NeededRow, total: Decimal | None) -> bool:
    """Whether what is to be got of it is too little to have a row of its own."""
    if row.cost is None or total is None:
        return False
    return Fraction(row.cost) < TRIFLE * Fraction(total)


def _rows(
    build: Build, on: date, positions: list[Position], tax_share: Fraction
) -> tuple[list[NeededRow], MakingPlan]:
    """What to get, and what is made."""
    found = get_supply(build, on, positions, tax_share)
    making = plan_making(build, found.ways, found.needs)
    known = {position.component.key: position for position in positions}
    rows = []
    for key, best in found.best.items():
        row = _row(build, known[key], best, making, tax_share)
        if row is not None:
            rows.append(row)
    return rows, making


@dataclass(frozen=True)
class Supply:
    """What is needed or may serve, the best place of each, and the ways to make."""

    ways: KnownWays
    best: dict[Key, Place | None]
    needs: dict[Key, Need]


def get_supply(
    build: Build,
    on: date,
    positions: Sequence[Position],
    tax_share: Fraction,
    offered: Collection[Key] = (),
) -> Supply:
    """Gather it, in a fixed number of queries. ``offered``: what else may serve."""
    known = {position.component.key: position for position in positions}
    wanted = {key for key, position in known.items() if position.still_needed}
    ways = KnownWays()
    if wanted or offered:
        ways = get_known_ways(build).making(
            {key: known[key].still_needed or ZERO for key in wanted}
        )
    leading = [known.way for known in ways.leading_to(wanted)]
    useful = {way.source for way in leading}
    useful |= {out.component for way in leading for out in way.makes}
    keys = [key for key in known if key in wanted or key in useful or key in offered]
    paid, shops = _paid(build, keys), list_shops(build, keys, on)
    best = {
        key: _best(build, known[key], tax_share, paid.get(key, []), shops.get(key, ("", None)))
        for key in keys
    }
    return Supply(ways, best, {key: _need(known[key], best[key]) for key in keys})


def _best(
    build: Build,
    position: Position,
    tax_share: Fraction,
    paid: list[tuple[str, Fraction]],
    shop: tuple[str, Pack | None],
) -> Place | None:
    """Where a component is had best, None where no place is known."""
    part, needed = position.component, position.still_needed or ZERO
    held = held_pack(part.unit, contents_of(part))
    own = to_get(part, needed, held)
    pack = held or Pack(part.unit, Fraction(1))
    places = [_place(build, part, needed, name, one, own, pack) for name, one in paid]
    if new_cost_of_one(part, tax_share) is not None:
        places.append(_new_place(build, part, needed, tax_share, held, *shop))
    # By what all of it comes to there: a whole roll may cost more than a few expensive feet.
    return min(
        places,
        key=lambda place: (place.cost, place.one, place.is_new, place.name),
        default=None,
    )


def _need(position: Position, best: Place | None) -> Need:
    part = position.component
    quantity = position.still_needed or ZERO
    spare = ZERO if quantity else spare_of(position)
    return Need(part.key, part.name, part.unit, quantity, best.step if best else None, spare)


def _row(
    build: Build,
    position: Position,
    best: Place | None,
    making: MakingPlan,
    tax_share: Fraction,
) -> NeededRow | None:
    """What to get of a component; None where nothing is to be got."""
    part, needed = position.component, position.still_needed or ZERO
    new = new_cost_of_one(part, tax_share)
    if part.key not in making.touched:
        if not needed:
            return None
        held = held_pack(part.unit, contents_of(part))
        own = to_get(part, needed, held)
        return NeededRow(position, best, new, best.get if best else own, needed)
    ties = (
        any(one.drawn.got and one.known.way.source == part.key for one in making.makings),
        any(made.part.pk == part.key for one in making.makings for made in one.made),
    )
    if gap := making.missing.get(part.key):
        return NeededRow(position, None, new, to_get(part, gap), gap, *ties)
    steps = making.got.get(part.key, 0)
    if not steps or best is None:
        return None
    step = best.step
    got = steps * step.covers
    get = ToGet(steps * step.size, step.unit, got)
    cost = round_money(steps * step.price, build.currency)
    return NeededRow(position, replace(best, get=get, cost=cost), new, get, got, *ties)


def _place(
    build: Build,
    part: ComponentInput,
    needed: Fraction,
    name: str,
    one: Fraction,
    get: ToGet,
    pack: Pack,
) -> Place:
    """A place where it was bought, at what was paid there on average."""
    cost = round_money(get.base * one, build.currency)
    return Place(name, one, False, get, cost, step_as_paid(one, pack, needed))


def _new_place(
    build: Build,
    part: ComponentInput,
    needed: Fraction,
    tax_share: Fraction,
    held: Pack | None,
    name: str,
    pack: Pack | None,
) -> Place:
    """A shop where it is new; without a new price, at what was paid for it new."""
    own = held or Pack(part.unit, Fraction(1))
    if part.retail_price is None:
        one, get = part.bought_new or ZERO, to_get(part, needed, held)
        place = _place(build, part, needed, "New, as bought before", one, get, own)
        return replace(place, is_new=True)
    get = to_get_new(part, needed, pack, held)
    price = part.retail_price * (1 + tax_share)
    cost = round_money(get.base * price, build.currency)
    step = step_at_new_price(part, part.retail_price, pack or own, needed, tax_share)
    return Place(name or "New, anywhere", part.new_per_one * price, True, get, cost, step)


def group_by_place(rows: list[NeededRow]) -> list[ShoppingList]:
    """The same rows as one list for each place; what has no place comes last."""
    groups: dict[str, list[NeededRow]] = defaultdict(list)
    for row in rows:
        groups[row.best.name if row.best else NOWHERE].append(row)
    return [
        ShoppingList(place, tuple(groups[place]))
        for place in sorted(groups, key=lambda name: (name == NOWHERE, name.lower()))
    ]


def _paid(build: Build, components: Collection[Any]) -> dict[Key, list[tuple[str, Fraction]]]:
    """Suppliers of the components with the landed cost of one usable unit there so far.

    An offer is no price paid. Lines without a known price or supplier tell no place, and a
    supplier that is no longer there is none.
    """
    sums = (
        PurchaseLine.objects.filter(
            purchase__build=build,
            component__in=components,
            purchase__state__in=[State.RECEIVED, State.ORDERED],
            purchase__supplier__is_gone=False,
            price_amount__isnull=False,
        )
        .order_by()
        .values_list("component_id", "purchase__supplier__name")
        .annotate(usable=Sum("usable_qty"), landed=Sum("landed_amount"))
    )
    places: dict[Key, list[tuple[str, Fraction]]] = defaultdict(list)
    for component, name, usable, landed in sums:
        if usable:
            places[component].append((name, Fraction(landed) / Fraction(usable)))
    return places


def list_shops(
    build: Build, components: Collection[Any], on: date
) -> dict[Key, tuple[str, Pack | None]]:
    """Where the newest new price was seen, and what it was for.

    Of a shop that is no longer there the price is kept, and the place is not named.
    """
    gone = Supplier.objects.filter(build=build, is_gone=True).values_list("name", flat=True)
    closed = {name_key(name) for name in gone}
    seen = RetailPrice.objects.filter(component__in=components, priced_on__lte=on)
    return {
        component: ("" if name_key(place) in closed else place, pack_of(per_text, per_qty))
        for component, place, per_text, per_qty in seen.order_by("priced_on", "pk").values_list(
            "component_id", "priced_at", "per_text", "per_qty"
        )
    }
