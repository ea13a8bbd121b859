"""Each sheet as a CSV file, and all of them in one archive; reading the folder in is exact.

RFC 4180: lines end with CR LF, fields with a comma, a quote or a line break stand in quotes,
quotes are doubled, every line has the same number of fields. UTF-8 with a byte order mark:
without it spreadsheet programs take the file for their country's old encoding and silently
spoil “½” and “m³” in quantities; our own reader and every CSV library of note skip it.

Texts are guarded (``csv_guard``); numbers are written as numbers, −5 too.
"""

import codecs
import csv
import io
import zipfile
from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import IO, Any

from ..models import Build
from ..services.long_work import Tell, told_nobody
from .csv_guard import guarded
from .pages import clean
from .schema import BUILD, SHEETS, TITLES
from .sheet_rows import build_rows, rows_of

CONTENT_TYPE = "text/csv; charset=utf-8; header=present"
HEADING = ("Name", "Value")


def _field(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, Decimal):
        return f"{value.normalize():f}"
    if isinstance(value, date):
        return value.isoformat()
    return guarded(clean(value))


def _table(title: str, build: Build) -> Iterator[list[str]]:
    if title == BUILD:
        yield list(HEADING)
        for pair in build_rows(build):
            yield [_field(cell) for cell in pair]
        return
    sheet = next(sheet for sheet in SHEETS if sheet.title == title)
    keys = [column.key for column in sheet.columns]
    yield [column.title for column in sheet.columns]
    for row in rows_of(sheet, build):
        yield [_field(row.get(key)) for key in keys]


def write_csv(title: str, build: Build, stream: IO[bytes]) -> None:
    """Write one sheet; ``title`` is one of ``schema.TITLES``."""
    stream.write(codecs.BOM_UTF8)
    text = io.TextIOWrapper(stream, encoding="utf-8", newline="", write_through=True)
    csv.writer(text, lineterminator="\r\n").writerows(_table(title, build))
    text.detach()


def write_archive(build: Build, stream: IO[bytes], tell: Tell = told_nobody) -> None:
    """Enter a zip of all sheets, each named after its title; ``tell`` is told how many."""
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for place, title in enumerate(TITLES):
            tell(place, len(TITLES))
            with archive.open(f"{title}.csv", "w", force_zip64=True) as part:
                write_csv(title, build, part)
