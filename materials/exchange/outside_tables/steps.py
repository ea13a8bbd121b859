"""The steps of an import, each from one page to the next. Every step may be taken again."""

import json
import time
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib.auth.models import User

from ...models import Build, ImportJob, ImportRow, JobState, RowState
from ...queries import imports as stored
from ...queries.exchange import name_key
from ...services import import_jobs as jobs
from ...services.errors import LedgerError
from ...services.import_runs import run_chunk
from .cells import Cell, cell_text, visible
from .check import Checker
from .fields import field_of
from .guess import build_profile, guess_heading_row, guess_kind
from .mapping import headings_key, propose, remember
from .marks import put_to_rows, with_headings
from .names import NEEDS
from .read import RowReader
from .sheets import load_rows, look_for_marks, open_file

CHECK_AT_ONCE = 1000
# A row that repeats what stands above looks back this far, and is looked at from so far above.
REACH = 300


def look_at(data: bytes, file_name: str, encoding: str = "", delimiter: str = "") -> dict[str, Any]:
    """What a job keeps of a file that was looked at. Only reads. Raises WorkbookError."""
    opened = open_file(data, file_name, encoding, delimiter)
    values: dict[str, Any] = {
        "content": opened.content,
        "encoding": opened.encoding,
        "delimiter": opened.delimiter,
        "notes": opened.notes,
        "sheets": opened.sheets,
    }
    return values | guess_table(opened.sheets)


def open_upload(
    *,
    actor: User,
    build: Build,
    data: bytes,
    file_name: str,
    encoding: str = "",
    delimiter: str = "",
) -> ImportJob:
    """Look at a file and keep it. Raises WorkbookError or LedgerError with one sentence."""
    jobs.check_may_upload(actor=actor, build=build)
    values = look_at(data, file_name, encoding, delimiter)
    return keep_upload(actor=actor, build=build, data=data, file_name=file_name, values=values)


def keep_upload(
    *, actor: User, build: Build, data: bytes, file_name: str, values: dict[str, Any] | None
) -> ImportJob:
    """Keep a file. ``values``: what ``look_at`` gave, or None till then. Raises LedgerError."""
    values = values or {"content": ""}
    return jobs.start_job(actor=actor, build=build, data=data, file_name=file_name, values=values)


def is_unopened(job: ImportJob) -> bool:
    """Whether its file was kept before it was looked at to its end."""
    return job.state == JobState.TABLE and not job.content


def keep_opened(build: Build, pk: int, values: dict[str, Any]) -> None:
    """Put what ``look_at`` gave to a job that waited for it."""
    with jobs.locked_job(build, pk) as job:
        if is_unopened(job):
            jobs.change_job(job, **values)


def guess_table(sheets: list[dict[str, Any]]) -> dict[str, Any]:
    """The sheet that looks most like a table, its heading row, and what it may hold."""
    best, best_score = 0, -1
    for place, sheet in enumerate(sheets):
        has_heading = bool(guess_heading_row(sheet["head"]))
        score = min(sheet["rows"], 50) + 20 * has_heading + min(sheet["columns"], 8)
        if sheet["rows"] and score > best_score:
            best, best_score = place, score
    sheet = sheets[best]
    row = guess_heading_row(sheet["head"])
    return {"sheet": sheet["name"], "heading_row": row, "kind": _kind(sheet, row)}


def _kind(sheet: dict[str, Any], heading_row: int) -> str:
    heading: list[Cell] = next(
        (cells for number, cells in sheet["head"] if number == heading_row), []
    )
    below = [row for row in sheet["head"] if row[0] > heading_row]
    return guess_kind(build_profile(heading, below))


def read_again(build: Build, pk: int, *, encoding: str, delimiter: str) -> None:
    """Look at a text with another encoding or delimiter. Raises WorkbookError or LedgerError."""
    with jobs.locked_job(build, pk) as job:
        data = jobs.read_file(job)
        opened = open_file(data, job.file_name, encoding, delimiter)
        jobs.refuse_after_run(job)
        jobs.change_job(
            job,
            encoding=opened.encoding,
            delimiter=opened.delimiter,
            notes=opened.notes,
            sheets=opened.sheets,
            profile=[],
            mapping={},
            state=JobState.TABLE,
            **guess_table(opened.sheets),
        )


@dataclass
class Read:
    """One sheet, read from its file: rows, notes, what it shows beside values, and its columns.

    ``lines``: its rows as ``[number, cells]``, each a line of JSON; ``count`` of them, and
    ``below`` the headings.
    """

    lines: bytes
    count: int
    below: int
    notes: list[str]
    marks: dict[str, Any]
    profile: list[dict[str, Any]]


