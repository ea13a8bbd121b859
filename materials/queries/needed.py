"""What is still needed, and where it was or could be got best."""

from collections import defaultdict
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Sum

from ..calc.prices import new_cost_of_one
from ..calc.quantities import format_quantity
from ..calc.stock import Position
from ..calc.units import find_unit
from ..choices import State
from ..models import Build, PurchaseLine, RetailPrice
from .reports import get_cost_sheet

NOWHERE = "Nowhere known yet"


@dataclass(frozen=True)
class Place:
    """Where a component was got or is for sale, and what one usable base unit comes to there.

    ``is_new``: the new price with tax, not something that was bought.
    """

    name: str
    one: Fraction
    is_new: bool


@dataclass(frozen=True)
class NeededRow:
    """A component still needed. ``to_beat`` is its new price of one with tax, None unknown."""

    position: Position
    best: Place | None
    to_beat: Fraction | None

    @property
    def in_hand(self) -> Fraction:
        """Built in or on hand."""
        return self.position.usable_in_hand

    @property
    def ask(self) -> str:
        """The quantity still needed as one would type it."""
        unit = find_unit(self.position.component.unit)
        return format_quantity(self.position.still_needed or Fraction(0), unit, 3)

    @property
    def cost(self) -> Fraction | None:
        """What the rest comes to at the best known place."""
        needed = self.position.still_needed
        return None if self.best is None or needed is None else needed * self.best.one


@dataclass(frozen=True)
class ShoppingList:
    """What to get at one place."""

    place: str
    rows: tuple[NeededRow, ...]


def list_needed(build: Build, on: date) -> list[NeededRow]:
    """Components still needed, in the order of the cost sheet; a fixed number of queries."""
    sheet = get_cost_sheet(build, on)
    wanted = [row.position for row in sheet.components if row.position.still_needed]
    keys = [position.component.key for position in wanted]
    paid = _places(build, keys)
    shops = _shops(keys, on)
    rows = []
    for position in wanted:
        part = position.component
        new = new_cost_of_one(part, sheet.build.retail_tax_share)
        places = list(paid.get(part.key, ()))
        if new is not None:
            places.append(Place(shops.get(part.key) or "New, anywhere", new, True))
        best = min(places, key=lambda place: (place.one, place.is_new, place.name), default=None)
        rows.append(NeededRow(position, best, new))
    return rows


def group_by_place(rows: list[NeededRow]) -> list[ShoppingList]:
    """The same rows as one list for each place; what has no place comes last."""
    groups: dict[str, list[NeededRow]] = defaultdict(list)
    for row in rows:
        groups[row.best.name if row.best else NOWHERE].append(row)
    return [
        ShoppingList(place, tuple(groups[place]))
        for place in sorted(groups, key=lambda name: (name == NOWHERE, name.lower()))
    ]


def _places(build: Build, components: list) -> dict[int, list[Place]]:
    """Suppliers of the components with the landed cost of one usable unit there so far.

    An offer is no price paid. Lines without a known price or supplier tell no place.
    """
    sums = (
        PurchaseLine.objects.filter(
            purchase__build=build,
            component__in=components,
            purchase__state__in=[State.RECEIVED, State.ORDERED],
            purchase__supplier__isnull=False,
            price_amount__isnull=False,
        )
        .order_by()
        .values_list("component_id", "purchase__supplier__name")
        .annotate(usable=Sum("usable_qty"), landed=Sum("landed_amount"))
    )
    places: dict[int, list[Place]] = defaultdict(list)
    for component, name, usable, landed in sums:
        if usable:
            one = Fraction(landed) / Fraction(usable)
            places[component].append(Place(name, one, False))
    return places


def _shops(components: list, on: date) -> dict[int, str]:
    """Where the newest new price was seen."""
    seen = RetailPrice.objects.filter(component__in=components, priced_on__lte=on)
    return {
        component: place
        for component, place in seen.order_by("priced_on", "pk").values_list(
            "component_id", "priced_at"
        )
    }
