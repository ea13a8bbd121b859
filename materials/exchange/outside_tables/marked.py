"""The owner's own .xlsx given back, with what became of each row. Runs in the child process."""

import io
from typing import Any

from ..csv_guard import guarded
from ..faults import WorkbookError
from .marks import filled_cells, open_book

HEADING = "What became of it"
# A light ground under dark text; the comment and the column say the same in words.
GROUND = "FFE3A3"
WRITER = "Import"
_MOST_COLUMNS = 16_384


def write_copy(
    data: bytes,
    *,
    sheet: str,
    heading_row: int,
    words: list[tuple[int, str]],
    faults: list[tuple[int, int, str]],
) -> bytes:
    """The workbook with one more column. ``faults``: row, column from 1, sentence."""
    book = open_book(data)
    page = book[sheet]
    column = _free_column(page)
    if column > _MOST_COLUMNS:
        raise WorkbookError("The table has no room for one more column.")
    _write(page, max(heading_row, 1), column, HEADING if heading_row else "")
    for row, text in words:
        _write(page, row, column, text)
    page.column_dimensions[page.cell(1, column).column_letter].width = 60
    for row, place, sentence in faults:
        _mark(page, row, place, sentence)
    return _save(book)


def _free_column(page: Any) -> int:
    """The first column right of everything: cells, merged areas, tables."""
    from openpyxl.utils import range_boundaries

    areas = [area.max_col for area in page.merged_cells.ranges]
    areas += [range_boundaries(table.ref)[2] or 0 for table in page.tables.values()]
    return max([cell.column for cell in filled_cells(page)] + areas, default=0) + 1


def _write(page: Any, row: int, column: int, text: str) -> None:
    if not text:
        return
    from openpyxl.styles import Alignment

    cell = page.cell(row, column)
    cell.value = guarded(text)
    # Never a formula, whatever it begins with.
    cell.data_type = "s"
    cell.alignment = Alignment(wrap_text=True, vertical="top")


def _mark(page: Any, row: int, column: int, sentence: str) -> None:
    from openpyxl.cell.cell import MergedCell
    from openpyxl.comments import Comment
    from openpyxl.styles import PatternFill

    cell = page.cell(row, column)
    if isinstance(cell, MergedCell):
        # What a merge covers can hold neither; the sentence stands in the column.
        return
    cell.fill = PatternFill("solid", fgColor=GROUND)
    before = f"{cell.comment.text}\n\n" if cell.comment is not None else ""
    cell.comment = Comment(f"{before}{sentence}", WRITER, height=120, width=320)


def _save(book: Any) -> bytes:
    """The workbook's bytes. The process may write no file, and openpyxl would write each sheet."""
    from zipfile import ZIP_DEFLATED, ZipFile

    from openpyxl.drawing.spreadsheet_drawing import SpreadsheetDrawing
    from openpyxl.worksheet._writer import WorksheetWriter
    from openpyxl.writer.excel import ExcelWriter

    stream = io.BytesIO()
    with ZipFile(stream, "w", ZIP_DEFLATED) as archive:
        writer = ExcelWriter(book, archive)

        def write_sheet(sheet: Any) -> None:
            """What openpyxl does, but for the file on disk between sheet and archive."""
            sheet._drawing = SpreadsheetDrawing()
            sheet._drawing.charts, sheet._drawing.images = sheet._charts, sheet._images
            out = io.BytesIO()
            of_sheet = WorksheetWriter(sheet, out)
            of_sheet.write()
            sheet._rels = of_sheet._rels
            archive.writestr(sheet.path[1:], out.getvalue())
            writer.manifest.append(sheet)

        writer.write_worksheet = write_sheet
        writer.save()
    return stream.getvalue()
