"""Writing a build as a workbook that reads back into an equal one, and reckons by itself.

Each sheet of the schema is written row by row as it comes from the database; the workings take
what they need in passing, so that no sheet is ever held as a whole.
"""

from collections.abc import Callable, Iterator
from datetime import date
from decimal import Decimal
from typing import Any, BinaryIO

from django.utils import timezone

from ..calc.money import minor_units
from ..calc.quantities import format_quantity
from ..calc.reports import CostSheet
from ..calc.units import UNITS
from ..models import Build, BuildArea, RetailPrice
from ..queries import exchange as queries
from ..queries.reports import get_cost_sheet
from . import schema
from .about import write_about
from .columns import Sheet
from .live.cost_sheet import AS_OF
from .live.facts import MOST_LINES, ChangedMeanwhile, Facts
from .live.workings import Workings
from .pages import Book, Look, Page

MILE = "mi"
ATTEMPTS = 3

# Values by the keys of the columns; “record” is the row of the database they come from.
Row = dict[str, Any]
Rows = Callable[[Build], Iterator[Row]]


def write_workbook(build: Build, stream: BinaryIO, on: date | None = None) -> None:
    """Write every sheet of a build, and its cost sheet of a day, to a binary stream."""
    on = on or timezone.localdate()
    for attempt in range(ATTEMPTS):
        try:
            _write(build, stream, on)
        except ChangedMeanwhile:
            if attempt == ATTEMPTS - 1:
                raise
        else:
            return


def _write(build: Build, stream: BinaryIO, on: date) -> None:
    figures: CostSheet = get_cost_sheet(build, on)
    look = Look(minor_units(build.currency), build.currency)
    with Book(stream, build, look, on) as book:
        pages = {title: book.page(title) for title in (schema.ABOUT, schema.COST_SHEET)}
        pages |= {title: book.page(title) for title in schema.TITLES}
        facts = Facts(build, AS_OF, queries.count_lines(build) <= MOST_LINES)
        workings = Workings(facts, book)
        write_about(pages[schema.ABOUT], build, facts.follows_lines)
        _write_build(pages[schema.BUILD], build, facts)
        for sheet in schema.SHEETS:
            rows = rows_of(sheet, build)
            facts.counts[sheet.title] = _write_sheet(pages[sheet.title], sheet, rows, workings)
        workings.finish(pages[schema.COST_SHEET], figures)


def _write_sheet(page: Page, sheet: Sheet, rows: Iterator[Row], workings: Workings) -> int:
    """Write a sheet of the schema; gives how many rows there are."""
    page.table(sheet.columns)
    keys = [column.key for column in sheet.columns]
    take = workings.begin(sheet)
    number = 1
    for number, row in enumerate(rows, 2):
        page.row(number, [row.get(key) for key in keys])
        if take is not None:
            take(number, row["record"])
    page.choices(sheet, number)
    return number - 1


def build_rows(build: Build) -> list[tuple[str, Any]]:
    """Names and values of the Build sheet; None where a figure is not stated."""
    areas = {
        area.label: format_quantity(area.area_qty, UNITS[area.area_unit])
        for area in build.areas.all()
    }
    rows: list[tuple[str, Any]] = [("Name", build.name), ("Currency", build.currency)]
    rows += [(label, areas.pop(label, None)) for label in (BuildArea.FLOOR, BuildArea.ENVELOPE)]
    rows += areas.items()
    rows += [
        ("Budget", build.budget_amount),
        ("Contingency %", build.contingency_percent),
        ("Retail tax %", build.retail_tax_percent),
        ("Own labour rate", build.own_labour_rate),
    ]
    plain, dated = schema.DISTANCE_RATE.title, []
    first = None
    for rate in queries.list_distance_rates(build):
        if rate.from_on:
            dated.append((f"{schema.DISTANCE_FROM}{rate.from_on}", rate.rate))
        else:
            first = rate.rate
    rows += [(plain, first), *dated]
    if build.distance_unit != MILE:
        rows.append(("Distance unit", build.distance_unit))
    return rows


def _write_build(page: Page, build: Build, facts: Facts) -> None:
    page.sheet.set_column(0, 1, 32, page.book.format(num_format="@", valign="top"))
    strong = page.book.format(bold=True, num_format="@", valign="top")
    columns = schema.BUILD_COLUMNS | {schema.DISTANCE_RATE.title: schema.DISTANCE_RATE}
    for row, (name, value) in enumerate(build_rows(build), 1):
        facts.build_rows[name] = row
        if name.endswith(schema.AREA_ENDING):
            facts.areas[name] = value or ""
        rate = name.startswith(schema.DISTANCE_RATE.title)
        column = columns.get(schema.DISTANCE_RATE.title if rate else name, schema.AREA)
        if rate:
            day = name.removeprefix(schema.DISTANCE_FROM)
            facts.rates.append((None if day == name else date.fromisoformat(day), row))
        page.text(row, 0, name, strong)
        style = page.book.of_kind(column.kind, align="left")
        if value is None:
            page.sheet.write_blank(row - 1, 1, None, style)
        elif isinstance(value, str):
            page.text(row, 1, value)
        else:
            page.put(row, 1, value, style)
        page.allow(row, 1, column)


