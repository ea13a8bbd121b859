"""Changing cells of an exported workbook, as somebody does who wants to see what it comes to."""

import io
import random
import re
from collections.abc import Callable
from datetime import date, datetime, timedelta
from decimal import Decimal
from typing import Any

from openpyxl import Workbook, load_workbook

from materials.calc.types import Basis
from materials.choices import Fate, LabourKind, State

from .small import check

Value = Any
Change = Callable[[random.Random, Value], Value]
_FIRST = re.compile(r"[0-9]+(\.[0-9]+)?(?![0-9.,/])")


def scale(rng: random.Random, value: Value) -> Value:
    """Another number; None where there was none."""
    if not isinstance(value, int | float):
        return None
    factor = rng.choice([Decimal("0.37"), Decimal("1.25"), Decimal(3), Decimal(0)])
    return round(Decimal(str(value)) * factor, 2)


def percent(rng: random.Random, value: Value) -> Value:
    """Another percentage."""
    return None if value is None else rng.choice([3, 12.5, 55])


def count(rng: random.Random, value: Value) -> Value:
    """Another first number in a quantity, the rest as it stands."""
    if not isinstance(value, str):
        return None
    found = _FIRST.match(value)
    if found is None:
        return None
    number = Decimal(found[0]) * rng.choice([2, 3]) + rng.choice([0, 1])
    return f"{number}{value[found.end() :]}"


def less(rng: random.Random, value: Value) -> Value:
    """Half of a quantity."""
    found = _FIRST.match(value) if isinstance(value, str) else None
    if found is None or not Decimal(found[0]):
        return None
    return f"{(Decimal(found[0]) / 2).normalize():f}{value[found.end() :]}"


def one_of(*words: Value) -> Change:
    """A word of the list."""
    return lambda rng, value: rng.choice(words)


def another_day(rng: random.Random, value: Value) -> Value:
    """A day some time before or after."""
    if not isinstance(value, date | datetime):
        return None
    return value + timedelta(days=rng.choice([-60, -7, 30]))


def typed(*values: Value) -> Change:
    """A value where there was none."""
    return lambda rng, value: rng.choice(values) if value is None else None


CHANGES: tuple[tuple[str, str, Change], ...] = (
    ("Purchases", "Unit price", scale),
    ("Purchases", "Line price", scale),
    ("Purchases", "Lot price", scale),
    ("Purchases", "Lot split", one_of("equal", "quantity", "retail value")),
    ("Purchases", "Usable %", percent),
    ("Purchases", "Quantity", count),
    ("Purchases", "Quantity", count),
    ("Purchases", "Lot weight", scale),
    ("Moved in", "Cost", scale),
    ("Left over", "Value", scale),
    ("Purchases", "State", one_of(*State.values)),
    ("Purchases", "Date", another_day),
    ("Charges", "Amount", scale),
    ("Charges", "Percent", percent),
    ("Charges", "Distance", count),
    ("Charges", "Spread by", one_of(*Basis)),
    ("Components", "New price", scale),
    ("Components", "New price", scale),
    ("Components", "Priced on", another_day),
    ("Components", "New quantity per one", scale),
    ("Components", "Would buy new", one_of("yes", "no")),
    ("Components", "Waste %", percent),
    ("Components", "Required", count),
    ("Components", "Element", one_of("B10", "C30", "Frame", None)),
    ("Prices", "New price", scale),
    ("Prices", "Priced on", another_day),
    ("Conversions", "Extra cost", scale),
    ("Conversions", "Hours", scale),
    ("Conversions", "Quantity used", less),
    ("Conversions", "Quantity made", less),
    ("Left over", "Quantity", less),
    ("Left over", "Fate", one_of(*Fate.values)),
    ("Left over", "Proceeds", scale),
    ("Labour", "Hours", scale),
    ("Labour", "Paid", scale),
    ("Labour", "Kind", one_of(*LabourKind.values)),
    ("Elements", "Budget", scale),
    ("Build", "Budget", scale),
    ("Build", "Retail tax %", percent),
    ("Build", "Own labour rate", scale),
    ("Build", "Own labour rate", typed(21)),
    ("Build", "Budget", typed(7000)),
    ("Build", "Distance rate", scale),
    ("Build", "Floor area", count),
)


def cell_of(workbook: Workbook, sheet: str, column: str, rng: random.Random) -> Any:
    """A cell below a heading (on Build: beside a name), or None."""
    page = workbook[sheet]
    if sheet == "Build":
        return next((row[1] for row in page.iter_rows() if row[0].value == column), None)
    index = [cell.value for cell in page[1]].index(column) + 1
    rows = [row for row in range(2, page.max_row + 1) if page.cell(row, 1).value is not None]
    return page.cell(rng.choice(rows), index) if rows else None


def saved(workbook: Workbook) -> bytes:
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def changed(data: bytes, seed: int, wanted: int = 3) -> tuple[bytes, list[str]]:
    """The workbook with some cells changed that an import still accepts, and which."""
    workbook = load_workbook(io.BytesIO(data))
    for attempt in range(30):
        rng = random.Random(f"{seed}-{attempt}")
        lines: list[str] = []
        before: list[tuple[Any, Value]] = []
        while len(lines) < (wanted if attempt < 15 else 1):
            sheet, column, change = rng.choice(CHANGES)
            cell = cell_of(workbook, sheet, column, rng)
            value = None if cell is None else change(rng, cell.value)
            if cell is None or value is None or value == cell.value:
                continue
            lines.append(f"{sheet} {cell.coordinate}, {column}: {cell.value!r} → {value!r}")
            before.append((cell, cell.value))
            cell.value = value
        result = saved(workbook)
        if check(result, name="changed").plan is not None:
            return result, lines
        for cell, value in reversed(before):
            cell.value = value
    raise AssertionError(f"no change of build {seed} was accepted")
