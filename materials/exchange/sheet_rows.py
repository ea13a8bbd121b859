"""The rows of each sheet as they come from the database, for a workbook and for CSV."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

from ..calc.quantities import format_quantity
from ..calc.units import UNITS
from ..choices import Fate
from ..models import Build, BuildArea, RetailPrice
from ..queries import exchange as queries
from ..queries.moves import ANOTHER
from . import schema
from .columns import Sheet
from .settling_rows import hand_over_rows, share_rows

MILE = "mi"

# Values by the keys of the columns; “record” is the row of the database they come from.
Row = dict[str, Any]
Rows = Callable[[Build], Iterator[Row]]


def build_rows(build: Build) -> list[tuple[str, Any]]:
    """Names and values of the Build sheet; None where a figure is not stated."""
    areas = {
        schema.area_title(area.label): format_quantity(area.area_qty, UNITS[area.area_unit])
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
        ("Own hours count", "yes" if build.own_hours_count else None),
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
            "load_kind": part.load_kind or None,
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
            "price_breaks": line.price_breaks,
            "most": line.most_text,
            "step": line.step_text,
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
    for move in queries.iterate_moves_out(build):
        assert move.component is not None
        yield {
            "record": move,
            "date": move.moved_on,
            "component": move.component.name,
            "quantity": move.quantity_text,
            "fate": Fate.MOVED.value,
            "note": move.note,
            "value": move.value_amount,
        }


def _moved_in(build: Build) -> Iterator[Row]:
    for move in queries.iterate_moves_in(build):
        assert move.to_component is not None
        yield {
            "record": move,
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


_ROWS: dict[str, Rows] = {
    schema.ELEMENTS.title: _elements,
    schema.SUPPLIERS.title: _suppliers,
    schema.COMPONENTS.title: _components,
    schema.PRICES.title: _prices,
    schema.PURCHASES.title: _purchases,
    schema.CHARGES.title: _charges,
    schema.CONVERSIONS.title: _conversions,
    schema.LEFT_OVER.title: _left_over,
    schema.MOVED_IN.title: _moved_in,
    schema.TASKS.title: _tasks,
    schema.LABOUR.title: _labour,
    schema.SHARES.title: share_rows,
    schema.HANDED_OVER.title: hand_over_rows,
}
