"""The workings as a whole: what is taken from each sheet in passing, and the order of writing."""

from collections.abc import Callable
from typing import Any

from ...calc.reports import CostSheet
from ...models import Component, Element, LeftOver, Move, RetailPrice, Task
from ...queries.exchange import list_charged
from ...queries.totals import Sums, TotalKey, get_totals
from .. import schema
from ..columns import Sheet
from ..pages import Book, Page
from . import components, prices, totals
from .cost_sheet import CostSheetPage
from .facts import OF_COMPONENTS, OF_PRICES, Facts, Part
from .grids import (
    BY_LINE,
    COMPONENTS,
    CONVERSIONS,
    PRICES,
    STOCK,
    TOTALS,
    WORKINGS,
)
from .purchases import PurchaseWorkings
from .stock import ConversionWorkings, Movements, write_stock

RowHandler = Callable[[int, Any], None]


class Workings:
    """Pages of workings behind the sheets of a build."""

    def __init__(self, facts: Facts, book: Book):
        self.facts = facts
        grids = [grid for grid in WORKINGS if facts.follows_lines or grid not in BY_LINE]
        self.pages: dict[str, Page] = {grid.title: book.page(grid.title) for grid in grids}
        self.purchases: PurchaseWorkings | None = None
        self.left_over: dict[int, list[tuple[int, LeftOver | Move]]] = {}
        self.moved_in: dict[int, list[tuple[int, Move]]] = {}

    def start(self, sheet: Sheet) -> RowHandler | None:
        """Who takes the rows of a sheet while they are written; None for nobody."""
        title = sheet.title
        if title == schema.PURCHASES.title:
            prices.write(self.pages[PRICES.title], self.facts)
            if not self.facts.follows_lines:
                return None
            charges = list_charged(self.facts.build)
            self.purchases = PurchaseWorkings(self.facts, self.pages, charges)
            return self.purchases.add
        if title == schema.CONVERSIONS.title:
            self.conversions = ConversionWorkings(self.facts, self.pages[CONVERSIONS.title])
            return self.conversions.add
        takes: dict[str, RowHandler] = {
            schema.ELEMENTS.title: self._element,
            schema.COMPONENTS.title: self._component,
            schema.PRICES.title: self._price,
            schema.LEFT_OVER.title: self._left_over,
            schema.MOVED_IN.title: self._moved_in,
            schema.TASKS.title: self._task,
        }
        return takes.get(title)

    def _element(self, row: int, element: Element) -> None:
        self.facts.elements.append((row, element.pk, element.code, element.name))

    def _component(self, row: int, found: tuple[Component, RetailPrice | None]) -> None:
        component, price = found
        self.facts.parts[component.pk] = Part(row, component)
        prices.collect(self.facts, OF_COMPONENTS, row, component.pk, price)

    def _price(self, row: int, price: RetailPrice) -> None:
        prices.collect(self.facts, OF_PRICES, row, price.component_id, price)

    def _left_over(self, row: int, entry: LeftOver | Move) -> None:
        assert entry.component_id is not None
        self.left_over.setdefault(entry.component_id, []).append((row, entry))

    def _moved_in(self, row: int, transfer: Move) -> None:
        assert transfer.to_component_id is not None
        self.moved_in.setdefault(transfer.to_component_id, []).append((row, transfer))

    def _task(self, row: int, task: Task) -> None:
        self.facts.tasks[task.pk] = row

    def finish(self, cost_page: Page, figures: CostSheet) -> None:
        """Write what needs every sheet to be there: sums by component, totals, the cost sheet."""
        facts, pages = self.facts, self.pages
        self.conversions.finish()
        lines: dict[int, list[tuple[int, int]]] = {}
        summed: dict[int, list[tuple[TotalKey, Sums]]] = {}
        if self.purchases is None:
            for key, sums in sorted(get_totals(facts.build).items()):
                summed.setdefault(key.component, []).append((key, sums))
        else:
            self.purchases.finish()
            facts.purchases = self.purchases.row - 1
            lines = self.purchases.by_part
        made, used = self.conversions.made, self.conversions.used
        transfers = Movements(lines, summed, made, used, self.left_over, self.moved_in)
        facts.counts[STOCK.title] = write_stock(pages[STOCK.title], facts, transfers)
        components.write(pages[COMPONENTS.title], facts)
        whole = totals.Totals(facts)
        whole.write(pages[TOTALS.title])
        CostSheetPage(cost_page, facts, whole, figures).write()
