"""Undoing an import as one: what it made goes, unless somebody changed or used it since."""

from collections import defaultdict
from collections.abc import Iterable, Sequence

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import ForeignObjectRel

from ..models import (
    Build,
    Change,
    Component,
    ImportedRecord,
    ImportJob,
    JobState,
    LineTotal,
    RetailPrice,
    RowState,
)
from ..queries.imports import WORKBOOK
from .errors import LedgerError
from .history import RECORDS, same_facts
from .import_jobs import change_job
from .ledger import check_stock, cost_purchases, lock_build, purchases_with
from .totals import rebuild_totals

BATCH = 500
# What stands in the way is named, as far as that helps.
NAMED = 5
# Deleted in this order, so that nothing is deleted before what uses it.
_FACTS = (
    "move",
    "left over",
    "hand-over",
    "way to make",
    "conversion",
    "purchase",
    "price",
    "labour",
    "lesson",
)
NAMES = ("component", "task", "supplier", "person", "element")


def register_import(build: Build, change: Change, made: Iterable[tuple[str, int]]) -> None:
    """Keep what a workbook that was read in whole has made."""
    job = ImportJob.objects.create(
        build=build,
        user=change.actor,
        file_name="workbook",
        content=WORKBOOK,
        state=JobState.DONE,
        change=change,
    )
    ImportedRecord.objects.bulk_create(
        (ImportedRecord(job=job, record_type=kind, record_id=pk) for kind, pk in made),
        batch_size=1000,
    )


def import_of(change: Change) -> ImportJob | None:
    """The import that an entry of the history tells of, while it can be undone."""
    return ImportJob.objects.filter(change=change).select_related("change").first()


@transaction.atomic
def undo_import(*, actor: User, build: Build, change: Change) -> list[str]:
    """Take everything back that an import made; returns names that stay, as they are used now.

    Raises LedgerError naming what stands in the way.
    """
    lock_build(build)
    job = ImportJob.objects.select_for_update().filter(build=build, change=change).first()
    if job is None:
        raise LedgerError("This entry cannot be undone on its own.")
    made = _made(job)
    changed = _changed_since(build, change, made)
    _refuse_changed(made, changed)
    parts = _priced(made["price"])
    for kind in _FACTS:
        _delete(kind, made[kind])
    kept = [name for kind in NAMES for name in _drop_unused(kind, made[kind], changed[kind])]
    if made["purchase"]:
        rebuild_totals(build)
    if parts:
        cost_purchases(build, purchases_with(Component.objects.filter(pk__in=parts)))
    check_stock(build)
    _put_rows_back(job)
    Change.objects.create(
        build=build,
        actor=actor,
        actor_name=actor.get_username() if actor else "",
        action="undone",
        record_type="table",
        record_id=job.pk,
        summary=change.summary,
    )
    if job.content == WORKBOOK:
        job.delete()
    return kept


def _made(job: ImportJob) -> dict[str, list[int]]:
    made: dict[str, list[int]] = defaultdict(list)
    for kind, pk in job.records.values_list("record_type", "record_id"):
        made[kind].append(pk)
    return made


def _changed_since(
    build: Build, change: Change, made: dict[str, list[int]]
) -> dict[str, dict[int, bool]]:
    """Records that are not as they were made: True, or False where they are gone."""
    later = Change.objects.filter(build=build, pk__gt=change.pk, record_type__in=list(made))
    of_record: dict[tuple[str, int], list[int]] = defaultdict(list)
    own = {kind: set(pks) for kind, pks in made.items()}
    for pk, kind, record in later.order_by("pk").values_list("pk", "record_type", "record_id"):
        if record in own[kind]:
            of_record[kind, record].append(pk)
    changed: dict[str, dict[int, bool]] = defaultdict(dict)
    for (kind, record), pks in of_record.items():
        first, last = (Change.objects.get(pk=pk) for pk in (pks[0], pks[-1]))
        # A change that was undone again is none.
        if not same_facts(first.before, last.after):
            changed[kind][record] = last.after is not None
    return changed


