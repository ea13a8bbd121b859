"""Writing a build as a workbook that reads back into an equal one.

Text is always written as text: openpyxl turns a leading “=” into a formula and an “#N/A” into
an error otherwise (ISO/IEC 29500 cell type), and a cell that begins like a formula also gets
the quote prefix, so that it stays text when it is edited (OWASP ASVS 5.0.0 requirement 1.2.10:
= + - @ tab and NUL at the start of a cell).
"""

import re
from collections.abc import Iterable, Iterator
from decimal import Decimal
from typing import Any, BinaryIO

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ERROR_CODES, ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from ..calc.quantities import format_quantity
from ..calc.units import UNITS
from ..choices import Fate
from ..models import Build, RetailPrice
from ..queries import exchange as queries
from ..queries.moves import ANOTHER
from . import schema
from .columns import Sheet
from .settling_rows import hand_over_rows, share_rows

FORMULA_MARKS = "=+-@\t\r\n\0'"
# A text that looks like an escape of the file format would be read as the sign it escapes.
ESCAPE = re.compile(r"_(?=x[0-9A-Fa-f]{4}_)")
MILE = "mi"

Row = dict[str, Any]


def write_workbook(build: Build, stream: BinaryIO) -> None:
    """Write every sheet of a build to a binary stream, row by row."""
    workbook = Workbook(write_only=True)
    _write_build(workbook, build)
    for sheet, rows in (
        (schema.ELEMENTS, _elements(build)),
        (schema.SUPPLIERS, _suppliers(build)),
        (schema.COMPONENTS, _components(build)),
        (schema.PRICES, _prices(build)),
        (schema.PURCHASES, _purchases(build)),
        (schema.CHARGES, _charges(build)),
        (schema.CONVERSIONS, _conversions(build)),
        (schema.LEFT_OVER, _left_over(build)),
        (schema.MOVED_IN, _moved_in(build)),
        (schema.TASKS, _tasks(build)),
        (schema.LABOUR, _labour(build)),
        (schema.SHARES, share_rows(build)),
        (schema.HANDED_OVER, hand_over_rows(build)),
    ):
        _write_sheet(workbook, sheet, rows)
    workbook.save(stream)


def _write_sheet(workbook: Workbook, sheet: Sheet, rows: Iterable[Row]) -> None:
    page = workbook.create_sheet(sheet.title)
    page.freeze_panes = "A2"
    for index, column in enumerate(sheet.columns, 1):
        page.column_dimensions[get_column_letter(index)].width = column.width
    heading = []
    for column in sheet.columns:
        cell = WriteOnlyCell(page, column.title)
        cell.font = Font(bold=True)
        heading.append(cell)
    page.append(heading)
    keys = [column.key for column in sheet.columns]
    for row in rows:
        page.append([_cell(page, row.get(key)) for key in keys])


def _cell(page: Any, value: Any) -> Any:
    """A value as it is written; text can never turn into anything else."""
    if not isinstance(value, str):
        return _trimmed(value) if isinstance(value, Decimal) else value
    if not value:
        return None
    text = ESCAPE.sub("_x005F_", ILLEGAL_CHARACTERS_RE.sub("", value))
    if text[:1] not in FORMULA_MARKS and text not in ERROR_CODES:
        return text
    cell = WriteOnlyCell(page, text)
    cell.data_type = "s"
    cell.quotePrefix = True
    return cell


def _trimmed(value: Decimal) -> Decimal:
    """Without trailing zeros, which a spreadsheet would not keep either."""
    return value.quantize(Decimal(1)) if value == value.to_integral_value() else value.normalize()


def _write_build(workbook: Workbook, build: Build) -> None:
    page = workbook.create_sheet(schema.BUILD)
    page.column_dimensions["A"].width = 32
    page.column_dimensions["B"].width = 32
    rows: list[tuple[str, Any]] = [("Name", build.name), ("Currency", build.currency)]
    rows += [
        (area.label, format_quantity(area.area_qty, UNITS[area.area_unit]))
        for area in build.areas.all()
    ]
    rows += [
        ("Budget", build.budget_amount),
        ("Contingency %", build.contingency_percent),
        ("Retail tax %", build.retail_tax_percent),
        ("Own labour rate", build.own_labour_rate),
        ("Own hours count", "yes" if build.own_hours_count else None),
    ]
    for rate in queries.list_distance_rates(build):
        name = schema.DISTANCE_RATE.title
        rows.append((f"{schema.DISTANCE_FROM}{rate.from_on}" if rate.from_on else name, rate.rate))
    if build.distance_unit != MILE:
        rows.append(("Distance unit", build.distance_unit))
    for name, value in rows:
        if value is not None:
            page.append([_cell(page, name), _cell(page, value)])


def _elements(build: Build) -> Iterator[Row]:
    for element in queries.iterate_elements(build):
        yield {"code": element.code, "name": element.name, "budget": element.budget_amount}


def _suppliers(build: Build) -> Iterator[Row]:
    for supplier in queries.iterate_suppliers(build):
        yield {
            "name": supplier.name,
            "place": supplier.place,
            "contact": supplier.contact,
            "is_gone": "yes" if supplier.is_gone else None,
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
        yield {"component": price.component.name, **_price(price)}


def _purchases(build: Build) -> Iterator[Row]:
    before = None
    for line in queries.iterate_purchase_lines(build):
        purchase = line.purchase
        row: Row = {
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
            "date": entry.noted_on,
            "component": entry.component.name,
            "quantity": entry.quantity_text,
            "fate": entry.fate,
            "proceeds": entry.proceeds_amount,
            "note": entry.note,
        }
    for move in queries.iterate_moves_out(build):
        yield {
            "date": move.moved_on,
            "component": move.component.name,
            "quantity": move.quantity_text,
            "fate": Fate.MOVED.value,
            "note": move.note,
            "value": move.value_amount,
        }


def _moved_in(build: Build) -> Iterator[Row]:
    for move in queries.iterate_moves_in(build):
        yield {
            "date": move.moved_on,
            "component": move.to_component.name,
            "quantity": move.to_text,
            "cost": move.value_amount,
            # A workbook may go to anybody, who need not learn of the builds kept beside it.
            "origin": move.elsewhere or ANOTHER,
            "note": move.note,
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