def must_read(job: ImportJob, place: int, heading_row: int) -> bool:
    """Whether choosing a sheet and its headings takes another look at the file."""
    return _must_keep(job, place) or heading_row != job.heading_row


def _must_keep(job: ImportJob, place: int) -> bool:
    is_kept = bool(job.profile) and job.state != JobState.KEEPING
    return not is_kept or job.sheets[place]["name"] != job.sheet


def read_sheet(job: ImportJob, data: bytes, place: int, heading_row: int) -> Read:
    """Read a sheet. Only reads, for a minute where it is long. Raises WorkbookError."""
    rows, notes = load_rows(data, job.content, place, job.encoding, job.delimiter)
    marks, more = look_for_marks(data, job.content, job.sheets[place]["name"])
    found: dict[str, Any] = {}
    if marks is not None:
        columns = put_to_rows(rows, marks)
        found = {"struck": marks.struck, "hidden": marks.hidden, "columns": columns}
    lines = b"".join(json.dumps(row, separators=(",", ":")).encode() + b"\n" for row in rows)
    below = sum(1 for row in rows if row[0] > heading_row)
    return Read(lines, len(rows), below, notes + more, found, _profile(rows, heading_row, found))


def _profile(
    rows: list[list[Any]], heading_row: int, marks: Mapping[str, Any]
) -> list[dict[str, Any]]:
    heading: list[Cell] = next((cells for number, cells in rows if number == heading_row), [])
    heading = with_headings(heading, marks.get("columns", {}))
    return build_profile(heading, [row for row in rows if row[0] > heading_row])


def choose_table(
    build: Build, pk: int, *, place: int, heading_row: int, kind: str, read: Read | None = None
) -> None:
    """Keep the rows of a sheet and what its columns are. Raises WorkbookError or LedgerError.

    ``read``: what ``read_sheet`` gave, where somebody else read it before. The rows of a long
    sheet are still to be copied then, by ``continue_job``.
    """
    with jobs.locked_job(build, pk) as job:
        sheet = job.sheets[place]
        state, profile, below = JobState.COLUMNS, job.profile, job.row_count
        if job.done_count and (heading_row != job.heading_row or kind != job.kind):
            jobs.refuse_after_run(job)
        if must_read(job, place, heading_row):
            read = read or read_sheet(job, jobs.read_file(job), place, heading_row)
            profile, below = read.profile, read.below
            if _must_keep(job, place):
                if read.marks:
                    sheet["marks"] = read.marks
                state = jobs.begin_keeping(job, read.lines, read.count)
                job.notes = list(dict.fromkeys([*job.notes, *read.notes]))
        changed = kind != job.kind or [c["key"] for c in profile] != [c["key"] for c in job.profile]
        if changed or not job.mapping:
            known = stored.get_remembered(build, headings_key(profile))
            fits = known is not None and known.kind == kind
            job.mapping = propose(kind, profile, known.mapping if fits and known else None)
        jobs.change_job(
            job,
            sheets=job.sheets,
            sheet=sheet["name"],
            heading_row=heading_row,
            kind=kind,
            profile=profile,
            mapping=job.mapping,
            notes=job.notes,
            row_count=below,
            carried=job.carried,
            state=state,
        )


def save_columns(build: Build, pk: int, mapping: dict[str, Any]) -> None:
    """Keep what the columns are, remember it for these headings, and begin the check."""
    with jobs.locked_job(build, pk) as job:
        if not job.profile or job.state == JobState.KEEPING:
            raise LedgerError("Choose the table first, and wait until it is copied.")
        jobs.change_job(job, mapping=mapping)
        key = headings_key(job.profile)
        jobs.remember_mapping(build, key, job.kind, remember(job.profile, mapping))
        jobs.begin_check(job)


def save_names(build: Build, pk: int, decisions: dict[int, tuple[str, str, str]]) -> None:
    """Keep what new names stand for, and check the rows with that. Raises LedgerError."""
    with jobs.locked_job(build, pk) as job:
        jobs.save_name_choices(job, decisions)
        jobs.begin_check(job)


def continue_job(*, actor: User | None, build: Build, pk: int, seconds: int | None) -> ImportJob:
    """Copy, check or bring in rows for some seconds (None: to the end), at least one chunk.

    Raises LedgerError, after which the job can be looked through.
    """
    end = None if seconds is None else time.monotonic() + seconds
    checker: Checker | None = None
    while True:
        job = stored.get_job(build, pk)
        if job.state == JobState.KEEPING:
            job = _keep_chunk(build, pk)
        elif job.state == JobState.CHECKING:
            # What the build holds is read once for all chunks of a request.
            checker = checker or Checker(job)
            job = _check_chunk(build, pk, checker)
        elif job.state == JobState.RUNNING:
            job = run_chunk(actor=actor, build=build, pk=pk)
        if not is_going(job):
            return job
        if end is not None and time.monotonic() >= end:
            return job


