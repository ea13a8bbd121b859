"""What a sheet of an .xlsx shows beyond its values: number formats, lines through, hidden rows.

``find_marks`` runs in the process that opens workbooks. What it found is put to the rows once,
when they are kept: a number takes the sign or unit its format shows, as if it had been typed, and
comments and links become columns of their own. Which rows are struck out or hidden is kept with
the job's sheet.
"""

import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from typing import Any

from ..faults import WorkbookError
from .cells import Cell, text_cell, visible

COMMENTS, LINKS = "Comments of cells", "Links of cells"
NOT_LOOKED_AT = (
    "The marks of this workbook were skipped. Struck-out and hidden rows are read like "
    "all others. So are numbers with a currency or unit in their format."
)
ONLY_XLSX = (
    "Struck-out and hidden rows, number formats, comments and links are only read from "
    ".xlsx workbooks. Here every row is read like all others. If the file has such "
    "marks, save it as .xlsx."
)
# A format's parts: quoted text, a sign after a backslash, room for a sign, a filler, brackets,
# the number itself, and signs that stand for themselves.
_PART = re.compile(
    r"\"(?P<text>[^\"]*)\"|\\(?P<sign>.)|_.|\*.|\[(?P<inside>[^\]]*)\]"
    r"|(?P<number>General|[0#?](?:[0#?.,/ ]*[0#?])?(?P<scale>,*)(?:E[+-]0+)?)|(?P<other>.)",
    re.DOTALL,
)
_SILENT = " .:,;+-()"
_COMMENT_HEAD = re.compile(r"\[Threaded comment\].*?Comment:\s*", re.DOTALL)
_LINK = re.compile(r"https?://", re.IGNORECASE)
_LINK_FORMULA = re.compile(r"=\s*HYPERLINK\(\s*\"([^\"]+)\"", re.IGNORECASE)
# Spreadsheet programs take no longer format (ISO/IEC 29500 applications).
_LONGEST_FORMAT = 255
_MOST_COMMENTS, _LONGEST_COMMENT = 20_000, 2000
_LOOKS_GROUPED = re.compile(r"[1-9]\d{0,2}\.\d{3}")


@dataclass
class Marks:
    """Rows count from 1. ``shown``: row, column, and what stands before and after its number."""

    struck: list[int] = field(default_factory=list)
    hidden: list[int] = field(default_factory=list)
    shown: list[tuple[int, int, str, str]] = field(default_factory=list)
    comments: list[tuple[int, str]] = field(default_factory=list)
    links: list[tuple[int, str]] = field(default_factory=list)


def open_book(data: bytes) -> Any:
    """The workbook with its formats and formulas."""
    from openpyxl import load_workbook

    return load_workbook(io.BytesIO(data), rich_text=True, keep_links=True)


def filled_cells(sheet: Any) -> list[Any]:
    """Cells that hold something; asking for rows would make every cell between them."""
    cells = sheet._cells
    return [cells[place] for place in sorted(cells) if cells[place].value is not None]


def find_marks(data: bytes, name: str) -> Marks:
    """Look through one sheet."""
    sheet = open_book(data)[name]
    found = Marks()
    struck: set[int] = set()
    formats: dict[str, tuple[str, str]] = {}
    filled = filled_cells(sheet)
    for cell in filled:
        if _is_struck(cell):
            struck.add(cell.row)
        written = cell.number_format
        if written not in formats:
            formats[written] = read_format(written)
        if any(formats[written]):
            found.shown.append((cell.row, cell.column, *formats[written]))
        if link := _link_of(cell):
            found.links.append((cell.row, link))
    found.comments = _comments(sheet)
    found.struck = sorted(struck)
    rows = {cell.row for cell in filled}
    found.hidden = sorted(row for row in rows if sheet.row_dimensions[row].hidden)
    return found


def _comments(sheet: Any) -> list[tuple[int, str]]:
    """Comments by row; they can stand at cells that hold nothing."""
    cells = [cell for cell in sheet._cells.values() if cell.comment is not None]
    if len(cells) > _MOST_COMMENTS:
        raise WorkbookError(f"The sheet has more than {_MOST_COMMENTS:,} comments.")
    return [
        (cell.row, _COMMENT_HEAD.sub("", cell.comment.text, count=1)[:_LONGEST_COMMENT])
        for cell in sorted(cells, key=lambda cell: (cell.row, cell.column))
    ]


def _is_struck(cell: Any) -> bool:
    """Whether a line goes through a cell, or through a part of its text."""
    parts = cell.value if isinstance(cell.value, list) else []
    fonts = [cell.font, *(getattr(part, "font", None) for part in parts)]
    return any(font is not None and font.strike for font in fonts)


