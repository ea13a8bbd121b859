"""Several builds beside each other, figure by figure.

Areas are brought to one unit exactly. Money of unlike currency stands side by side without a
difference; what is not known stays not known and has none either.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial

from .quantities import Contents, convert
from .reports import CostSheet, ElementRow, per
from .types import AreaInput, LabourKind
from .units import find_unit

Figure = Callable[[CostSheet], Fraction | None]


@dataclass(frozen=True, slots=True)
class Cell:
    """One build's figure. ``more``: what it is above that of the build at place ``than``.

    Compared is with the first build, money with the first in its currency. ``more`` is None where
    one of the two is not known. ``is_absent``: the build has no such part, which is not the same
    as a figure not known.
    """

    value: Fraction | None
    more: Fraction | None = None
    than: int = 0
    is_absent: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of all builds, in their order. ``kind``: money, hours or percent."""

    label: str
    kind: str
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True)
class Group:
    """Rows that belong together."""

    title: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class AreaChoice:
    """An area that builds may be compared by, and the unit all of them are brought to."""

    key: str
    label: str
    unit: str


def list_areas(sheets: Sequence[CostSheet]) -> tuple[AreaChoice, ...]:
    """Areas that any of the builds measured, in the unit of the first that did."""
    found: dict[str, AreaChoice] = {}
    for sheet in sheets:
        for row in sheet.areas:
            if row.area.area is not None and row.area.unit is not None:
                choice = AreaChoice(row.area.key, row.area.label, row.area.unit)
                found.setdefault(row.area.key, choice)
    return tuple(found.values())


def size_in(sheet: CostSheet, area: AreaChoice) -> Fraction | None:
    """A build's area in the common unit; None when it was not measured."""
    for row in sheet.areas:
        if row.area.key == area.key:
            return _converted(row.area, area.unit)
    return None


def _converted(area: AreaInput, unit: str) -> Fraction | None:
    if area.area is None or area.unit is None:
        return None
    return convert(area.area, find_unit(area.unit), find_unit(unit), Contents(()))


def compare_builds(sheets: Sequence[CostSheet], by: AreaChoice | None) -> tuple[Group, ...]:
    """Every group of figures; hours and elements per ``by``, None when nothing is measured."""
    groups = [
        Group("Cost per area", _area_rows(sheets)),
        Group("Against retail", _savings_rows(sheets)),
    ]
    if by is not None:
        groups += [
            Group(f"Hours per {by.unit} of {by.label.lower()}", _hours_rows(sheets, by)),
            Group(f"Elements, cost per {by.unit} of {by.label.lower()}", _elements(sheets, by)),
        ]
    return tuple(group for group in groups if group.rows)


def _row(
    label: str, kind: str, sheets: Sequence[CostSheet], figure: Callable[[CostSheet], Cell]
) -> Row:
    """A row with each cell's difference from the first that it can be compared with."""
    cells = [figure(sheet) for sheet in sheets]
    currencies = [sheet.build.currency for sheet in sheets]
    shown = []
    for place, cell in enumerate(cells):
        than = currencies.index(currencies[place]) if kind == "money" else 0
        first = cells[than].value
        if than != place and first is not None and cell.value is not None:
            cell = Cell(cell.value, cell.value - first, than)
        shown.append(cell)
    return Row(label, kind, tuple(shown))


def _area_rows(sheets: Sequence[CostSheet]) -> tuple[Row, ...]:
    def of_area(what: Figure, area: AreaChoice, sheet: CostSheet) -> Cell:
        return Cell(per(what(sheet), size_in(sheet, area)))

    rows = []
    for area in list_areas(sheets):
        label = f"{area.label}, per {area.unit}"
        for beside, what in (
            ("", _cost),
            (", with own labour", _cost_with_own),
            (", retail equivalent", _new),
        ):
            rows.append(_row(label + beside, "money", sheets, partial(of_area, what, area)))
    return tuple(rows)


def _cost(sheet: CostSheet) -> Fraction:
    return sheet.total.cost + sheet.hours.paid_labour


def _cost_with_own(sheet: CostSheet) -> Fraction | None:
    own = sheet.own_labour_value
    return None if own is None else _cost(sheet) + own


def _new(sheet: CostSheet) -> Fraction | None:
    return sheet.total.retail_equivalent


def _savings_rows(sheets: Sequence[CostSheet]) -> tuple[Row, ...]:
    return (
        _row("Savings", "money", sheets, lambda sheet: Cell(sheet.savings)),
        _row("Savings, %", "percent", sheets, lambda sheet: Cell(sheet.savings_percent)),
        _row(
            "Saved per extra hour", "money", sheets, lambda sheet: Cell(sheet.saved_per_extra_hour)
        ),
    )


def _hours_rows(sheets: Sequence[CostSheet], by: AreaChoice) -> tuple[Row, ...]:
    def row(label: str, what: Callable[[CostSheet], Fraction]) -> Row:
        return _row(
            label, "hours", sheets, lambda sheet: Cell(per(what(sheet), size_in(sheet, by)))
        )

    rows = [row("All hours", lambda sheet: sheet.hours.total)]
    rows += [
        row(kind.value.capitalize(), partial(_hours_of, kind)) for kind in sheets[0].hours.by_kind
    ]
    rows.append(row("Extra hours: sourcing and preparing", lambda sheet: sheet.hours.extra))
    return tuple(rows)


def _hours_of(kind: LabourKind, sheet: CostSheet) -> Fraction:
    return sheet.hours.by_kind[kind]


def _elements(sheets: Sequence[CostSheet], by: AreaChoice) -> tuple[Row, ...]:
    """Elements of one code are one row, whatever each build calls it."""
    labels: dict[str, str] = {}
    rows: list[dict[str, ElementRow]] = []
    for sheet in sheets:
        own = {_code(row): row for row in sheet.elements}
        rows.append(own)
        for code, row in own.items():
            name = f"{row.element.code} {row.element.name}" if row.element else "No element"
            labels.setdefault(code, name)
    places = {id(sheet): own for sheet, own in zip(sheets, rows, strict=True)}

    def cell(code: str, sheet: CostSheet) -> Cell:
        row = places[id(sheet)].get(code)
        if row is None:
            return Cell(None, is_absent=True)
        return Cell(per(row.figures.cost, size_in(sheet, by)))

    # Those without an element come last.
    ordered = sorted(labels, key=lambda code: (not code, code))
    return tuple(_row(labels[code], "money", sheets, partial(cell, code)) for code in ordered)


def _code(row: ElementRow) -> str:
    return row.element.code.casefold() if row.element else ""
