"""The process that opens workbooks: what a damaged file does to it, it does to nobody else.

The native reader trusts sizes that it finds in a file and may ask for hundreds of gigabytes;
refused, it takes its whole process along. So this runs apart, with little memory and little
time. It imports neither Django nor settings. Standard input: the file. Arguments: what to do,
and for one sheet its place. Standard output: JSON, one value a line.
"""

import base64
import io
import json
import sys
from collections.abc import Iterable
from dataclasses import asdict
from typing import Any, TextIO

from ..archive import DAMAGED, ENCRYPTED, Archive, SheetScan
from ..faults import ERROR_VALUE, FORMULA, WorkbookError, shown
from ..scan import scan_sheet, scan_tables, shared_text_lengths, sheet_parts, walk
from .cells import Cell, tagged
from .limits import (
    CHILD_MEMORY,
    CHILD_SECONDS,
    HEAD_ROWS,
    MAX_COLUMNS_READ,
    MAX_MARKED_CELLS,
    MAX_ROWS_READ,
    MAX_SHEETS,
    MAX_TABLE_TEXT,
)

MACROS = "The workbook holds macros. They are not run. Only values are read."
LINKS = (
    "The workbook takes values from other files. Its saved values are read, and the "
    "other files stay closed."
)


def limit_resources() -> None:
    """Little memory, little time, no files of its own, no core dump."""
    # Not on every system; where it is missing, the time limit of the parent remains.
    import resource

    resource.setrlimit(resource.RLIMIT_AS, (CHILD_MEMORY, CHILD_MEMORY))
    resource.setrlimit(resource.RLIMIT_CPU, (CHILD_SECONDS, CHILD_SECONDS))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


class Opened:
    """A workbook with what its parts say beyond plain values."""

    def __init__(self, data: bytes, content: str):
        from python_calamine import CalamineWorkbook

        self.notes: list[str] = []
        self.archive: Archive | None = None
        self.scans: dict[str, SheetScan] = {}
        if content != "xls":
            self._look_inside(data, content)
        self.book = CalamineWorkbook.from_filelike(io.BytesIO(data))
        self.names: list[str] = list(self.book.sheet_names)

    def _look_inside(self, data: bytes, content: str) -> None:
        archive = self.archive = Archive(data)
        if any(name.endswith("vbaproject.bin") for name in archive.members):
            self.notes.append(MACROS)
        if any("externallinks/" in name for name in archive.members):
            self.notes.append(LINKS)
        if content == "ods":
            self.scans = scan_tables(archive)
            for name, scan in self.scans.items():
                # The reader unfolds every table of such a file when it opens it.
                scan.check(shown(name))
        else:
            self.parts, self.shared = sheet_parts(archive), shared_text_lengths(archive)

    def scan(self, name: str) -> SheetScan:
        """What the sheet's own XML says; nothing is read that was not looked at first."""
        if self.archive is None:
            return SheetScan()
        if name not in self.scans:
            if not hasattr(self, "parts") or name not in self.parts:
                raise WorkbookError(DAMAGED)
            self.scans[name] = scan_sheet(self.archive, self.parts[name], self.shared)
        return self.scans[name]

    def rows(self, name: str) -> Iterable[tuple[int, list[Cell]]]:
        """Filled rows with their numbers, from the first column on."""
        scan = self.scan(name)
        scan.check(shown(name))
        sheet = self.book.get_sheet_by_name(name)
        before = [None] * (sheet.start[1] if sheet.start else 0)
        bad: dict[int, dict[int, str]] = {}
        for faulty, sentence in ((scan.unsaved, FORMULA), (scan.errors, ERROR_VALUE)):
            for row, column in faulty:
                bad.setdefault(row, {})[column - 1] = sentence
        covers = _Covers(_merges(sheet, scan))
        last = 0
        for number, values in enumerate(sheet.iter_rows(), 1):
            last = number
            cells: list[Cell] = [*before, *map(tagged, values)]
            for column, sentence in bad.pop(number, {}).items():
                cells += [None] * (column + 1 - len(cells))
                cells[column] = ["e", sentence]
            covers.fill(number, cells)
            yield number, cells
        # Rows of nothing but unsaved formulas lie outside what the fast reader gives.
        for number in sorted(row for row in bad if row > last):
            cells = [None] * (max(bad[number]) + 1)
            for column, sentence in bad[number].items():
                cells[column] = ["e", sentence]
            yield number, cells


def _merges(sheet: Any, scan: SheetScan) -> list[tuple[int, int, int, int]]:
    """Merged areas as top, left, bottom, right, from 1."""
    if scan.merges:
        return scan.merges
    found = getattr(sheet, "merged_cell_ranges", None) or []
    return [(t + 1, left + 1, b + 1, r + 1) for (t, left), (b, r) in found]


class _Covers:
    """Merges that reach over several rows: what they show holds for each of them."""

    def __init__(self, merges: list[tuple[int, int, int, int]]):
        self.coming = sorted(merge for merge in merges if merge[2] > merge[0])[::-1]
        self.open: list[tuple[int, int, Cell]] = []

    def fill(self, number: int, cells: list[Cell]) -> None:
        """Mark the covered cells of a row that holds something else as well."""
        self.open = [cover for cover in self.open if cover[0] >= number]
        if any(cell is not None for cell in cells):
            for _, column, cell in self.open:
                if column >= len(cells):
                    cells += [None] * (column + 1 - len(cells))
                if cells[column] is None:
                    cells[column] = ["m", cell]
        while self.coming and self.coming[-1][0] <= number:
            top, left, bottom, _ = self.coming.pop()
            if top == number and left <= len(cells) and cells[left - 1] is not None:
                self.open.append((bottom, left - 1, cells[left - 1]))


