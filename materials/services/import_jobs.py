"""Imports in steps, up to the moment when rows become records (that is ``import_runs``).

No request writes more rows than a chunk holds. A long sheet lies as lines of JSON beside its file
until its rows are in the database; how far that is stands in the job, changed in the transaction
that writes the rows, so that a server killed anywhere goes on without a row lost or doubled.
"""

import json
import secrets
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.contrib.auth.models import User
from django.core.files.base import ContentFile
from django.core.files.storage import Storage
from django.db import transaction
from django.db.models import QuerySet

from ..models import (
    Build,
    ImportJob,
    ImportMapping,
    ImportName,
    ImportRow,
    JobState,
    RowState,
)
from ..queries.imports import (
    count_open_jobs,
    count_uploads,
    hour_ago,
    list_names,
    names_by_pk,
    names_of,
)
from ..queries.records import number_of
from .errors import LedgerError
from .ledger import lock_build

BATCH = 1000
# Rows written, or emptied, in one transaction.
ROWS_AT_ONCE, EMPTIED_AT_ONCE = 2000, 10_000
GONE = "The uploaded file is gone. Drop this import and upload it again."
MAX_OPEN_JOBS = 20
MAX_UPLOADS_AN_HOUR = 60
CHECKED_FIELDS = (
    "mended", "choice", "state", "reason", "values", "faults", "fingerprint", "is_double",
    "group_key", "group_no",
)  # fmt: skip
_NAME_FIELDS = ("unit", "contents", "record_id", "like", "settled")


def check_may_upload(*, actor: User, build: Build) -> None:
    """Raises LedgerError when there are too many uploads (before anything is read)."""
    if count_open_jobs(build) >= MAX_OPEN_JOBS:
        raise LedgerError(
            f"There are {MAX_OPEN_JOBS} unfinished imports: finish or drop one first."
        )
    if count_uploads(actor, hour_ago()) >= MAX_UPLOADS_AN_HOUR:
        raise LedgerError("That is too many files within an hour. Wait a little.")


@transaction.atomic
def start_job(
    *, actor: User, build: Build, data: bytes, file_name: str, values: dict[str, Any]
) -> ImportJob:
    """Keep a file that was looked at. ``values``: content, encoding, delimiter, notes, sheets.

    Raises LedgerError when there are too many uploads.
    """
    lock_build(build)
    check_may_upload(actor=actor, build=build)
    job = ImportJob(build=build, user=actor, file_name=file_name[:120], **values)
    # 5.3.2: a name of our own; what the file was called is kept as text alone.
    job.file.save(secrets.token_hex(16), ContentFile(data), save=False)
    job.save()
    return job


@contextmanager
def locked_job(build: Build, pk: int) -> Iterator[ImportJob]:
    """The job, held for one transaction, so that no other process works on it meanwhile."""
    with transaction.atomic():
        yield ImportJob.objects.select_for_update().get(build=build, pk=pk)


def change_job(job: ImportJob, **values: Any) -> None:
    """Set fields of a job that is held."""
    for name, value in values.items():
        setattr(job, name, value)
    job.save(update_fields=list(values))


def begin_keeping(job: ImportJob, lines: bytes, count: int) -> JobState:
    """Put the rows of the chosen sheet in place of those that were there. The job is held.

    ``lines``: ``[number, cells]`` of so many rows, each a line of JSON. Returns the state the job
    is in then: a long sheet is only laid aside here, and ``keep_some`` copies it.
    """
    refuse_after_run(job)
    job.names.all().delete()
    storage, beside = job.file.storage, f"{job.file.name}-"
    _sweep(storage, beside, but=job.carried.get("lines", ""))
    if max(count, job.rows.count()) <= ROWS_AT_ONCE:
        job.rows.all().delete()
        _insert(job, lines.splitlines())
        job.carried = {}
        return JobState.COLUMNS
    # A name of its own each time: a server killed here must not leave another sheet's rows there.
    name = storage.save(f"{beside}{secrets.token_hex(8)}", ContentFile(lines))
    job.carried = {"lines": name, "at": 0, "done": 0, "of": count}
    return JobState.KEEPING