def _refuse_changed(made: dict[str, list[int]], changed: dict[str, dict[int, bool]]) -> None:
    ways: list[tuple[str, list[int], str]] = []
    for kind in _FACTS:
        altered = [pk for pk, is_there in changed[kind].items() if is_there]
        used = [pk for pk in list_used(kind, made[kind]) if pk not in altered]
        ways += [(kind, altered, "changed"), (kind, used, "used")]
    later = [
        f"{_list_names(kind, pks)} {'was' if len(pks) == 1 else 'were'} {how} since"
        for kind, pks, how in ways
        if pks
    ]
    if later:
        raise LedgerError(
            f"This import cannot be undone yet: {'; '.join(later)}. Undo or delete that first"
            " (the newest changes are at the top of the history)."
        )


def _list_names(kind: str, pks: Sequence[int]) -> str:
    model, _ = RECORDS[kind]
    names = [f"{kind} {record}" for record in model._default_manager.filter(pk__in=pks[:NAMED])]
    more = len(pks) - len(names)
    return ", ".join(names) + (f" and {more:,} more" if more > 0 else "")


def list_used(kind: str, pks: Sequence[int]) -> list[int]:
    """Records that something else than their own rows belongs to: a photo, a later record."""
    model, children = RECORDS[kind]
    found: set[int] = set()
    for relation in model._meta.related_objects:
        name = relation.get_accessor_name()
        if name in children or relation.related_model is LineTotal:
            continue
        field = relation.field.name
        others = relation.related_model._default_manager.order_by()
        for start in range(0, len(pks), BATCH):
            batch = pks[start : start + BATCH]
            rows = others.filter(**{f"{field}__in": batch}).values_list(field, flat=True)
            found.update(rows.distinct())
    return sorted(found)


def _priced(prices: Sequence[int]) -> set[int]:
    found: set[int] = set()
    for start in range(0, len(prices), BATCH):
        rows = RetailPrice.objects.filter(pk__in=prices[start : start + BATCH])
        found.update(rows.values_list("component_id", flat=True))
    return found


def _delete(kind: str, pks: Sequence[int]) -> None:
    model, children = RECORDS[kind]
    for start in range(0, len(pks), BATCH):
        batch = pks[start : start + BATCH]
        for child in children:
            relation = model._meta.get_field(child)
            assert isinstance(relation, ForeignObjectRel)
            own = relation.related_model._default_manager
            own.filter(**{f"{relation.field.name}__in": batch}).delete()
        model._default_manager.filter(pk__in=batch).delete()


def _drop_unused(kind: str, pks: Sequence[int], changed: dict[int, bool]) -> list[str]:
    """Delete names nobody uses or changed; returns the names of the others."""
    model, children = RECORDS[kind]
    used = set(list_used(kind, pks)) | {pk for pk, is_there in changed.items() if is_there}
    if "prices" in children:
        used |= set(
            RetailPrice.objects.filter(component__in=pks).values_list("component_id", flat=True)
        )
    _delete(kind, [pk for pk in pks if pk not in used])
    kept = model._default_manager.filter(pk__in=[pk for pk in pks if pk in used])
    return [str(record) for record in kept]


def _put_rows_back(job: ImportJob) -> None:
    """The rows wait again, as they were before they were imported."""
    job.rows.filter(state=RowState.DONE).update(state=RowState.READY, record_id=None)
    for kind in NAMES:
        pks = list(job.records.filter(record_type=kind).values_list("record_id", flat=True))
        model, _ = RECORDS[kind]
        alive = set(model._default_manager.filter(pk__in=pks).values_list("pk", flat=True))
        job.names.filter(kind=kind, record_id__in=set(pks) - alive).update(record_id=None)
    job.records.all().delete()
    has_rows = job.rows.exists()
    state = JobState.CHECKED if has_rows else JobState.DONE
    change_job(job, state=state, done_count=0, change=None, carried={})
