"""The workings as a whole: what is taken from each sheet in passing, and the order of writing."""

from collections.abc import Callable
from typing import Any

from ...calc.reports import CostSheet
from ...models import Component, Element, LeftOver, RetailPrice
from ...queries.exchange import list_charged
from .. import schema
from ..columns import Sheet
from ..pages import Book, Page
from . import components, prices, stock, totals
from .cost_sheet import CostSheetPage
from .facts import OF_COMPONENTS, OF_PRICES, Facts, Part
from .grids import (
    COMPONENTS,
    CONVERSIONS,
    ELEMENTS,
    LEFT,
    MADE,
    PRICES,
    STOCK,
    TOTALS,
    USED,
    WORKINGS,
)
from .purchases import PurchaseWorkings, write_stock
from .stock import ConversionWorkings

Take = Callable[[int, Any], None]


class Workings:
    """Pages of workings behind the sheets of a build."""

    def __init__(self, facts: Facts, book: Book):
        self.facts = facts
        self.pages: dict[str, Page] = {grid.title: book.page(grid.title) for grid in WORKINGS}
        self.left_over: list[tuple[int, LeftOver]] = []

    def begin(self, sheet: Sheet) -> Take | None:
        """Who takes the rows of a sheet while they are written; None for nobody."""
        title = sheet.title
        if title == schema.PURCHASES.title:
            prices.write(self.pages[PRICES.title], self.facts)
            charges = list_charged(self.facts.build)
            self.purchases = PurchaseWorkings(self.facts, self.pages, charges)
            return self.purchases.add
        if title == schema.CONVERSIONS.title:
            self.conversions = ConversionWorkings(self.facts, self.pages[CONVERSIONS.title])
            return self.conversions.add
        return {
            schema.ELEMENTS.title: self._element,
            schema.COMPONENTS.title: self._component,
            schema.PRICES.title: self._price,
            schema.LEFT_OVER.title: self._left_over,
        }.get(title)

    def _element(self, row: int, element: Element) -> None:
        self.facts.elements.append((row, element.pk, element.code, element.name))

    def _component(self, row: int, found: tuple[Component, RetailPrice | None]) -> None:
        component, price = found
        self.facts.parts[component.pk] = Part(row, component)
        prices.collect(self.facts, OF_COMPONENTS, row, component.pk, price)

    def _price(self, row: int, price: RetailPrice) -> None:
        prices.collect(self.facts, OF_PRICES, row, price.component_id, price)

    def _left_over(self, row: int, entry: LeftOver) -> None:
        self.left_over.append((row, entry))

    def finish(self, cost_page: Page, figures: CostSheet) -> None:
        """Write what needs every sheet to be there: sums by component, totals, the cost sheet."""
        facts, pages = self.facts, self.pages
        self.purchases.finish()
        self.conversions.finish()
        lines = self.purchases.by_part
        facts.counts[STOCK.title] = sum(map(len, lines.values()))
        write_stock(pages[STOCK.title], facts, lines)
        stock.write_made(pages[MADE.title], facts, self.conversions.made)
        stock.write_used(pages[USED.title], facts, self.conversions.used)
        stock.write_left_over(pages[LEFT.title], facts, self.left_over)
        components.write(pages[COMPONENTS.title], facts)
        whole = totals.Totals(facts)
        whole.write(pages[TOTALS.title])
        totals.write_elements(pages[ELEMENTS.title], facts, whole.span)
        CostSheetPage(cost_page, facts, whole, figures).write()
