"""The sums a table carries itself, against what is read from it.

A line through a row that this file's kind does not tell, or a row somebody forgot, shows here.
"""

from decimal import Decimal

from ...calc.money import plain
from ...models import ImportJob, ImportRow, RowState
from ...queries import imports as stored
from ..cells import CellError
from .check import job_mapping
from .mapping import MappedColumn, Mapping
from .numbers import read_price
from .read import RowReader

# A longer table is not added up for a page.
MOST_ROWS = 5000


def total_notes(job: ImportJob) -> list[str]:
    """What each total of the table says that agrees with no sum of the rows above it."""
    mapping = job_mapping(job)
    column = mapping.column("gross") or mapping.column("total")
    if column is None or job.row_count > MOST_ROWS:
        return []
    reader = RowReader(mapping)
    notes = []
    whole = since = Decimal(0)
    for row in stored.list_rows(job, "all"):
        cell = reader.raw(row.cells, {} if _is_total(row) else row.mended).get(column.field.key)
        if row.state == RowState.SKIP and not (row.is_double or _is_total(row)):
            continue
        amount = Decimal(0) if cell is None and _is_total(row) else _amount(mapping, column, cell)
        if amount is None:
            # Without one of its amounts there is nothing to compare.
            return []
        if not _is_total(row):
            whole, since = whole + amount, since + amount
        elif cell is not None:
            if amount not in (whole, since):
                notes.append(
                    f"The total in row {row.number:,} is {plain(amount)}, but the rows read above"
                    f" it come to {plain(whole)}: check whether one is left out or should be."
                )
            since = Decimal(0)
    return notes


def _is_total(row: ImportRow) -> bool:
    return row.state == RowState.SKIP and row.reason.startswith("It looks like")


def _amount(mapping: Mapping, column: MappedColumn, cell: object) -> Decimal | None:
    currency = "" if column.own_money else mapping.currency
    try:
        price = read_price(cell, currency, column.mark, column.currency)
    except CellError:
        return None
    return None if price.per or price.is_each else price.value