def is_going(job: ImportJob) -> bool:
    """Whether rows are still to be copied, checked or brought in."""
    return job.state in (JobState.KEEPING, JobState.CHECKING, JobState.RUNNING)


def _keep_chunk(build: Build, pk: int) -> ImportJob:
    try:
        with jobs.locked_job(build, pk) as job:
            if job.state == JobState.KEEPING:
                jobs.keep_some(job)
            return job
    except LedgerError:
        with jobs.locked_job(build, pk) as job:
            jobs.change_job(job, state=JobState.TABLE, profile=[], carried={})
        raise


def _check_chunk(build: Build, pk: int, checker: Checker) -> ImportJob:
    with jobs.locked_job(build, pk) as job:
        if job.state != JobState.CHECKING:
            return job
        if job.checked_to == job.heading_row and jobs.forget_checked(job):
            return job
        rows = stored.rows_after(job, job.checked_to, CHECK_AT_ONCE)
        if not rows:
            jobs.change_job(job, state=JobState.CHECKED, carried={})
            return job
        checker.job = job
        carried = checker.check(rows, job.carried)
        jobs.save_checked(job, rows, checker.changed.values())
        last = len(rows) < CHECK_AT_ONCE
        jobs.change_job(
            job,
            checked_to=rows[-1].number,
            carried={} if last else carried,
            state=JobState.CHECKED if last else JobState.CHECKING,
        )
        return job


def fix_rows(
    build: Build,
    pk: int,
    mended: Mapping[int, Mapping[str, str]],
    choices: Mapping[int, str] | None = None,
) -> None:
    """Put typed texts in place of cells, by row and field, and check those rows again.

    ``choices``: import, skip or an empty text by row. A row that was brought in stays as it is.
    """
    with jobs.locked_job(build, pk) as job:
        if job.state not in (JobState.CHECKED, JobState.DONE):
            raise LedgerError("The rows are being checked. Wait until that is done.")
        checker = Checker(job)
        for number in sorted({*mended, *(choices or {})}):
            row = stored.get_row(job, number)
            if row.state == RowState.DONE:
                continue
            typed = {key: text[:500] for key, text in mended.get(number, {}).items()}
            row.mended = _only_changes(checker, row, typed)
            row.choice = (choices or {}).get(number, row.choice)
            _check_row(job, checker, row, repeats=any(key in typed for key in _repeating(job)))


def _only_changes(checker: Checker, row: ImportRow, typed: Mapping[str, str]) -> dict[str, str]:
    """What differs from the cells; a text put back to what the cell holds is no change."""
    raw = RowReader(checker.mapping).raw(row.cells, {})
    kept = dict(row.mended)
    for key, text in typed.items():
        clean = " ".join(visible(text).split())
        if clean == cell_text(raw.get(key)):
            kept.pop(key, None)
        else:
            kept[key] = clean
    return kept


def _repeating(job: ImportJob) -> list[str]:
    found = [field_of(job.kind, column.get("field", "")) for column in job.mapping["columns"]]
    return [field.key for field in found if field and field.repeats]


def _check_row(job: ImportJob, checker: Checker, row: ImportRow, *, repeats: bool) -> None:
    before = _names(checker, row)
    jobs.clear_row(row)
    rows = [row]
    if repeats and checker.mapping.options["repeat"]:
        rows += [
            later
            for later in stored.rows_after(job, row.number, REACH)
            if later.state != RowState.DONE
        ]
        for later in rows[1:]:
            jobs.clear_row(later)
    checker.check(rows, _carried(job, checker, row))
    jobs.save_checked(job, rows, checker.changed.values())
    gone = before - _names(checker, row)
    jobs.forget_names(job, gone)


def _names(checker: Checker, row: ImportRow) -> set[tuple[str, str, str, str]]:
    return {
        (str(kind), name_key(row.values[field]), field, row.values[field])
        for field, kind in NEEDS.items()
        if field in row.values
    }


def _carried(job: ImportJob, checker: Checker, row: ImportRow) -> dict[str, Cell]:
    """What stands above a row in columns whose empty cells repeat it."""
    if not checker.mapping.options["repeat"]:
        return {}
    reader = RowReader(checker.mapping)
    above: dict[str, Cell] = {}
    for earlier in stored.rows_before(job, row.number, REACH):
        if not earlier.values:
            continue
        for key, cell in reader.raw(earlier.cells, earlier.mended).items():
            above.setdefault(key, cell[1] if isinstance(cell, list) and cell[0] == "m" else cell)
    return {field.key: above[field.key] for field in checker.mapping.fields if field.repeats
            and field.key in above}  # fmt: skip
