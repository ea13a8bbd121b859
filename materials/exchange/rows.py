"""From the raw rows of a sheet to rows of values under our column keys."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from ..calc.letters import letters
from .cells import CellError, CellReader
from .columns import Column, Kind, Need, Sheet
from .faults import Findings, shown
from .reader import Cell, RawSheet


@dataclass(slots=True)
class Row:
    """One data row. ``bad`` holds the keys of cells that have a fault already."""

    number: int
    values: dict[str, Any]
    bad: set[str]

    def get(self, key: str, default: Any = None) -> Any:
        """The value of a column, or the default where the cell is blank or faulty."""
        return self.values.get(key, default)

    def is_fine(self, *keys: str) -> bool:
        """Whether none of the cells has a fault."""
        return not self.bad.intersection(keys)


@dataclass
class Table:
    """A sheet's rows; ``is_present`` is False where the workbook has no such sheet."""

    sheet: Sheet
    is_present: bool = False
    rows: list[Row] = field(default_factory=list)


def _heading_key(cell: Cell) -> str:
    text = cell if isinstance(cell, str) else ""
    # “Date*” is how a starred column may be headed.
    return " ".join(text.replace("*", " ").split()).casefold()


def read_table(raw: RawSheet | None, sheet: Sheet, reader: CellReader, findings: Findings) -> Table:
    """Read every row; faults and notes go to ``findings``."""
    table = Table(sheet)
    if raw is None:
        return table
    table.is_present = True
    if not raw.rows:
        return table
    heading, *data = raw.rows
    columns = _match_headings(heading.number, heading.cells, sheet, findings)
    missing = _find_missing(heading.number, columns, sheet, findings)
    required = [column for _, column in columns if column.need is Need.ALWAYS]
    last = data[-1].number if data else heading.number
    _find_merges(raw, (heading.number, last), columns, sheet, findings)
    for raw_row in data:
        row = Row(raw_row.number, {}, set(missing))
        _read_cells(row, raw_row.cells, raw.bad, columns, sheet, reader, findings)
        if not row.values and row.bad == missing:
            continue
        for column in required:
            if column.key not in row.values and column.key not in row.bad:
                row.bad.add(column.key)
                findings.fault(sheet.title, row.number, column.title, is_missing(column))
        table.rows.append(row)
    return table


def _find_missing(
    number: int, columns: list[tuple[int, Column]], sheet: Sheet, findings: Findings
) -> set[str]:
    """Keys of columns that must be there and are not, each with a fault at the heading."""
    matched = {column.key for _, column in columns}
    missing = set()
    for column in sheet.columns:
        if column.need in (Need.ALWAYS, Need.FIRST) and column.key not in matched:
            missing.add(column.key)
            findings.fault(
                sheet.title,
                number,
                column.title,
                f"The column is missing: add a column headed {column.title}.",
            )
    return missing


def _read_cells(
    row: Row,
    cells: Sequence[Cell],
    bad: Mapping[tuple[int, int], str],
    columns: list[tuple[int, Column]],
    sheet: Sheet,
    reader: CellReader,
    findings: Findings,
) -> None:
    for index, column in columns:
        complaint = bad.get((row.number, index + 1)) if bad else None
        cell = cells[index] if index < len(cells) else None
        if cell is None and complaint is None:
            continue
        try:
            if complaint is not None:
                raise CellError(complaint)
            value = reader.read(cell, column)
        except CellError as error:
            row.bad.add(column.key)
            findings.fault(sheet.title, row.number, column.title, str(error))
        else:
            if value != "":
                row.values[column.key] = value
                _notice(value, column, sheet, reader, findings)


def is_missing(column: Column) -> str:
    """The sentence for a blank cell that must be filled."""
    return f"The cell is missing its value: enter {column.hint}."


def _notice(
    value: Any, column: Column, sheet: Sheet, reader: CellReader, findings: Findings
) -> None:
    if reader.rounded:
        reader.rounded = False
        findings.rounded[f"{sheet.title}, {column.title}"] += 1
    elif column.kind is Kind.PERCENT and 0 < value < 1:
        findings.note(percent_note(sheet.title, column.title, value))


def percent_note(sheet: str, name: str, value: Decimal) -> str:
    """A cell formatted as per cent holds a hundredth of what it shows."""
    return (
        f"{sheet}, {name}: values below 1 are read as they are"
        f" ({value.normalize():f} is {value.normalize():f}%); enter 85 for 85%."
    )


def _match_headings(
    number: int, cells: Iterable[Cell], sheet: Sheet, findings: Findings
) -> list[tuple[int, Column]]:
    by_key = {column.title.casefold(): column for column in sheet.columns}
    found: dict[str, tuple[int, Column]] = {}
    unknown = []
    for index, cell in enumerate(cells):
        key = _heading_key(cell)
        if cell is None:
            continue
        if key not in by_key:
            unknown.append(shown(cell))
        elif by_key[key].is_shown:
            continue
        elif key in found:
            findings.fault(
                sheet.title,
                number,
                by_key[key].title,
                "Two columns have this heading: keep one of them.",
            )
        else:
            found[key] = (index, by_key[key])
    if unknown:
        findings.note(f"{sheet.title}: the columns headed {', '.join(unknown[:10])} are not read.")
    return list(found.values())


def _find_merges(
    raw: RawSheet,
    span: tuple[int, int],
    columns: list[tuple[int, Column]],
    sheet: Sheet,
    findings: Findings,
) -> None:
    heading, last = span
    for top, left, bottom, right in raw.merges:
        touched = [column for index, column in columns if left <= index + 1 <= right]
        if bottom <= heading or top > last or not touched:
            continue
        area = f"{letters(left)}{top}:{letters(right)}{bottom}"
        findings.fault(
            sheet.title,
            max(top, heading),
            touched[0].title,
            f"The cells {area} are merged, so only the first holds a value. Unmerge them "
            "and fill in each row.",
        )
