"""A new price that is typed beside a purchase and not saved yet."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

from ..calc.prices import price_on
from ..calc.reports import CostSheet, make_cost_sheet
from ..calc.types import ComponentInput
from ..models import Component
from .price_book import PriceBook


def with_new_price(
    book: PriceBook,
    sheet: CostSheet,
    component: Component,
    price: Fraction | None,
    on: date,
    today: date,
) -> tuple[PriceBook, CostSheet]:
    """Prices and cost sheet as if a new price of one base unit, before tax, were known of a day.

    The day is not after that of the sheet; where a newer price is known, the sheet keeps to it.
    ``price`` None: none was typed. A component that is not saved yet comes onto the sheet with
    nothing bought of it, so that an offer of it can be judged.
    """
    if component.pk is not None and price is None:
        return book, sheet
    prices = dict(book.prices)
    newest: Fraction | None = price
    if price is not None:
        # The newest entry of a day replaces what was known of it.
        others = [pair for pair in prices.get(component.pk, ()) if pair[0] != on]
        prices[component.pk] = sorted([*others, (on, price)])
        newest = price_on(prices[component.pk], today)
    parts = [
        replace(part, retail_price=newest) if part.key == component.pk else part
        for part in sheet.build.components
    ]
    if component.pk is None:
        parts.append(
            ComponentInput(key=None, name=component.name, unit=component.unit, retail_price=price)
        )
    build = replace(sheet.build, components=tuple(parts))
    return PriceBook(prices, book.rates), make_cost_sheet(build)
