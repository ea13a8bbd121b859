"""Rows of a preview in words: what each would become, and its cells for mending."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import Any

from ...models import ImportJob, ImportRow, RowState
from ...templatetags.figures import money_text, rate_text
from .cells import cell_text, head_text
from .check import job_mapping
from .fields import FIELDS, Field
from .mapping import Mapping
from .read import RowReader

# Columns of the preview by kind of table: heading, and the fields it shows.
_SHOWN = {
    "purchases": ("Date", "Supplier", "Component", "Quantity", "Price", "Source"),
    "components": ("Component", "Quantity", "Unit", "Element", "New price"),
    "hours": ("Date", "Person", "Task", "Hours", "Kind", "Paid"),
    "prices": ("Component", "New price", "Date", "Priced at"),
}


@dataclass(frozen=True)
class Entry:
    """One cell to be fixed: the name of its input, label, text and sentence."""

    name: str
    label: str
    text: str
    fault: str = ""
    was: str = ""


@dataclass(frozen=True)
class ShownRow:
    """A row of the preview. ``cells``: heading and text; ``entries``: only where it is fixed."""

    number: int
    state: str
    state_label: str
    cells: list[tuple[str, str]]
    reason: str
    faults: list[tuple[str, str]]
    entries: list[Entry]
    raw: str
    is_double: bool
    choice: str
    record_id: int | None
    note: str = ""


def show_rows(
    job: ImportJob, rows: list[ImportRow], typed: dict[str, str] | None = None
) -> list[ShownRow]:
    """Rows for a page; those to fix with their entries. ``typed``: what was posted."""
    mapping = job_mapping(job)
    reader = RowReader(mapping)
    labels = {field.key: field.label for field in mapping.fields}
    return [
        ShownRow(
            number=row.number,
            state=row.state,
            state_label=RowState(row.state).label,
            cells=_cells(mapping, row),
            reason=row.reason,
            faults=[(labels.get(key, key), text) for key, text in row.faults],
            entries=entries_of(mapping, reader, row, typed or {})
            if row.state == RowState.FAULT
            else [],
            raw=" · ".join(text for cell in row.cells if (text := head_text(cell, 40)))[:300],
            is_double=row.is_double,
            choice=row.choice,
            record_id=row.record_id,
            note=row.values.get("note", "") if row.values else "",
        )
        for row in rows
    ]


def entries_of(
    mapping: Mapping,
    reader: RowReader,
    row: ImportRow,
    typed: dict[str, str],
    *,
    every: bool = False,
) -> list[Entry]:
    """Inputs for a row: columns that are read, what is needed or faulty, or every field."""
    cells = reader.raw(row.cells, {})
    raw = reader.raw(row.cells, row.mended)
    faults = dict(row.faults)
    entries = []
    for field in FIELDS[mapping.kind]:
        wanted = field.key in mapping.by_field or field.needed or field.key in faults
        if not (wanted or every or field.key in raw):
            continue
        name = f"r{row.number}-{field.key}"
        entries.append(
            Entry(
                name=name,
                label=field.label,
                text=typed.get(name, cell_text(raw.get(field.key))),
                fault=faults.get(field.key, ""),
                was=cell_text(cells.get(field.key)) if field.key in row.mended else "",
            )
        )
    return entries


def shown_headings(kind: str) -> tuple[str, ...]:
    """Headings of the preview of a kind of table."""
    return _SHOWN[kind]


def field_keys(kind: str) -> set[str]:
    """Keys of all fields of a kind of table."""
    fields: tuple[Field, ...] = FIELDS[kind]
    return {field.key for field in fields}


def _cells(mapping: Mapping, row: ImportRow) -> list[tuple[str, str]]:
    values = row.values or {}
    if not values:
        return []
    made = {
        "Date": _day(values.get("date", "")),
        "Supplier": values.get("supplier", ""),
        "Priced at": values.get("supplier", ""),
        "Component": values.get("item", ""),
        "Quantity": values.get("quantity", ""),
        "Unit": values.get("unit", ""),
        "Element": values.get("element", ""),
        "Price": _price(values, mapping.currency),
        "New price": _price(values, mapping.currency) if "unit_price" in values else "",
        "Source": values.get("source", ""),
        "Person": values.get("person", ""),
        "Task": values.get("task", ""),
        "Hours": values.get("hours", ""),
        "Kind": values.get("labour", ""),
        "Paid": _money(values["paid"], mapping.currency) if "paid" in values else "",
    }
    return [(heading, made[heading]) for heading in _SHOWN[mapping.kind]]


def _day(text: str) -> str:
    if not text:
        return ""
    day = date.fromisoformat(text)
    return f"{day.day} {day:%b %Y}"


def _price(values: dict[str, Any], currency: str) -> str:
    if "total" in values:
        said = _money(values["total"], currency)
    elif "unit_price" in values:
        per = f" per {values['per']}" if values.get("per") else " each"
        each = Decimal(values["unit_price"])
        said = rate_text(each, currency) + per if each else "free"
    else:
        said = "not known"
    more = [
        f"{label} {values[key] if key == 'distance' else _money(values[key], currency)}"
        for key, label in _MORE.items()
        if key in values
    ]
    return ", ".join([said, *more])


def _money(text: str, currency: str) -> str:
    amount = Decimal(text)
    return money_text(amount, currency) if amount else "free"


_MORE = {"tax": "tax", "haulage": "haulage", "discount": "discount", "distance": "driven"}