def cut(rows: Iterable[tuple[int, list[Cell]]], notes: list[str]) -> Iterable[list[Any]]:
    """Rows that are not blank, as ``[number, cells]``, within the limits; what was cut is said."""
    count = text = widest = 0
    for number, cells in rows:
        if len(cells) > MAX_COLUMNS_READ:
            widest = max(widest, len(cells) - _blanks_at_end(cells))
            cells = cells[:MAX_COLUMNS_READ]
        end = len(cells) - _blanks_at_end(cells)
        if not end:
            continue
        count += 1
        if count > MAX_ROWS_READ:
            notes.append(
                f"The table has more than {MAX_ROWS_READ:,} filled rows: the first"
                f" {MAX_ROWS_READ:,} are read. Split the file to import the rest."
            )
            break
        text += sum(len(cell) for cell in cells[:end] if isinstance(cell, str))
        if text > MAX_TABLE_TEXT:
            raise WorkbookError(
                "The table holds more text than can be read: keep only the columns that are"
                " needed, or split the file."
            )
        yield [number, cells[:end]]
    if widest > MAX_COLUMNS_READ:
        notes.append(
            f"The table reaches to column {widest:,}: the first {MAX_COLUMNS_READ} columns are"
            " read."
        )


def _blanks_at_end(cells: list[Cell]) -> int:
    blanks = 0
    for cell in reversed(cells):
        if cell is not None:
            break
        blanks += 1
    return blanks


def summarise(rows: Iterable[tuple[int, list[Cell]]]) -> dict[str, Any]:
    """First rows, size, and notes of one sheet."""
    notes: list[str] = []
    head: list[list[Any]] = []
    count = width = 0
    for number, cells in cut(rows, notes):
        count += 1
        width = max(width, len(cells))
        if count <= HEAD_ROWS:
            head.append([number, cells])
    return {"rows": count, "columns": width, "head": head, "notes": notes, "fault": ""}


def list_sheets(opened: Opened) -> Iterable[Any]:
    """The workbook's notes, then each sheet in short; a sheet that cannot be read says why."""
    yield {"notes": opened.notes}
    for name in opened.names[:MAX_SHEETS]:
        try:
            found = summarise(opened.rows(name))
        except WorkbookError as error:
            found = {"rows": 0, "columns": 0, "head": [], "notes": [], "fault": str(error)}
        yield {"name": name, **found}


def load_sheet(opened: Opened, place: int) -> Iterable[Any]:
    """The rows of one sheet, then its notes."""
    notes: list[str] = []
    yield from cut(opened.rows(opened.names[place]), notes)
    yield {"notes": notes}


def look_for_marks(data: bytes, name: str) -> Iterable[Any]:
    """What a sheet of an .xlsx shows beyond its values; one value."""
    from .marks import find_marks

    _check_parts(data)
    yield asdict(find_marks(data, name))


def make_copy(data: bytes) -> Iterable[Any]:
    """A marked copy of an .xlsx; what to write stands in the first line, before the file."""
    from .marked import write_copy

    told, _, file = data.partition(b"\n")
    _check_parts(file)
    yield {"file": base64.b64encode(write_copy(file, **json.loads(told))).decode()}


def _check_parts(data: bytes) -> None:
    """Raises WorkbookError for a workbook that is not safe, or too large, to be opened in whole."""
    archive = Archive(data)
    sheets = [part for part in sheet_parts(archive).values() if "worksheets/" in part]
    cells = sum(scan_sheet(archive, part, []).cells for part in sheets)
    scanned = {part.casefold() for part in sheets}
    for name in archive.members:
        if name.endswith((".xml", ".rels")) and name not in scanned:
            # Walked for a document type, which is refused.
            walk(archive.read(name), lambda *_: None)
    if cells > MAX_MARKED_CELLS:
        raise WorkbookError(f"The workbook has more than {MAX_MARKED_CELLS:,} cells.")


def _asked(action: str, content: str, rest: list[str], data: bytes) -> Iterable[Any]:
    if action == "marks":
        return look_for_marks(data, rest[0])
    if action == "copy":
        return make_copy(data)
    opened = Opened(data, content)
    return list_sheets(opened) if action == "list" else load_sheet(opened, int(rest[0]))


def run(arguments: list[str], data: bytes, out: TextIO) -> None:
    """Do what is asked; a file that cannot be read is one line ``{"refused": sentence}``."""
    from python_calamine import CalamineError, PasswordError

    action, content, *rest = arguments
    try:
        for value in _asked(action, content, rest, data):
            out.write(json.dumps(value, separators=(",", ":")) + "\n")
    except WorkbookError as error:
        _refuse(out, str(error))
    except PasswordError:
        _refuse(out, ENCRYPTED)
    except (CalamineError, OSError, MemoryError, IndexError):
        _refuse(out, DAMAGED)
    except BaseException as error:
        # A panic of the native reader derives from BaseException, not from Exception.
        if type(error).__name__ != "PanicException":
            raise
        _refuse(out, DAMAGED)


def _refuse(out: TextIO, sentence: str) -> None:
    out.write(json.dumps({"refused": sentence}) + "\n")


def main() -> None:
    """Run under the limits."""
    limit_resources()
    run(sys.argv[1:], sys.stdin.buffer.read(), sys.stdout)
