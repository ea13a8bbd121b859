"""The Build sheet: two columns, name and value."""

import re
from collections.abc import Callable
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from ..calc.money import MoneyError, minor_units
from ..calc.quantities import Contents, QuantityError, parse_quantity, to_base
from ..calc.units import UNITS, Dimension, Unit
from ..queries.exchange import ExistingBuild
from ..queries.quantities import stored
from .cells import CellError, CellReader, text_of
from .columns import Kind
from .faults import Findings, shown
from .plan import PlannedBuild
from .reader import Cell, RawRow, RawSheet
from .rows import percent_note
from .schema import (
    AREA,
    AREA_ENDING,
    AREA_LABEL_LENGTH,
    BUILD,
    BUILD_COLUMNS,
    DISTANCE_FROM,
    DISTANCE_RATE,
)

DEFAULT_CURRENCY = "USD"
PER_DISTANCE = re.compile(r"(.+?)\s*(?:/|per)\s*(mi|miles?|km|kilomet(?:er|re)s?)", re.IGNORECASE)


class _BuildReader:
    """Reads the rows one by one into the fields of a planned build."""

    def __init__(self, raw: RawSheet | None, findings: Findings):
        self.findings = findings
        self.rows = _rows(raw, findings)
        self.reader = CellReader(2)
        self.fields: dict[str, Any] = {}
        self.areas: dict[str, tuple[str, Decimal, str]] = {}
        self.rates: dict[date | None, Decimal] = {}
        self.rate_units: set[str] = set()

    def fault(self, number: int | None, name: str, text: str) -> None:
        """Add a fault of one row."""
        self.findings.fault(BUILD, number, name, text)

    def cell(self, number: int | None, name: str, read: Callable[[], Any]) -> Any:
        """The result of reading a cell, or None with a fault."""
        try:
            return read()
        except CellError as error:
            self.fault(number, name, str(error))
            return None

    def read_currency(self) -> str | None:
        """The currency, from which the decimals of every amount follow."""
        if "currency" not in self.rows:
            return None
        number, name, cell = self.rows.pop("currency")
        code: str | None = self.cell(number, name, lambda: text_of(cell).upper())
        if code is None:
            return None
        try:
            self.reader = CellReader(minor_units(code))
        except MoneyError as error:
            self.fault(number, name, str(error))
            return None
        return code

    def read_others(self) -> None:
        by_key = {title.casefold(): column for title, column in BUILD_COLUMNS.items()}
        unknown = []
        for key, (number, name, cell) in self.rows.items():
            if column := by_key.get(key):
                value = self.cell(number, name, partial(self.reader.read, cell, column))
                if value is not None:
                    self.fields[column.field] = value
                    if column.kind is Kind.PERCENT and 0 < value < 1:
                        self.findings.note(percent_note(BUILD, name, value))
                if self.reader.rounded:
                    self.reader.rounded = False
                    self.findings.rounded[f"{BUILD}, {name}"] += 1
            elif key == DISTANCE_RATE.title.casefold():
                self._rate(number, name, None, cell)
            elif key.startswith(DISTANCE_FROM.casefold()):
                self._dated_rate(number, name, cell)
            elif key.endswith(AREA_ENDING):
                self._area(number, name, cell)
            else:
                unknown.append(shown(name))
        if unknown:
            self.findings.note(f"Build: the rows named {', '.join(unknown[:10])} are not read.")

    def _dated_rate(self, number: int, name: str, cell: Cell) -> None:
        typed = name[len(DISTANCE_FROM) :].strip()
        try:
            from_on = date.fromisoformat(typed)
        except ValueError:
            self.fault(
                number, name, f"{shown(typed)} is not a date: enter the day like 2026-01-01."
            )
            return
        self._rate(number, name, from_on, cell)

    def _rate(self, number: int, name: str, from_on: date | None, cell: Cell) -> None:
        if isinstance(cell, str) and (per := PER_DISTANCE.fullmatch(cell.strip())):
            cell = per[1]
            self.rate_units.add("km" if per[2].lower().startswith("k") else "mi")
        rate = self.cell(number, name, lambda: self.reader.read(cell, DISTANCE_RATE))
        if rate is not None:
            self.rates[from_on] = rate

    def _area(self, number: int, name: str, cell: Cell) -> None:
        if len(name) > AREA_LABEL_LENGTH:
            self.fault(number, name[:20], f"Shorten the name to {AREA_LABEL_LENGTH} signs.")
            return
        text = self.cell(number, name, lambda: self.reader.read(cell, AREA))
        if text is None:
            return
        try:
            size = parse_quantity(text)
            unit = area_unit(size.unit)
            qty = stored(to_base(size, unit, Contents()))
        except QuantityError as error:
            self.fault(number, name, str(error))
            return
        if qty <= 0:
            self.fault(number, name, "An area must be above zero: leave it out if not known.")
            return
        # “floor area” and “Floor Area” are one label of ours.
        label = name[0].upper() + name[1:]
        for ours in ("Floor area", "Envelope area"):
            label = ours if name.casefold() == ours.casefold() else label
        self.areas[name.casefold()] = (label, qty, unit.symbol)

    def distance_unit(self) -> str:
        """mi unless a row says km. Two that disagree are a fault."""
        stated = self.rate_units | ({self.fields.pop("distance_unit", "")} - {""})
        if len(stated) > 1:
            self.findings.fault(
                BUILD,
                None,
                DISTANCE_RATE.title,
                "The distance rates are partly per mi and partly per km: use one of them.",
            )
        return min(stated) if stated else "mi"


