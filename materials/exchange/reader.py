"""From a file to the raw cells of our sheets: .xlsx, .ods, or a folder of CSV files.

Nothing is judged here but whether the file can be read safely; what the cells mean is the
business of ``cells`` and the checks.
"""

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, BinaryIO, TypeVar

from python_calamine import CalamineError, CalamineWorkbook, PasswordError

from .archive import (
    DAMAGED,
    ENCRYPTED,
    MAX_COLUMNS,
    MAX_FILE_BYTES,
    MAX_UNPACKED_BYTES,
    Archive,
    SheetScan,
)
from .csv_guard import unguarded
from .faults import ERROR_VALUE, FORMULA, WorkbookError, shown
from .scan import scan_sheet, scan_tables, shared_text_lengths, sheet_parts
from .schema import TITLES, sheet_title

MAX_FILLED_ROWS = 200_000
OLE_MARK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED_PART = "EncryptedPackage".encode("utf-16-le")
OLD_FORMAT = (
    "The file is in the old .xls format, which is not read: open it in a spreadsheet program,"
    " save it as .xlsx and try again."
)
NOT_A_WORKBOOK = (
    "The file is not a workbook that can be read: save it as .xlsx (or .ods) in a spreadsheet"
    " program and try again."
)

Cell = Any
Found = TypeVar("Found")
ScanOf = Callable[[str], SheetScan]


@dataclass(frozen=True)
class RawRow:
    """One row that is not blank: its number in the file, and its cells from the first column."""

    number: int
    cells: Sequence[Cell]


@dataclass
class RawSheet:
    """The filled rows of one sheet. ``bad`` tells what is wrong with a cell (row, column)."""

    title: str
    rows: list[RawRow] = field(default_factory=list)
    bad: dict[tuple[int, int], str] = field(default_factory=dict)
    merges: list[tuple[int, int, int, int]] = field(default_factory=list)


@dataclass
class RawBook:
    """Our sheets by title, and the names of sheets that are not ours."""

    sheets: dict[str, RawSheet] = field(default_factory=dict)
    others: list[str] = field(default_factory=list)


def read_workbook(source: str | Path | bytes | BinaryIO) -> RawBook:
    """Read a file, its bytes, or a folder of CSV files named like the sheets.

    Raises WorkbookError with one sentence.
    """
    if isinstance(source, str | Path):
        path = Path(source)
        try:
            if path.is_dir():
                return _checked(_read_folder(path))
            size = path.stat().st_size
            if not path.is_file():
                # Reading a device or a pipe might never end.
                raise WorkbookError(f"{shown(path, 200)} is not a file: name a workbook.")
            if size > MAX_FILE_BYTES:
                raise _too_large()
            data = path.read_bytes()
        except WorkbookError:
            raise
        except OSError as error:
            why = "is not there" if isinstance(error, FileNotFoundError) else "cannot be opened"
            raise WorkbookError(
                f"The file {shown(path, 200)} {why}: check its name and that you may read it."
            ) from None
        except ValueError:
            raise WorkbookError("The file name holds a character that is not allowed.") from None
    elif isinstance(source, bytes):
        data = source
    else:
        data = source.read(MAX_FILE_BYTES + 1)
    if len(data) > MAX_FILE_BYTES:
        raise _too_large()
    return _checked(_read_bytes(data))


def _too_large() -> WorkbookError:
    return WorkbookError(
        f"The file is larger than {MAX_FILE_BYTES // 1024 // 1024} MB: split it into several"
        " workbooks."
    )


def _checked(book: RawBook) -> RawBook:
    if not book.sheets:
        if book.others:
            raise WorkbookError(
                f"The workbook has none of the sheets this app reads ({', '.join(TITLES)}):"
                f" it has {', '.join(shown(name) for name in book.others[:5])}."
            )
        raise WorkbookError(
            "There is nothing to import: the folder holds neither sheets nor CSV files."
        )
    if not any(sheet.rows for sheet in book.sheets.values()):
        raise WorkbookError("The workbook is empty: fill its sheets and try again.")
    return book


def _read_bytes(data: bytes) -> RawBook:
    if not data:
        raise WorkbookError("The file is empty (0 bytes): save the workbook again.")
    if data.startswith(OLE_MARK):
        if ENCRYPTED_PART in data:
            raise WorkbookError(ENCRYPTED)
        # A damaged file of the old format can end the whole process: its reader trusts the
        # sizes it finds, and there is no cheap way to check them first.
        raise WorkbookError(OLD_FORMAT)
    if not data.startswith(b"PK"):
        raise WorkbookError(NOT_A_WORKBOOK)
    archive = Archive(data)
    if "xl/workbook.xml" in archive:
        parts, shared = sheet_parts(archive), shared_text_lengths(archive)
        return _read_sheets(data, lambda name: scan_sheet(archive, _known(parts, name), shared))
    if "content.xml" in archive:
        scans = scan_tables(archive)
        for name, scan in scans.items():
            # The reader unfolds every table of an .ods when it opens the file.
            scan.check(shown(name))
        return _read_sheets(data, lambda name: _known(scans, name))
    raise WorkbookError(NOT_A_WORKBOOK)


