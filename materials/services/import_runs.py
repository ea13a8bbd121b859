"""Bringing checked rows in, some hundreds at a time.

A chunk's records and the states of its rows are written in one transaction that holds the
job: whoever comes second, in another tab or process, finds other rows ready, and a server that
is killed leaves either all of a chunk or nothing of it.
"""

from collections.abc import Sequence

from django.contrib.auth.models import User
from django.db import DataError, IntegrityError, transaction

from ..models import (
    Build,
    Change,
    ImportedRecord,
    ImportJob,
    ImportRow,
    JobState,
    RowState,
)
from .errors import LedgerError
from .import_jobs import BATCH, change_job
from .import_write import WRITERS, Written
from .ledger import lock_build

ROWS_AT_ONCE = 500
_KEPT = ("state", "faults", "reason", "record_id")


@transaction.atomic
def start_run(*, build: Build, pk: int) -> ImportJob:
    """Begin to bring in what is ready. Raises LedgerError when nothing is."""
    lock_build(build)
    job = ImportJob.objects.select_for_update().get(build=build, pk=pk)
    if job.state == JobState.RUNNING:
        return job
    if job.state not in (JobState.CHECKED, JobState.DONE):
        raise LedgerError("Some rows are still being read. Wait until they are done.")
    ready = job.rows.filter(state=RowState.READY).count()
    if not ready:
        raise LedgerError("No row is ready: fix them, or choose rows that were left out.")
    change_job(job, state=JobState.RUNNING, to_do=ready, carried={})
    return job


def run_chunk(*, actor: User | None, build: Build, pk: int, most: int = ROWS_AT_ONCE) -> ImportJob:
    """Bring in the next rows, or finish. Does nothing unless the job is running.

    Raises LedgerError, after which the job waits to be looked through again.
    """
    try:
        with transaction.atomic():
            build = lock_build(build)
            job = ImportJob.objects.select_for_update().get(build=build, pk=pk)
            if job.state == JobState.RUNNING:
                _run(actor, build, job, most)
            return job
    except (IntegrityError, DataError, OverflowError):
        stop_run(build=build, pk=pk)
        raise LedgerError(
            "The build was changed meanwhile, or an amount is too large. What was "
            "imported so far stays. Check the rows and go on."
        ) from None


@transaction.atomic
def stop_run(*, build: Build, pk: int) -> None:
    """Stop bringing in; what is in stays, and the rest can follow later."""
    job = ImportJob.objects.select_for_update().get(build=build, pk=pk)
    if job.state == JobState.RUNNING:
        change_job(job, state=JobState.CHECKED)


def _run(actor: User | None, build: Build, job: ImportJob, most: int) -> None:
    ready = job.rows.filter(state=RowState.READY).order_by("group_no", "number")
    rows = list(ready[: most + 1])
    if not rows:
        change_job(job, state=JobState.DONE)
        return
    rows = _whole_groups(rows, most)
    claimed = ImportRow.objects.filter(
        pk__in=[row.pk for row in rows], state=RowState.READY
    ).update(state=RowState.DONE)
    if claimed != len(rows):
        raise IntegrityError("some of the rows are being imported elsewhere")
    written = WRITERS[job.kind](build, job).write(rows)
    _keep(job, rows, written)
    _log_import(actor, build, job, sum(row.state == RowState.DONE for row in rows))


def _whole_groups(rows: list[ImportRow], most: int) -> list[ImportRow]:
    """Rows of whole purchases; the last may go on beyond what was read."""
    if len(rows) <= most:
        return rows
    last = rows[-1].group_no
    whole = [row for row in rows if row.group_no != last]
    return whole or rows


def _keep(job: ImportJob, rows: Sequence[ImportRow], written: Written) -> None:
    for row in rows:
        sentence = written.refused.get(row.pk)
        if sentence:
            row.state, row.reason = RowState.FAULT, ""
            row.faults = [["item", sentence[:1000]]]
        else:
            row.state, row.faults = RowState.DONE, []
            row.record_id = written.record_of[row.pk]
    ImportRow.objects.bulk_create(
        rows,
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["job", "number"],
        update_fields=_KEPT,
    )
    ImportedRecord.objects.bulk_create(
        (
            ImportedRecord(job=job, record_type=kind, record_id=record_id)
            for kind, record_id in written.made
        ),
        batch_size=BATCH,
    )


def _log_import(actor: User | None, build: Build, job: ImportJob, count: int) -> None:
    """One line of history for the whole import, however many chunks it takes."""
    done = job.done_count + count
    summary = summary_of(job.file_name, done)
    change = job.change
    if change is None and done:
        change = Change.objects.create(
            build=build,
            actor=actor,
            actor_name=actor.get_username() if actor else "",
            action="imported",
            record_type="table",
            record_id=job.pk,
            summary=summary,
        )
    elif change is not None:
        Change.objects.filter(pk=change.pk).update(summary=summary)
    change_job(job, done_count=done, change=change, carried=job.carried)


def summary_of(file_name: str, count: int) -> str:
    """How the history names an import."""
    return f"Import of {file_name}: {count:,} row{'' if count == 1 else 's'}"[:300]