def _link_of(cell: Any) -> str:
    target = cell.hyperlink.target if cell.hyperlink is not None else ""
    if target and target in str(cell.value):
        return ""
    if not target and (match := _LINK_FORMULA.match(str(cell.value))):
        target = match[1]
    return target[:_LONGEST_COMMENT] if target and _LINK.match(target) else ""


def read_format(written: str) -> tuple[str, str]:
    """What a number format shows before and after the number; empty where that is the number's own.

    ``[$€-407]`` and ``"€"`` show a currency, ``0" ft"`` a unit. The part for positive numbers.
    """
    sides = ["", ""]
    numbers = 0
    if len(written) > _LONGEST_FORMAT:
        return "", ""
    for match in _PART.finditer(_first_part(written)):
        if match["number"]:
            numbers += 1
            if match["scale"]:
                # “0,” shows thousands: what stands beside it is not the number's own.
                return "", ""
        elif match["inside"] is not None:
            if match["inside"].startswith("$"):
                sides[bool(numbers)] += match["inside"][1:].partition("-")[0]
        elif match["other"] and match["other"].isalpha():
            # Days, times and texts.
            return "", ""
        else:
            sides[bool(numbers)] += match["text"] or match["sign"] or match["other"] or ""
    if numbers != 1:
        return "", ""
    return sides[0].strip(_SILENT), sides[1].strip(_SILENT)


def _first_part(written: str) -> str:
    inside = re.sub(r"\"[^\"]*\"|\[[^\]]*\]|\\.", lambda m: "x" * len(m[0]), written)
    end = inside.find(";")
    return written if end < 0 else written[:end]


def as_shown(cell: Cell, before: str, after: str) -> Cell:
    """A number as if its format had been typed."""
    if not isinstance(cell, list) or cell[0] != "n":
        return cell
    number = Decimal(cell[1])
    if after == "%":
        number *= 100
    digits = f"{abs(number):f}"
    digits = digits.rstrip("0").rstrip(".") if "." in digits else digits
    if _LOOKS_GROUPED.fullmatch(digits):
        # No thousands: typed, it could be read in two ways.
        digits += "0"
    gap = " " if after and after != "%" else ""
    return visible(f"{'-' if number < 0 else ''}{before}{digits}{gap}{after}")


def put_to_rows(rows: list[list[Any]], marks: Marks) -> dict[str, int]:
    """Put what was found to the rows, as kept in a job. Returns the places of new columns."""
    by_row = {number: cells for number, cells in rows}
    for row, column, before, after in marks.shown:
        cells = by_row.get(row, [])
        if column <= len(cells):
            cells[column - 1] = as_shown(cells[column - 1], before, after)
    place = max((len(cells) for cells in by_row.values()), default=0)
    columns: dict[str, int] = {}
    for heading, found in ((COMMENTS, marks.comments), (LINKS, marks.links)):
        texts: dict[int, list[str]] = {}
        for row, text in found:
            if (
                row in by_row
                and (clean := " ".join(text.split()))
                and clean not in texts.get(row, ())
            ):
                texts.setdefault(row, []).append(clean)
        for row, said in texts.items():
            cells = by_row[row]
            cells += [None] * (place - len(cells))
            cells.append(text_cell("; ".join(said)))
        if texts:
            columns[heading] = place
            place += 1
    return columns


def with_headings(heading: Sequence[Cell], columns: dict[str, int]) -> list[Cell]:
    """The row of headings with those of comments and links."""
    found = list(heading)
    for text, place in columns.items():
        found += [None] * (place + 1 - len(found))
        found[place] = text
    return found


def row_list(numbers: Iterable[int], most: int = 12) -> str:
    """Row numbers in words: “row 4”, “rows 4, 7 and 9 to 12”."""
    runs: list[list[int]] = []
    for number in sorted(numbers):
        if runs and number == runs[-1][1] + 1:
            runs[-1][1] = number
        else:
            runs.append([number, number])
    said = []
    for first, last in runs[:most]:
        # Two beside each other are no run.
        said += (
            [f"{first:,} to {last:,}"]
            if last > first + 1
            else [f"{n:,}" for n in range(first, last + 1)]
        )
    if len(runs) > most:
        said.append("more")
    head = "row" if len(runs) == 1 and runs[0][0] == runs[0][1] else "rows"
    return f"{head} {', '.join(said[:-1])}{' and ' if said[1:] else ''}{said[-1]}"
