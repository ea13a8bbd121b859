"""What became of each row of a table, in words, and the owner's workbook with them."""

from typing import Any

from django.contrib.auth.models import User

from ...models import ImportJob, ImportRow, RowState, TableKind
from ...queries import imports as stored
from ...services.import_jobs import read_file
from ..faults import WorkbookError
from .check import job_mapping, job_marks
from .mapping import Mapping
from .sheets import make_copy

DELETED = "Imported, and deleted since."


def has_copy(job: ImportJob, user: User) -> bool:
    """Whether somebody may have a marked copy: who uploaded an .xlsx that could be looked through.

    The file may hold more than the table that others of the build see here.
    """
    return job.user_id == user.pk and bool(job.file) and job_marks(job) is not None


def marked_copy(job: ImportJob) -> bytes:
    """The workbook as it was uploaded, marked. Raises WorkbookError or LedgerError."""
    mapping = job_mapping(job)
    names = stored.record_names(job)
    labels = {field.key: field.label for field in mapping.fields}
    words: list[tuple[int, str]] = []
    faults: list[tuple[int, int, str]] = []
    for row in stored.list_rows(job, "all"):
        words.append((row.number, what_became(row, job.kind, names, labels)))
        if row.state == RowState.FAULT:
            faults += _faulty_cells(job, mapping, row)
    try:
        return make_copy(
            read_file(job),
            sheet=job.sheet,
            heading_row=job.heading_row,
            words=words,
            faults=faults,
        )
    except WorkbookError:
        raise WorkbookError(
            "This workbook could not be copied. Open it in a spreadsheet program, save "
            "it as .xlsx and upload it again."
        ) from None


def what_became(row: ImportRow, kind: str, names: dict[int, str], labels: dict[str, str]) -> str:
    """One row in words."""
    if row.state == RowState.DONE:
        name = names.get(row.record_id or 0)
        return DELETED if name is None else _record(row.values, kind, name)
    if row.state == RowState.FAULT:
        return " ".join(f"{labels.get(key, key)}: {sentence}" for key, sentence in row.faults)
    if row.state == RowState.SKIP:
        return row.reason if row.is_double else f"Left out. {row.reason}"
    return f"Ready, not imported yet. {row.reason}".strip()


def _record(values: dict[str, Any], kind: str, name: str) -> str:
    return {
        TableKind.PURCHASES: f"Purchase {name}: {values.get('item', '')}",
        TableKind.COMPONENTS: f"Component {name}",
        TableKind.HOURS: f"Hours of {values.get('person', '')}: {values.get('hours', '')}",
        TableKind.PRICES: f"New price of {values.get('item', '')}",
    }[TableKind(kind)]


def _faulty_cells(job: ImportJob, mapping: Mapping, row: ImportRow) -> list[tuple[int, int, str]]:
    """The cells of the file that faults are about; comments and links have none of their own."""
    added = set((job_marks(job) or {}).get("columns", {}).values())
    return [
        (row.number, column.place + 1, sentence)
        for key, sentence in row.faults
        if (column := mapping.column(key)) is not None and column.place not in added
    ]
