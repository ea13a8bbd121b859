"""What is still needed, and where it was or could be got best."""

from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Sum

from ..calc.money import round_money
from ..calc.prices import new_cost_of_one
from ..calc.quantities import format_quantity
from ..calc.reports import CostSheet
from ..calc.shopping import Pack, ToGet, held_pack, round_to_get, to_get, to_get_new
from ..calc.stock import Position
from ..calc.types import ComponentInput, Key
from ..calc.units import find_unit
from ..choices import State
from ..models import Build, PurchaseLine, RetailPrice, Supplier
from .exchange import name_key
from .quantities import contents_of, pack_of
from .reports import get_cost_sheet

NOWHERE = "Nowhere known yet"
TRIFLES = "Trifles"
ZERO = Fraction(0)
# What comes to less than this share of the whole list stands in one line at its end.
TRIFLE = Fraction(1, 100)


@dataclass(frozen=True)
class Place:
    """Where a component was got or is for sale, and what one usable base unit comes to there.

    ``is_new``: the new price with tax, not something that was bought. ``get`` is how much to
    get there, whole ones of what is counted, and ``cost`` what that comes to.
    """

    name: str
    one: Fraction
    is_new: bool
    get: ToGet
    cost: Decimal


@dataclass(frozen=True)
class NeededRow:
    """A component still needed. ``new_price`` is its new price of one with tax, None unknown.

    ``get`` is how much to get at the best place, or of the component itself where none is known.
    """

    position: Position
    best: Place | None
    new_price: Fraction | None
    get: ToGet

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
        return (self.get.unit, asked) != (part.unit, self.position.still_needed)

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
    build requires of them.
    """

    lists: tuple[ShoppingList, ...]
    trifles: ShoppingList
    total: Decimal | None
    without_price: int
    stated: int
    unstated: int


def get_shopping(build: Build, on: date) -> Shopping:
    """The shopping lists of a build; a fixed number of queries."""
    return get_shopping_of(build, on, get_cost_sheet(build, on))


def get_shopping_of(build: Build, on: date, sheet: CostSheet) -> Shopping:
    """The same where its cost sheet is known."""
    positions = [row.position for row in sheet.components]
    rows = _rows(build, on, positions, sheet.build.retail_tax_share)
    total = sum_known(rows)
    trifles = [row for row in rows if is_trifle(row, total)]
    stated = sum(position.component.required is not None for position in positions)
    return Shopping(
        lists=tuple(group_by_place([row for row in rows if row not in trifles])),
        trifles=ShoppingList(TRIFLES, tuple(trifles)),
        total=total,
        without_price=sum(row.cost is None for row in rows),
        stated=stated,
        unstated=len(positions) - stated,
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
) -> list[NeededRow]:
    wanted = [position for position in positions if position.still_needed]
    keys = [position.component.key for position in wanted]
    paid, shops = _paid(build, keys), list_shops(build, keys, on)
    rows = []
    for position in wanted:
        part, needed = position.component, position.still_needed or ZERO
        held = held_pack(part.unit, contents_of(part))
        own = to_get(part, needed, held)
        places = [_place(build, name, one, own) for name, one in paid.get(part.key, ())]
        new = new_cost_of_one(part, tax_share)
        if new is not None:
            places.append(
                _new_place(build, part, needed, tax_share, held, *shops.get(part.key, ("", None)))
            )
        # By what all of it comes to there: a whole roll may cost more than a few expensive feet.
        best = min(
            places,
            key=lambda place: (place.cost, place.one, place.is_new, place.name),
            default=None,
        )
        rows.append(NeededRow(position, best, new, best.get if best else own))
    return rows


def _place(build: Build, name: str, one: Fraction, get: ToGet) -> Place:
    """A place where it was bought, at what was paid there on average."""
    return Place(name, one, False, get, round_money(get.base * one, build.currency))


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
    if part.retail_price is None:
        one, get = part.bought_new or ZERO, to_get(part, needed, held)
        cost = round_money(get.base * one, build.currency)
        return Place("New, as bought before", one, True, get, cost)
    get = to_get_new(part, needed, pack, held)
    price = part.retail_price * (1 + tax_share)
    cost = round_money(get.base * price, build.currency)
    return Place(name or "New, anywhere", part.new_per_one * price, True, get, cost)


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