def area_unit(unit: Unit) -> Unit:
    """The unit an area is kept in. Raises QuantityError when it is no area."""
    if unit.dimension is not Dimension.AREA:
        raise QuantityError(
            f"{unit.plural} do not measure an area: enter it like 744 sq ft or 70 sq m."
        )
    return UNITS[unit.symbol]


def _rows(raw: RawSheet | None, findings: Findings) -> dict[str, tuple[int, str, Cell]]:
    """Rows with a name and a value, by name without case; twice the same name is a fault."""
    rows: dict[str, tuple[int, str, Cell]] = {}
    listed = raw.rows if raw else []
    if listed and _is_heading(listed):
        listed = listed[1:]
    for row in listed:
        cells = (*row.cells[:2], None, None)
        if raw and (complaint := raw.bad.get((row.number, 2))):
            findings.fault(BUILD, row.number, str(cells[0] or "Value")[:60], complaint)
            continue
        if cells[0] is None or cells[1] is None:
            continue
        try:
            name = " ".join(text_of(cells[0]).replace("*", " ").split())
        except CellError as error:
            findings.fault(BUILD, row.number, "Name", str(error))
            continue
        key = name.casefold()
        if key in rows:
            findings.fault(BUILD, row.number, name, "This is here twice: keep one.")
        else:
            rows[key] = (row.number, name, cells[1])
    return rows


def _is_heading(rows: list[RawRow]) -> bool:
    """Whether the first row is a heading Name | Value rather than a build named “Value”."""
    first = [str(cell).strip().casefold() for cell in rows[0].cells[:2]]
    others = (str(row.cells[0]).strip().casefold() for row in rows[1:] if row.cells)
    return first == ["name", "value"] and "name" in others


def check_build(
    raw: RawSheet | None, findings: Findings, name: str, existing: ExistingBuild | None
) -> tuple[PlannedBuild, CellReader]:
    """The planned build and a cell reader for its currency."""
    state = _BuildReader(raw, findings)
    is_currency_given = "currency" in state.rows
    currency = state.read_currency()
    if existing is not None:
        return _use_existing(state, currency, existing)
    state.read_others()
    own_name = state.fields.pop("name", "")
    named: str | None = name or own_name
    if name:
        named = state.cell(None, "Name", lambda: text_of(name))
    if named is None:
        named = ""
    elif not named:
        findings.fault(BUILD, None, "Name", "The build has no name: add a row Name.")
    elif len(named) > BUILD_COLUMNS["Name"].max_length:
        findings.fault(
            BUILD, None, "Name", f"Shorten it to {BUILD_COLUMNS['Name'].max_length} signs."
        )
    if raw is not None and not is_currency_given:
        findings.fault(
            BUILD, None, "Currency", "The currency is missing: add a row Currency, like USD."
        )
    if raw is None:
        findings.note(f"There is no Build sheet: the currency is taken as {DEFAULT_CURRENCY}.")
    if state.fields.get("own_hours_count") and "own labour rate" not in state.rows:
        number, title, _ = state.rows["own hours count"]
        findings.fault(
            BUILD,
            number,
            title,
            "Own hours count at a rate: add a row Own labour rate, or enter no.",
        )
    said = {
        "name": named,
        "currency": currency or DEFAULT_CURRENCY,
        "distance_unit": state.distance_unit(),
    }
    areas, rates = tuple(state.areas.values()), tuple(state.rates.items())
    return PlannedBuild(state.fields | said, areas=areas, rates=rates), state.reader


def _use_existing(
    state: _BuildReader, currency: str | None, existing: ExistingBuild
) -> tuple[PlannedBuild, CellReader]:
    if currency is not None and currency != existing.currency:
        state.findings.fault(
            BUILD,
            None,
            "Currency",
            f"The build is in {existing.currency}, the workbook in {currency}: import it "
            "into a new build.",
        )
    if state.rows:
        state.findings.note("The build exists: its own figures stay as they are.")
    known = {
        "name": existing.name,
        "currency": existing.currency,
        "distance_unit": existing.distance_unit,
        "time_zone": existing.time_zone,
    }
    build = PlannedBuild(known, rates=existing.rates)
    return build, CellReader(minor_units(existing.currency))
