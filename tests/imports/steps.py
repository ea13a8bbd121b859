"""Taking a table through the steps of an import, as a person would on the pages."""

import csv
import io
from datetime import date
from typing import Any

from openpyxl import Workbook

from materials.exchange.outside_tables import steps
from materials.exchange.outside_tables.mapping import mapping_faults
from materials.models import Build, ImportJob, JobState, RowState
from materials.queries.imports import count_states, get_job, list_rows
from materials.services.import_runs import start_run


def as_xlsx(rows: list[list[Any]], *, merge: tuple[str, ...] = (), title: str = "Sheet") -> bytes:
    """Rows as a workbook of one sheet."""
    workbook = Workbook()
    sheet = workbook.active
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for area in merge:
        sheet.merge_cells(area)
    stream = io.BytesIO()
    workbook.save(stream)
    return stream.getvalue()


def as_text(rows: list[list[Any]], delimiter: str = ",", encoding: str = "utf-8") -> bytes:
    """Rows as delimited text."""
    stream = io.StringIO(newline="")
    csv.writer(stream, delimiter=delimiter).writerows(rows)
    return stream.getvalue().encode(encoding)


def upload(entries, data: bytes, name: str = "table.csv", **how: Any) -> ImportJob:
    """The first step."""
    return steps.open_upload(**entries.by, data=data, file_name=name, **how)


def choose(entries, job: ImportJob, **found: Any) -> ImportJob:
    """The second step, as guessed but for what is said."""
    place = next(i for i, sheet in enumerate(job.sheets) if sheet["name"] == job.sheet)
    result = {"place": place, "heading_row": job.heading_row, "kind": job.kind} | found
    steps.choose_table(entries.build, job.pk, **result)
    return get_job(entries.build, job.pk)


def answer(
    entries, job: ImportJob, columns: dict[str, Any] | None = None, **options: Any
) -> ImportJob:
    """The third step: columns by heading (a field's key, or a dict with it), and options.

    Everything that the page would still ask must be answered.
    """
    mapping = job.mapping
    for heading, result in (columns or {}).items():
        place = next(i for i, c in enumerate(job.profile) if c["heading"] == heading)
        result = {"field": result} if isinstance(result, str) else result
        mapping["columns"][place] = mapping["columns"][place] | result
    mapping["options"] = mapping["options"] | options
    asked = mapping_faults(job.kind, job.profile, mapping, entries.build.currency)
    assert not asked, asked
    steps.save_columns(entries.build, job.pk, mapping)
    return steps.continue_job(actor=entries.actor, build=entries.build, pk=job.pk, seconds=None)


def check(entries, data: bytes, name: str = "table.csv", columns=None, **options: Any):
    """The first three steps; the table and its headings as guessed."""
    job = choose(entries, upload(entries, data, name))
    return answer(entries, job, columns, **options)


def run(entries, job: ImportJob) -> ImportJob:
    """Bring in what is ready."""
    start_run(build=entries.build, pk=job.pk)
    job = steps.continue_job(actor=entries.actor, build=entries.build, pk=job.pk, seconds=None)
    assert job.state == JobState.DONE
    return job


def bring(entries, data: bytes, name: str = "table.csv", columns=None, **options: Any):
    """All steps; there must be no row to mend."""
    job = check(entries, data, name, columns, **options)
    assert faults(job) == []
    return run(entries, job)


def faults(job: ImportJob) -> list[tuple[int, str, str]]:
    """Row, field and sentence of everything to mend."""
    return [
        (row.number, key, sentence)
        for row in list_rows(job, RowState.FAULT)
        for key, sentence in row.faults
    ]


def skipped(job: ImportJob) -> dict[int, str]:
    """Rows left out, and why."""
    return {row.number: row.reason for row in list_rows(job, RowState.SKIP)}


def states(job: ImportJob) -> dict[str, int]:
    """Rows by state, those that there are."""
    return {state: count for state, count in count_states(job).items() if count}


def lines(build: Build) -> list[tuple]:
    """Purchase lines in order: day, supplier, component, quantity, price, note."""
    return [
        (
            purchase.bought_on.isoformat(),
            purchase.supplier and purchase.supplier.name,
            line.component.name,
            line.quantity_text,
            line.price_amount,
            line.note,
        )
        for purchase in build.purchases.order_by("bought_on", "pk")
        for line in purchase.lines.select_related("component")
    ]


def day(text: str) -> date:
    """A day."""
    return date.fromisoformat(text)


def small_import(entries) -> ImportJob:
    """A table that was looked at and waits to be imported: a row ready, one to mend."""
    rows = [
        ["Date", "Where", "What", "How many", "Cost"],
        ["2026-03-07", "Mill Street", "Joists", "14 pieces", "84"],
        ["4/3/2026", "Mill Street", "Door", "2 pieces", "1,250"],
        ["soon", "Mill Street", "Hinge", "some", "dear"],
        ["", "", "Total", "", "1334"],
    ]
    job = choose(entries, upload(entries, as_text(rows), "spring.csv"))
    columns = {
        "Date": {"field": "date", "day_first": True},
        "Cost": {"field": "total", "mark": "."},
    }
    return answer(entries, job, columns, source="salvage")
