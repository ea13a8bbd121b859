"""The rows of each sheet as they come from the database, for a workbook and for CSV."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

from django.db import models

from ..calc.deadlines import clock
from ..calc.quantities import format_quantity
from ..calc.units import UNITS
from ..choices import Fate
from ..fields import FixedPointField
from ..models import (
    Build,
    BuildArea,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    Element,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    Move,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Share,
    Supplier,
    Task,
    WayToMake,
)
from ..queries import exchange as queries
from ..queries.settling import iterate_payments, iterate_shares
from ..queries.transfers import ANOTHER
from . import schema
from .columns import Column, Sheet

MILE = "mi"

# Values by the keys of the columns; “record” is the row of the database they come from.
Row = dict[str, Any]
Rows = Callable[[Build], Iterator[Row]]


def _writer(column: Column) -> Callable[[Any], Any] | None:
    """How a column writes what stands in its field; None where it is written as it is."""
    assert column.model is not None
    field = column.model._meta.get_field(column.field)
    if field.is_relation:
        names = [name for name in ("code", "number", "name") if hasattr(field.related_model, name)]
        return lambda linked: linked and getattr(linked, names[0])
    if isinstance(field, models.BooleanField):
        # What goes without saying is not said.
        no = "no" if field.get_default() else None
        return lambda value: "yes" if value else no
    if isinstance(field, models.JSONField):
        return ", ".join
    if isinstance(field, models.TimeField):
        return lambda value: None if value is None else clock(value)
    if isinstance(field, models.IntegerField) and not isinstance(field, FixedPointField):
        return lambda value: None if value is None else Decimal(value)
    return None


class _Cells:
    """The cells that a kind of record fills in a sheet."""

    def __init__(self, sheet: Sheet, model: type[models.Model]):
        self.cells = [(one.key, one.field, _writer(one)) for one in sheet.columns_of(model)]

    def __call__(self, record: Any) -> Row:
        return self.of(lambda field: getattr(record, field))

    def of(self, value: Callable[[str], Any]) -> Row:
        """The same of what gives the value of a field."""
        return {
            key: write(value(field)) if write else value(field) for key, field, write in self.cells
        }


def build_rows(build: Build) -> list[tuple[str, Any]]:
    """Names and values of the Build sheet; None where a figure is not stated."""
    own: dict[str, Any] = {}
    for title, column in schema.BUILD_COLUMNS.items():
        write, value = _writer(column), getattr(build, column.field)
        own[title] = write(value) if write else value
    unit = own.pop("Distance unit")
    areas = {
        schema.area_title(area.label): format_quantity(area.area_qty, UNITS[area.area_unit])
        for area in build.areas.all()
    }
    rows: list[tuple[str, Any]] = [(title, own.pop(title)) for title in ("Name", "Currency")]
    rows += [(label, areas.pop(label, None)) for label in (BuildArea.FLOOR, BuildArea.ENVELOPE)]
    rows += [*areas.items(), *own.items()]
    plain, dated = schema.DISTANCE_RATE.title, []
    first = None
    for rate in queries.list_distance_rates(build):
        if rate.from_on:
            dated.append((f"{schema.DISTANCE_FROM}{rate.from_on}", rate.rate))
        else:
            first = rate.rate
    rows += [(plain, first), *dated]
    if unit != MILE:
        rows.append(("Distance unit", unit))
    return rows


def rows_of(sheet: Sheet, build: Build) -> Iterator[Row]:
    """The rows of a sheet of the schema, as values by the keys of its columns."""
    return _ROWS[sheet.title](build)


def _plain(
    sheet: Sheet, model: type[models.Model], listed: Callable[[Build], Iterator[Any]]
) -> Rows:
    """Rows that are one record each."""
    cells = _Cells(sheet, model)
    return lambda build: ({"record": record, **cells(record)} for record in listed(build))


def _components(build: Build) -> Iterator[Row]:
    cells, priced = (_Cells(schema.COMPONENTS, model) for model in (Component, RetailPrice))
    for part, price in queries.iterate_components(build):
        yield {"record": (part, price), **cells(part), **(priced(price) if price else {})}


def _purchases(build: Build) -> Iterator[Row]:
    cells, of_line = (_Cells(schema.PURCHASES, model) for model in (Purchase, PurchaseLine))
    before = None
    for line in queries.iterate_purchase_lines(build):
        purchase = line.purchase
        row: Row = {"record": line, **of_line.of(line.values.__getitem__)}
        # Its own columns stand on its first row, and its number on each.
        row |= {"purchase": purchase.number} if purchase.pk == before else cells(purchase)
        row[schema.LANDED] = line.landed
        before = purchase.pk
        yield row


def _charges(build: Build) -> Iterator[Row]:
    cells = _Cells(schema.CHARGES, Charge)
    for charge in queries.iterate_charges(build):
        row = {"record": charge, **cells(charge)}
        if charge.percent is None:
            row["percent_on"] = None
        yield row


def _conversions(build: Build) -> Iterator[Row]:
    cells, of_output = (
        _Cells(schema.CONVERSIONS, model) for model in (Conversion, ConversionOutput)
    )
    before = None
    for output in queries.iterate_conversion_outputs(build):
        conversion = output.conversion
        row: Row = {"record": output, **of_output(output)}
        row |= {"conversion": conversion.number} if conversion.pk == before else cells(conversion)
        before = conversion.pk
        yield row


def _left_over(build: Build) -> Iterator[Row]:
    cells, moved = _Cells(schema.LEFT_OVER, LeftOver), _Cells(schema.MOVED_OUT, Move)
    for entry in queries.iterate_left_over(build):
        yield {"record": entry, **cells(entry)}
    for transfer in queries.iterate_transfers_out(build):
        yield {"record": transfer, **moved(transfer), "fate": Fate.MOVED.value}


def _moved_in(build: Build) -> Iterator[Row]:
    cells = _Cells(schema.MOVED_IN, Move)
    for transfer in queries.iterate_transfers_in(build):
        # A workbook may go to anybody, who need not learn of the builds kept beside it.
        yield {"record": transfer, **cells(transfer), "origin": transfer.elsewhere or ANOTHER}


_ROWS: dict[str, Rows] = {
    schema.ELEMENTS.title: _plain(schema.ELEMENTS, Element, queries.iterate_elements),
    schema.SUPPLIERS.title: _plain(schema.SUPPLIERS, Supplier, queries.iterate_suppliers),
    schema.COMPONENTS.title: _components,
    schema.PRICES.title: _plain(schema.PRICES, RetailPrice, queries.iterate_older_prices),
    schema.PURCHASES.title: _purchases,
    schema.CHARGES.title: _charges,
    schema.CONVERSIONS.title: _conversions,
    schema.WAYS.title: _plain(schema.WAYS, WayToMake, queries.iterate_ways),
    schema.LEFT_OVER.title: _left_over,
    schema.MOVED_IN.title: _moved_in,
    schema.TASKS.title: _plain(schema.TASKS, Task, queries.iterate_tasks),
    schema.LABOUR.title: _plain(schema.LABOUR, LabourEntry, queries.iterate_labour),
    schema.SHARES.title: _plain(schema.SHARES, Share, iterate_shares),
    schema.PAYMENTS.title: _plain(schema.PAYMENTS, HandOver, iterate_payments),
    schema.LESSONS.title: _plain(schema.LESSONS, Lesson, queries.iterate_lessons),
}
