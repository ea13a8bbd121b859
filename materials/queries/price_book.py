"""New prices and distance rates by day, as costing asks for them."""

import re
from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from ..calc.prices import price_near
from ..calc.quantities import Contents, QuantityError, convert, parse_quantity
from ..calc.units import Dimension, Unit, find_unit, quote
from ..models import (
    Build,
    Component,
    DistanceRate,
    RetailPrice,
)


@dataclass(frozen=True)
class PriceBook:
    """Dated new prices of one base unit before tax, by component; and distance rates."""

    prices: dict[int, list[tuple[date, Fraction]]]
    rates: list[tuple[date, Decimal]]

    def new_price_near(self, component: Component, on: date) -> Fraction | None:
        """What new material doing the work of one costs around a date, before tax."""
        return self.new_price_of(component.pk, component.new_qty_per_one, on)

    def new_price_of(self, component: int, per_one: Decimal, on: date) -> Fraction | None:
        """The same of a component's key and the quantity of new material that one stands for."""
        price = price_near(self.prices.get(component, ()), on)
        return None if price is None else price * Fraction(per_one)

    def lot_unpriced(
        self, lines: Iterable[tuple[Component, object, object]], on: date
    ) -> tuple[Component, ...]:
        """Those for want of whose new price a lot of several lines is split equally.

        ``lines``: component, unit price and line price; a line with neither is of the lot.
        """
        lot = [part for part, *prices in lines if prices == [None, None]]
        if len(lot) < 2:
            return ()
        return tuple(part for part in lot if self.new_price_near(part, on) is None)

    def distance_rate(self, on: date) -> Decimal | None:
        """The build's rate on a date."""
        at = bisect_right(self.rates, on, key=lambda pair: pair[0])
        return self.rates[at - 1][1] if at else None


def get_price_book(build: Build, with_rates: bool = True) -> PriceBook:
    """Two queries, whatever the number of components; one where no distance is to be priced."""
    rows = DistanceRate.objects.filter(build=build).values_list("from_on", "rate")
    rates = [(from_on or date.min, rate) for from_on, rate in rows] if with_rates else []
    return PriceBook(list_prices_by_component([build.pk]), sorted(rates))


def list_prices_by_component(builds: Iterable[int]) -> dict[int, list[tuple[date, Fraction]]]:
    """Dated new prices of one base unit of everything the builds need, in one query."""
    prices: dict[int, list[tuple[date, Fraction]]] = defaultdict(list)
    rows = RetailPrice.objects.filter(component__build__in=builds).order_by("priced_on", "pk")
    for component, on, price, per in rows.values_list(
        "component_id", "priced_on", "price", "per_qty"
    ):
        # A later entry of the same day replaces the earlier one.
        if prices[component] and prices[component][-1][0] == on:
            prices[component].pop()
        prices[component].append((on, Fraction(price) / Fraction(per)))
    return dict(prices)


def distance_in(text: str, unit: str) -> Fraction:
    """A typed distance in the build's unit; a bare number is in that unit already.

    Raises QuantityError with an example of a distance.
    """
    target = find_unit(unit)
    try:
        distance = parse_quantity(text, target)
    except QuantityError as error:
        raise _no_distance(text, target) from error
    if distance.unit.dimension is not Dimension.LENGTH:
        raise _no_distance(text, target)
    return convert(distance.count, distance.unit, target, Contents(()))


def _no_distance(text: str, unit: Unit) -> QuantityError:
    """What to write instead of a text that is no distance, from its own number where it has one."""
    start = f"{quote(text)} is not a distance"
    found = re.search(r"(?<![\d.,-])\d{1,6}(?:[.,]\d{1,3})?(?![\d.,-])", text)
    if found is None or len(re.findall(r"\d+", text)) > 1 + found[0].count("."):
        return QuantityError(f"{start}: enter it like 40 mi or 65 km.")
    km = re.search(r"\bk(?:m|ilo)", text, re.IGNORECASE)
    miles = re.search(r"\bmi", text, re.IGNORECASE)
    meant = f"{found[0]} {'km' if km else 'mi' if miles else unit.symbol}"
    return QuantityError(f"{start}. Did you mean '{meant}'?", (meant,))
