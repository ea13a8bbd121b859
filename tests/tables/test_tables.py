"""Every table over real rows: each sortable column both ways, each cell shown and as a value."""

import importlib
import pkgutil
from collections.abc import Iterator

import pytest

import materials.tables
from materials.choices import Fate
from materials.cutting.queries.plans import list_plans
from materials.cutting.tables import CuttingPlanTable
from materials.lifecycle.queries.comparisons import list_life_choices
from materials.lifecycle.queries.indexes import list_cost_indexes
from materials.lifecycle.tables import CostIndexTable, LifeChoiceTable
from materials.models import Build
from materials.queries.builds import list_elements
from materials.queries.components import list_components
from materials.queries.labour import list_labour, list_tasks
from materials.queries.lessons import list_lessons
from materials.queries.prices import list_prices
from materials.queries.purchases import list_lines, list_purchases
from materials.queries.records import list_changes
from materials.queries.settling import list_payments
from materials.queries.sharing import list_share_links
from materials.queries.stock import list_conversions, list_left_over
from materials.queries.suppliers import list_suppliers
from materials.queries.transfers import list_transfers
from materials.tables.base import LedgerTable
from materials.tables.builds import ElementTable
from materials.tables.components import ComponentTable
from materials.tables.history import ChangeTable
from materials.tables.labour import LabourTable, TaskTable
from materials.tables.lessons import LessonTable
from materials.tables.prices import PriceTable
from materials.tables.purchases import LineTable, PurchaseTable, TickedLineTable
from materials.tables.settling import PaymentTable
from materials.tables.sharing import ShareLinkTable
from materials.tables.stock import ConversionTable, LeftOverTable
from materials.tables.suppliers import SupplierTable
from materials.tables.transfers import TransferTable
from materials.takeoffs.queries import list_takeoffs
from materials.takeoffs.tables import TakeoffTable
from tests.entries import line
from tests.world import World, once

# Each table with the rows it shows; a table without a row here fails.
ROWS = {
    ElementTable: list_elements,
    ComponentTable: list_components,
    PriceTable: list_prices,
    SupplierTable: list_suppliers,
    PurchaseTable: list_purchases,
    LineTable: list_lines,
    TickedLineTable: list_lines,
    ConversionTable: list_conversions,
    CuttingPlanTable: list_plans,
    LeftOverTable: list_left_over,
    LessonTable: list_lessons,
    TransferTable: list_transfers,
    LifeChoiceTable: list_life_choices,
    CostIndexTable: list_cost_indexes,
    TaskTable: list_tasks,
    LabourTable: list_labour,
    PaymentTable: list_payments,
    ChangeTable: list_changes,
    ShareLinkTable: list_share_links,
    TakeoffTable: list_takeoffs,
}


def subclasses(of: type) -> Iterator[type]:
    for made in of.__subclasses__():
        yield made
        yield from subclasses(made)


def unpaired(table: type[LedgerTable]) -> list[str]:
    """Columns with a ``render_x`` of the table's and no ``value_x`` beside it.

    Without it what is shown would also be the value, whatever the column's own value is.
    """
    names = [name.removeprefix("render_") for name in dir(table) if name.startswith("render_")]
    return [name for name in names if not hasattr(table, f"value_{name}")]


def sortable(table: type[LedgerTable]) -> list[str]:
    """Names of the columns that can be sorted by."""
    return [name for name, column in table.base_columns.items() if column.orderable is not False]


def several(world: World) -> None:
    """Records of every kind, alike in most columns, and some with blanks."""
    entries = world.entries
    entries.fill(range(2))
    board = entries.component("Plain", "ft")
    entries.supplier("Nobody yet")
    entries.price(board, 1, per_text="100 ft")
    entries.purchase("N1", line(board, "3 ft"))
    entries.left_over(board, "1 ft", Fate.ON_HAND)
    entries.task("Idle")
    entries.transfer(board, "1 ft", world.second)
    entries.transfer(board, "1 ft", world.second, note="again")
    entries.labour("Ann", 1)
    entries.element("Y1", name="Role")
    entries.takeoff("Wall", length="20 ft", height="8 ft")
    entries.takeoff("Wall", length="20 ft", height="8 ft")


pytestmark = once(several)


@pytest.fixture
def rows(build) -> Build:
    """A build of several records of every kind."""
    return build


def test_every_table_is_known_here():
    for module in pkgutil.iter_modules(materials.tables.__path__):
        importlib.import_module(f"materials.tables.{module.name}")
    made = {table for table in subclasses(LedgerTable) if table.__module__.startswith("materials")}
    assert made == set(ROWS)


def sorted_keys(table: type[LedgerTable], build: Build, order: str) -> list[int]:
    """Keys of all rows, each cell of which was written."""
    made = table(ROWS[table](build), build=build, order_by=[order])
    assert made.order_by == (order,)
    for row in made.rows:
        for cell in row:
            str(cell)
    return [row.record.pk for row in made.rows]


@pytest.mark.parametrize("table", ROWS, ids=lambda table: table.__name__)
def test_each_column_sorts_both_ways_in_a_total_order(table, rows):
    names = sortable(table)
    assert len(names) >= 3
    for name in names:
        up, down = sorted_keys(table, rows, name), sorted_keys(table, rows, f"-{name}")
        assert len(set(up)) == len(up) > 1, name
        assert up == list(reversed(down)), f"{name}: rows alike do not keep their order"


@pytest.mark.parametrize("table", ROWS, ids=lambda table: table.__name__)
def test_cells_are_shown_and_have_plain_values(table, rows, rf):
    made = table(ROWS[table](rows), build=rows)
    page = made.as_html(rf.get("/"))
    assert page.count("<tr") == 1 + len(made.rows)
    assert str(made.caption)
    head, *values = made.as_values()
    assert len(values) == len(made.rows)
    for row in values:
        for name, value in zip(head, row, strict=True):
            assert "<" not in str(value), (name, value)


@pytest.mark.parametrize("table", ROWS, ids=lambda table: table.__name__)
def test_every_shown_cell_has_a_value_beside_it(table):
    assert unpaired(table) == []


def test_a_missing_value_would_be_seen():
    import django_tables2 as tables

    class Odd(LedgerTable):
        made = tables.Column()

        def render_made(self):
            return "x"

    assert unpaired(Odd) == ["made"]


def test_values_are_numbers_that_can_be_added_up(rows):
    values = [
        row.get_cell_value("landed_amount") for row in LineTable(list_lines(rows), build=rows).rows
    ]
    assert sum(values) == sum(line.landed_amount for line in list_lines(rows))


def test_ties_do_not_hang_on_the_sort_direction(rows):
    """All boards cost the same: their order must be that of their keys."""
    same = LineTable(list_lines(rows).filter(source="salvage"), build=rows, order_by=["source"])
    keys = [row.record.pk for row in same.rows]
    assert keys == sorted(keys)