def keep_some(job: ImportJob) -> None:
    """Copy the next rows of a long sheet, once those that were there are gone. The job is held.

    Raises LedgerError when the sheet is gone; then the table is chosen anew.
    """
    carried = job.carried
    if not carried["at"] and _emptied(job.rows.all()):
        return
    try:
        with job.file.storage.open(carried["lines"], "rb") as stream:
            stream.seek(carried["at"])
            lines = [line for line in (stream.readline() for _ in range(ROWS_AT_ONCE)) if line]
    except FileNotFoundError:
        raise LedgerError("The table was read too long ago. Choose it again.") from None
    _insert(job, lines)
    carried["at"] += sum(map(len, lines))
    carried["done"] += len(lines)
    if len(lines) == ROWS_AT_ONCE:
        change_job(job, carried=carried)
        return
    storage, name = job.file.storage, carried["lines"]
    change_job(job, carried={}, state=JobState.COLUMNS)
    transaction.on_commit(lambda: storage.delete(name))


def _insert(job: ImportJob, lines: Iterable[bytes]) -> None:
    made = [ImportRow(job=job, number=n, cells=cells) for n, cells in map(json.loads, lines)]
    ImportRow.objects.bulk_create(made, batch_size=BATCH)


def _emptied(rows: "QuerySet[ImportRow]") -> bool:
    """Delete some of these rows; False where there is none."""
    last = _last_of_some(rows)
    if last is not None:
        rows.filter(number__lte=last).delete()
    return last is not None


def _last_of_some(rows: "QuerySet[ImportRow]") -> int | None:
    """The number up to which they are few enough for one transaction; None where there is none."""
    numbers = rows.order_by("number").values_list("number", flat=True)
    return numbers[EMPTIED_AT_ONCE - 1 : EMPTIED_AT_ONCE].first() or numbers.last()


def _sweep(storage: Storage, beside: str, but: str = "") -> None:
    """Delete the sheets laid aside whose names begin so, but for the one that is copied from."""
    folder, _, mine = beside.rpartition("/")
    for name in storage.listdir(folder)[1] if storage.exists(folder) else ():
        if name.startswith(mine) and f"{folder}/{name}" != but:
            storage.delete(f"{folder}/{name}")


def refuse_after_run(job: ImportJob) -> None:
    """Raises LedgerError when rows became records already."""
    if job.rows.filter(state=RowState.DONE).exists():
        raise LedgerError(
            "Rows of this table were imported already. Undo that first, or upload the file again."
        )


def begin_check(job: ImportJob, *, heading_row: int | None = None) -> None:
    """Have all rows that were not imported checked, from the top. The job is held."""
    if heading_row is not None and heading_row != job.heading_row:
        refuse_after_run(job)
        job.heading_row = heading_row
    job.names.filter(settled=False).delete()
    change_job(
        job,
        heading_row=job.heading_row,
        state=JobState.CHECKING,
        checked_to=job.heading_row,
        carried={},
        row_count=job.rows.filter(number__gt=job.heading_row).count(),
    )


def forget_checked(job: ImportJob) -> bool:
    """Empty what an earlier check found in some of the rows; False where there is none of it.

    The job is held, and no row of this check was read yet.
    """
    waiting = job.rows.exclude(state=RowState.DONE)
    below = waiting.filter(number__gt=job.heading_row).exclude(state=RowState.NEW)
    above = waiting.filter(number__lte=job.heading_row).exclude(state=RowState.ABOVE)
    last = _last_of_some(below)
    if last is not None:
        below.filter(number__lte=last).update(
            state=RowState.NEW, fingerprint="", is_double=False, group_key="", group_no=0
        )
        return True
    last = _last_of_some(above)
    if last is not None:
        above.filter(number__lte=last).update(state=RowState.ABOVE)
    return last is not None


def save_checked(job: ImportJob, rows: Sequence[ImportRow], names: Iterable[ImportName]) -> None:
    """Keep what rows were understood as, and the names met for the first time."""
    ImportName.objects.bulk_create(
        names,
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["job", "kind", "key"],
        update_fields=_NAME_FIELDS,
    )
    # Writing rows over is many times faster than a bulk update of as many fields.
    ImportRow.objects.bulk_create(
        rows,
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["job", "number"],
        update_fields=CHECKED_FIELDS,
    )


def clear_row(row: ImportRow) -> None:
    """Take a row out of its group and its doubles, to be checked anew. The job is held."""
    row.group_key, row.group_no, row.fingerprint, row.is_double = "", 0, "", False
    row.save(update_fields=["group_key", "group_no", "fingerprint", "is_double"])


def save_mended(rows: Iterable[ImportRow]) -> None:
    """Keep what stands in place of cells. The job is held."""
    ImportRow.objects.bulk_update(rows, ["mended"], batch_size=BATCH)