def rows_of(sheet: Sheet, build: Build) -> Iterator[Row]:
    """The rows of a sheet of the schema, as values by the keys of its columns."""
    return _ROWS[sheet.title](build)


def _elements(build: Build) -> Iterator[Row]:
    for element in queries.iterate_elements(build):
        yield {
            "record": element,
            "code": element.code,
            "name": element.name,
            "budget": element.budget_amount,
        }


def _suppliers(build: Build) -> Iterator[Row]:
    for supplier in queries.iterate_suppliers(build):
        yield {
            "name": supplier.name,
            "place": supplier.place,
            "contact": supplier.contact,
            "note": supplier.note,
        }


def _price(price: RetailPrice) -> Row:
    return {
        "new_price": price.price,
        "new_price_per": price.per_text,
        "priced_on": price.priced_on,
        "priced_at": price.priced_at,
    }


def _components(build: Build) -> Iterator[Row]:
    for part, price in queries.iterate_components(build):
        yield {
            "record": (part, price),
            "name": part.name,
            "element": part.element.code if part.element else None,
            "unit": part.unit,
            "required": part.required_text,
            "waste_percent": part.waste_percent,
            "contents": part.contents,
            "new_per_one": part.new_qty_per_one,
            "would_buy_new": "yes" if part.would_buy_new else "no",
            "life_years": part.life_years,
            "traits": ", ".join(part.traits),
            "note": part.note,
            **(_price(price) if price else {}),
        }


def _prices(build: Build) -> Iterator[Row]:
    for price in queries.iterate_older_prices(build):
        yield {"record": price, "component": price.component.name, **_price(price)}


def _purchases(build: Build) -> Iterator[Row]:
    before = None
    for line in queries.iterate_purchase_lines(build):
        purchase = line.purchase
        row: Row = {
            "record": line,
            "purchase": purchase.number,
            "component": line.component.name,
            "quantity": line.quantity_text,
            "source": line.source,
            "obtained_by": line.obtained_by,
            "usable_percent": line.usable_percent,
            "unit_price": line.unit_price,
            "price_per": line.price_per_text,
            "line_price": line.line_price_amount,
            "lot_weight": line.lot_weight,
            "origin_year": None if line.origin_year is None else Decimal(line.origin_year),
            "through_fire": "yes" if line.through_fire else None,
            "note": line.note,
        }
        if purchase.pk != before:
            row |= {
                "date": purchase.bought_on,
                "supplier": purchase.supplier.name if purchase.supplier else None,
                "state": purchase.state,
                "paid_by": purchase.paid_by.name if purchase.paid_by else None,
                "lot_price": purchase.lot_price_amount,
                "lot_split": purchase.lot_split,
                "expected_hours": purchase.expected_hours,
                "purchase_note": purchase.note,
            }
        before = purchase.pk
        yield row


def _charges(build: Build) -> Iterator[Row]:
    for charge in queries.iterate_charges(build):
        yield {
            "record": charge,
            "purchase": charge.purchase.number,
            "kind": charge.kind,
            "amount": charge.amount,
            "percent": charge.percent,
            "percent_on": charge.percent_on if charge.percent is not None else None,
            "distance": charge.distance_text,
            "spread_by": charge.spread_by,
        }


def _conversions(build: Build) -> Iterator[Row]:
    before = None
    for output in queries.iterate_conversion_outputs(build):
        conversion = output.conversion
        row: Row = {
            "record": output,
            "conversion": conversion.number,
            "component": output.component.name,
            "made": output.made_text,
        }
        if conversion.pk != before:
            row |= {
                "date": conversion.converted_on,
                "source": conversion.source.name,
                "used": conversion.used_text,
                "extra_cost": conversion.extra_cost_amount,
                "hours": conversion.hours,
                "note": conversion.note,
            }
        before = conversion.pk
        yield row


def _left_over(build: Build) -> Iterator[Row]:
    for entry in queries.iterate_left_over(build):
        yield {
            "record": entry,
            "date": entry.noted_on,
            "component": entry.component.name,
            "quantity": entry.quantity_text,
            "fate": entry.fate,
            "proceeds": entry.proceeds_amount,
            "note": entry.note,
        }


def _tasks(build: Build) -> Iterator[Row]:
    for task in queries.iterate_tasks(build):
        yield {
            "name": task.name,
            "element": task.element.code if task.element else None,
            "planned_hours": task.planned_hours,
            "done_percent": task.done_percent,
        }


def _labour(build: Build) -> Iterator[Row]:
    for entry in queries.iterate_labour(build):
        yield {
            "date": entry.worked_on,
            "person": entry.person.name,
            "task": entry.task.name if entry.task else None,
            "kind": entry.kind,
            "hours": entry.hours,
            "paid": entry.paid_amount,
            "note": entry.note,
        }


_ROWS: dict[str, Rows] = {
    schema.ELEMENTS.title: _elements,
    schema.SUPPLIERS.title: _suppliers,
    schema.COMPONENTS.title: _components,
    schema.PRICES.title: _prices,
    schema.PURCHASES.title: _purchases,
    schema.CHARGES.title: _charges,
    schema.CONVERSIONS.title: _conversions,
    schema.LEFT_OVER.title: _left_over,
    schema.TASKS.title: _tasks,
    schema.LABOUR.title: _labour,
}
