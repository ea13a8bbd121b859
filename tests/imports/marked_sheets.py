"""Workbooks as people keep them: formats, lines through, hidden rows, comments, links."""

import io
from collections.abc import Mapping
from typing import Any

from openpyxl import Workbook
from openpyxl.comments import Comment
from openpyxl.styles import Font

HEAD = ["Date", "Where", "What", "How many", "Cost", "Notes"]


def marked_xlsx(
    rows: list[list[Any]],
    *,
    formats: Mapping[str, str] | None = None,
    struck: tuple[str, ...] = (),
    hidden: tuple[int, ...] = (),
    comments: Mapping[str, str] | None = None,
    links: Mapping[str, str] | None = None,
) -> bytes:
    """Rows as a workbook with marks by cell (``B3``) or, for formats, by column (``B``)."""
    book = Workbook()
    page = book.active
    page.title = "Barn"
    for row in rows:
        page.append(row)
    for place, written in (formats or {}).items():
        if place[-1].isdigit():
            page[place].number_format = written
        else:
            for cell in page[place][1:]:
                cell.number_format = written
    for place in struck:
        page[place].font = Font(strike=True)
    for row in hidden:
        page.row_dimensions[row].hidden = True
    for place, text in (comments or {}).items():
        page[place].comment = Comment(text, "Ida")
    for place, target in (links or {}).items():
        page[place].hyperlink = target
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def struck_row(number: int, width: int = len(HEAD)) -> tuple[str, ...]:
    """All cells of a row."""
    return tuple(f"{chr(65 + place)}{number}" for place in range(width))
