"""Writing a build as a workbook that reads back into an equal one, and calculates itself.

Each sheet of the schema is written row by row as it comes from the database; the workings take
what they need in passing, so that no sheet is ever held as a whole.
"""

from collections.abc import Iterator
from datetime import date
from typing import IO

from django.utils import timezone

from ..calc.money import minor_units
from ..calc.reports import CostSheet
from ..models import Build
from ..queries import exchange as queries
from ..queries.reports import get_cost_sheet
from ..services.long_work import Tell, told_nobody
from . import schema
from .about import write_about
from .columns import Sheet
from .history_sheet import write_history
from .live.cost_sheet import AS_OF
from .live.facts import MOST_LINES, ChangedMeanwhile, Facts
from .live.purchases import landed
from .live.workings import Workings
from .pages import Book, CellStyle, Page
from .sheet_rows import Row, build_rows, rows_of

ATTEMPTS = 3


def write_workbook(
    build: Build, stream: IO[bytes], on: date | None = None, tell: Tell = told_nobody
) -> None:
    """Write every sheet of a build, and its cost sheet of a day, to a binary stream.

    ``tell`` is told how many sheets are written.
    """
    on = on or timezone.localdate()
    for attempt in range(ATTEMPTS):
        try:
            _write(build, stream, on, tell)
        except ChangedMeanwhile:
            if attempt == ATTEMPTS - 1:
                raise
        else:
            return


def _write(build: Build, stream: IO[bytes], on: date, tell: Tell) -> None:
    figures: CostSheet = get_cost_sheet(build, on)
    style = CellStyle(minor_units(build.currency), build.currency)
    with Book(stream, build, style, on) as book:
        pages = {title: book.page(title) for title in (schema.ABOUT, schema.COST_SHEET)}
        pages |= {title: book.page(title) for title in (*schema.TITLES, schema.HISTORY)}
        facts = Facts(build, AS_OF, queries.count_lines(build) <= MOST_LINES)
        workings = Workings(facts, book)
        write_about(pages[schema.ABOUT], build, facts.follows_lines)
        _write_build(pages[schema.BUILD], build, facts)
        # The build, each table, the history, and all workings as one.
        steps = len(schema.SHEETS) + 3
        for place, sheet in enumerate(schema.SHEETS, 1):
            tell(place, steps)
            rows = rows_of(sheet, build)
            facts.counts[sheet.title] = _write_sheet(pages[sheet.title], sheet, rows, workings)
        tell(steps - 2, steps)
        write_history(pages[schema.HISTORY], build)
        tell(steps - 1, steps)
        workings.finish(pages[schema.COST_SHEET], figures)


def _write_sheet(page: Page, sheet: Sheet, rows: Iterator[Row], workings: Workings) -> int:
    """Enter a sheet of the schema; gives how many rows there are."""
    page.table(sheet)
    keys = [column.key for column in sheet.columns]
    handle = workings.start(sheet)
    number = 1
    follows = workings.facts.follows_lines and sheet is schema.PURCHASES
    for number, row in enumerate(rows, 2):
        if follows:
            row[schema.LANDED] = landed(number, row[schema.LANDED])
        page.row(number, [row.get(key) for key in keys])
        if handle is not None:
            handle(number, row["record"])
    page.choices(sheet, number)
    page.fit(sheet, number)
    return number - 1


def _write_build(page: Page, build: Build, facts: Facts) -> None:
    page.sheet.set_column(0, 1, 32, page.book.format(num_format="@", valign="top"))
    strong = page.book.format(bold=True, num_format="@", valign="top")
    columns = schema.BUILD_COLUMNS | {schema.DISTANCE_RATE.title: schema.DISTANCE_RATE}
    for row, (name, value) in enumerate(build_rows(build), 1):
        facts.build_rows[name] = row
        if name.casefold().endswith(schema.AREA_ENDING):
            facts.areas[name] = value or ""
        rate = name.startswith(schema.DISTANCE_RATE.title)
        column = columns.get(schema.DISTANCE_RATE.title if rate else name, schema.AREA)
        if rate:
            day = name.removeprefix(schema.DISTANCE_FROM)
            facts.rates.append((None if day == name else date.fromisoformat(day), row))
        page.text(row, 0, name, strong)
        style = page.book.of_kind(column.kind, align="left", indent=0)
        if value is None:
            page.sheet.write_blank(row - 1, 1, None, style)
        elif isinstance(value, str):
            page.text(row, 1, value)
        else:
            page.put(row, 1, value, style)
        page.allow(row, 1, column)
    page.sheet.print_area(0, 0, row - 1, 1)
    page.sheet.set_portrait()
