"""Two people at one record: nobody writes over what they have not seen.

A form carries the version of the record it was opened with: a digest of the rows it shows, without
derived figures. Saving takes the build's lock and compares it with what is stored now, so that
nothing can come between the look and the writing. On ``Stale`` the form is put together anew
(``forms.merging``) and answered with 409. Rows are compared by their formset, whose prefix must be
the related name.
"""

import hashlib
import json
from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from django.core import serializers
from django.core.exceptions import ObjectDoesNotExist
from django.db import models, transaction

from ..models import Build, Change
from .errors import LedgerError
from .history import (
    RECORDS,
    Snapshot,
    record_type,
    take_snapshot,
    take_snapshots,
    without_derived,
)
from .ledger import lock_build

# Rows that belong to a record but have forms of their own; tools add theirs.
APART = {"component": ("prices",)}
# How far back the state that a form was opened with is looked for.
_LOOK_BACK = 100


class Stale(LedgerError):
    """The record was changed since the form was opened.

    ``change``: the newest change of it, None when it was changed in bulk. ``before`` and
    ``now``: the rows the form was opened with (None when they are not known any more) and
    those stored now; ``base`` and ``record``: the same as unsaved and stored records.
    """

    def __init__(self, change: Change | None, before: Snapshot | None, record: models.Model):
        super().__init__(
            "Somebody changed this meanwhile. Check what is different, and save again."
        )
        self.change, self.before, self.record = change, before, record
        self.now = _facts(take_snapshot(record), record)
        self.base = _read_back(before, record) if before else None


def version_of(record: models.Model) -> str:
    """A digest of what is stored of a record, derived figures left out; empty for a new one."""
    if record.pk is None:
        return ""
    return _digest(_facts(take_snapshot(record), record))


def versions_of(records: Sequence[models.Model]) -> dict[models.Model, str]:
    """The same for many stored records of one kind, in as few queries as for one."""
    snapshots = take_snapshots(records)
    return {record: _digest(_facts(snapshots[record.pk], record)) for record in records}


@contextmanager
def locked(*, build: Build, record: models.Model, version: str) -> Iterator[None]:
    """A transaction in which the record stays as it is, for a service to change it.

    Raises Stale when it is not in ``version`` any more; an empty version is not compared.
    """
    if record.pk is None or not version:
        yield
        return
    with transaction.atomic():
        lock_build(build)
        if version_of(record) != version:
            stored = type(record)._default_manager.filter(pk=record.pk).first()
            if stored is None:
                raise ObjectDoesNotExist
            raise stale_of(build, stored, version)
        yield


def stale_of(build: Build, record: models.Model, version: str) -> Stale:
    """What is to be said of a record that is not in ``version`` any more."""
    changes = list(
        Change.objects.filter(
            build=build, record_type=record_type(record), record_id=record.pk
        ).select_related("actor")[:_LOOK_BACK]
    )
    for change in changes:
        before = _facts(change.before or [], record)
        if before and _digest(before) == version:
            return Stale(changes[0], before, record)
    return Stale(changes[0] if changes else None, None, record)


def _facts(rows: Snapshot, record: models.Model) -> Snapshot:
    """The rows that the record's own form shows, without what follows from them."""
    model, children = RECORDS[record_type(record)]
    apart = APART.get(record_type(record), ())
    kinds = {model._meta.label_lower} | {
        related._meta.label_lower
        for child in children
        if child not in apart and (related := model._meta.get_field(child).related_model)
    }
    return [without_derived(row) for row in rows if row["model"] in kinds]


def _digest(rows: Snapshot) -> str:
    data = json.dumps(rows, sort_keys=True).encode()
    return hashlib.sha256(data).hexdigest()[:32]


def _read_back(rows: Snapshot, record: models.Model) -> models.Model | None:
    """The record as it was, with its rows at hand under the names they have on it."""
    read = [row.object for row in serializers.deserialize("json", json.dumps(rows))]
    base = next((row for row in read if type(row) is type(record)), None)
    if base is None:
        return None
    at_hand: dict[str, list[models.Model]] = {}
    for child in RECORDS[record_type(record)][1]:
        related = base._meta.get_field(child).related_model
        at_hand[child] = [row for row in read if type(row) is related]
    vars(base)["_prefetched_objects_cache"] = at_hand
    return base