def _known(found: Mapping[str, Found], name: str) -> Found:
    """Nothing is read that was not looked at first."""
    if name not in found:
        raise WorkbookError(DAMAGED)
    return found[name]


class _Limits:
    """Counts filled rows over all sheets, and keeps one copy of texts that repeat."""

    def __init__(self) -> None:
        self.rows = 0
        self.texts: dict[str, str] = {}

    def count_row(self) -> None:
        """Raises WorkbookError when there are too many."""
        self.rows += 1
        if self.rows > MAX_FILLED_ROWS:
            raise WorkbookError(
                f"The workbook has more than {MAX_FILLED_ROWS:,} filled rows: split it into"
                " several."
            )

    def cell(self, value: Cell) -> Cell:
        """The cell, None where it is blank."""
        if not isinstance(value, str):
            return value
        if not value or value.isspace():
            return None
        return self.texts.setdefault(value, value) if len(value) < 60 else value


def _read_sheets(data: bytes, scan_of: ScanOf) -> RawBook:
    try:
        return _read_calamine(data, scan_of)
    except PasswordError:
        raise WorkbookError(ENCRYPTED) from None
    except (CalamineError, OSError):
        raise WorkbookError(DAMAGED) from None
    except BaseException as error:
        # A panic of the native reader derives from BaseException, not from Exception.
        if type(error).__name__ == "PanicException":
            raise WorkbookError(DAMAGED) from None
        raise


def _read_calamine(data: bytes, scan_of: ScanOf) -> RawBook:
    book, limits = RawBook(), _Limits()
    workbook = CalamineWorkbook.from_filelike(io.BytesIO(data))
    for name in workbook.sheet_names:
        title = sheet_title(name)
        if title is None or title in book.sheets:
            book.others.append(name)
            continue
        scan = scan_of(name)
        scan.check(title)
        sheet = workbook.get_sheet_by_name(name)
        raw = RawSheet(title, merges=scan.merges)
        raw.bad.update(dict.fromkeys(scan.unsaved, FORMULA))
        raw.bad.update(dict.fromkeys(scan.errors, ERROR_VALUE))
        # Rows are given from the top of the sheet, columns from the first filled one.
        missing = (None,) * (sheet.start[1] if sheet.start else 0)
        _fill(raw, (missing, enumerate(sheet.iter_rows(), 1)), limits)
        book.sheets[title] = raw
    return book


def _fill(
    raw: RawSheet, source: tuple[tuple[None, ...], Iterable[tuple[int, list[Any]]]], limits: _Limits
) -> None:
    before, rows = source
    rows_with_bad = {row for row, _ in raw.bad}
    for number, values in rows:
        cells = tuple(limits.cell(value) for value in values)
        if number in rows_with_bad:
            rows_with_bad.discard(number)
        elif all(cell is None for cell in cells):
            continue
        limits.count_row()
        raw.rows.append(RawRow(number, before + cells))
    # Rows of nothing but unsaved formulas lie outside what the fast reader gives.
    for number in sorted(rows_with_bad):
        limits.count_row()
        raw.rows.append(RawRow(number, ()))
    raw.rows.sort(key=lambda row: row.number)


def _read_folder(path: Path) -> RawBook:
    book, limits = RawBook(), _Limits()
    size = 0
    for file in sorted(path.iterdir()):
        if file.suffix.lower() != ".csv" or not file.is_file():
            continue
        title = sheet_title(file.stem)
        if title is None or title in book.sheets:
            book.others.append(file.name)
            continue
        size += file.stat().st_size
        if size > MAX_UNPACKED_BYTES:
            raise _too_large()
        raw = book.sheets[title] = RawSheet(title)
        _fill(raw, ((), _csv_rows(file)), limits)
    return book


def _csv_rows(file: Path) -> Iterator[tuple[int, list[Any]]]:
    """Numbered records of a CSV file. Raises WorkbookError."""
    try:
        with file.open(encoding="utf-8-sig", newline="") as stream:
            for number, values in enumerate(csv.reader(stream, strict=True), 1):
                if len(values) > MAX_COLUMNS:
                    raise WorkbookError(
                        f"{file.name} row {number} has more than {MAX_COLUMNS:,} columns: keep"
                        " only the table itself."
                    )
                yield number, [unguarded(value) for value in values]
    except UnicodeDecodeError:
        raise WorkbookError(f"{file.name} is not in UTF-8: save it as CSV UTF-8.") from None
    except csv.Error as error:
        raise WorkbookError(f"{file.name} is not a readable CSV file ({error}).") from None