def forget_names(job: ImportJob, dropped: Iterable[tuple[str, str, str, str]]) -> None:
    """Drop new names that no row uses any more: (kind, key, field, name as it was written)."""
    for kind, key, field, name in dropped:
        used = job.rows.filter(**{f"values__{field}": name}).exists()
        similar = job.names.filter(kind=kind, like=key).exists()
        if not used and not similar:
            job.names.filter(kind=kind, key=key, settled=False, record_id=None).delete()


def save_name_choices(job: ImportJob, decisions: dict[int, tuple[str, str, str]]) -> None:
    """Keep what new names stand for, by their pk: (target, unit, contents).

    A target is ``new``, ``pk:12`` for a record of the build, or ``like:key`` for another new
    name. Raises LedgerError for one that is not there. The job is held.
    """
    names = {name.pk: name for name in list_names(job)}
    changed = []
    for pk, (target, unit, contents) in decisions.items():
        name = names.get(pk)
        if name is None:
            continue
        kind, _, wanted = target.partition(":")
        name.record_id, name.like, name.settled = None, "", True
        if kind == "pk":
            name.record_id = _existing(job.build, name.kind, wanted)
        elif kind == "like":
            name.like = _other(names.values(), name, wanted)
        name.unit, name.contents = unit, contents
        changed.append(name)
    for name in changed:
        # One step only: a name that stands for another is nobody's target.
        if name.like:
            target_name = names_of(job, name.kind, [name.like]).get(name.like)
            mine = next((n for n in changed if target_name and n.pk == target_name.pk), target_name)
            if mine is None or mine.like or mine.record_id:
                raise LedgerError(
                    f"“{name.name}” cannot stand for a name that stands for another itself:"
                    " choose that other one."
                )
    ImportName.objects.bulk_update(changed, _NAME_FIELDS)


def _existing(build: Build, kind: str, wanted: str) -> int:
    pk = number_of(wanted) or 0
    if pk not in names_by_pk(build, kind, [pk]):
        raise LedgerError("One of the chosen records no longer exists. Choose again.")
    return pk


def _other(names: Iterable[ImportName], name: ImportName, wanted: str) -> str:
    if any(n.kind == name.kind and n.key == wanted and n.pk != name.pk for n in names):
        return wanted
    raise LedgerError(f"The name “{name.name}” should stand for does not exist. Choose again.")


def remember_mapping(build: Build, key: str, kind: str, mapping: dict[str, Any]) -> None:
    """Keep what a set of headings was said to be, for the next time."""
    ImportMapping.objects.update_or_create(
        build=build, headings_key=key, defaults={"kind": kind, "mapping": mapping}
    )


def drop_some(*, build: Build, pk: int) -> int:
    """Delete the next rows of an import that is to be dropped; returns how many are left.

    Once it has begun nothing can be done with the rows that are left: the table is chosen anew,
    unless some of them became records already. Raises ImportJob.DoesNotExist.
    """
    with locked_job(build, pk) as job:
        change_job(job, state=JobState.DONE if job.records.exists() else JobState.TABLE, carried={})
        for left in (job.rows.all(), job.names.all()):
            last = _last_pk_of_some(left)
            if last is not None:
                left.filter(pk__lte=last).delete()
                break
        return job.rows.count() + job.names.count()


def _last_pk_of_some(found: "QuerySet[Any]") -> int | None:
    keys = found.order_by("pk").values_list("pk", flat=True)
    return keys[EMPTIED_AT_ONCE - 1 : EMPTIED_AT_ONCE].first() or keys.last()


@transaction.atomic
def drop_job(*, build: Build, pk: int) -> None:
    """Drop an import with its file. What it imported stays, and can still be undone.

    A long one's rows are gone by then, by ``drop_some``. Raises ImportJob.DoesNotExist.
    """
    job = ImportJob.objects.select_for_update().get(build=build, pk=pk)
    storage, name = job.file.storage, job.file.name
    if job.records.exists():
        job.rows.all().delete()
        job.names.all().delete()
        change_job(
            job, state=JobState.DONE, file="", sheets=[], profile=[], row_count=0, carried={}
        )
    else:
        job.delete()
    if name:
        transaction.on_commit(lambda: storage.delete(name))
        transaction.on_commit(lambda: _sweep(storage, f"{name}-"))


def read_file(job: ImportJob) -> bytes:
    """The file as it was uploaded. Raises LedgerError when it is gone."""
    try:
        with job.file.open("rb") as file:
            data: bytes = file.read()
            return data
    except (FileNotFoundError, ValueError):
        raise LedgerError(GONE) from None
