"""Keeping, reading back and undoing every change.

Every service writes one ``Change``: the record and its rows before and after. Undoing puts the
earlier state back, derives and checks again, and is itself a change. A record can only be undone
in the state the change left it in. What ``services.acts`` marks as one act is undone as one. An
import is one entry and is undone as one, except one that began a new build; membership stands in
the history and is never undone. Secrets stay out of the snapshots (``_UNKEPT``);
``services.records`` says what undoing may not touch.
"""

import json
from collections.abc import Callable, Sequence
from typing import Any

from django.apps import apps
from django.contrib.auth.models import User
from django.core import serializers
from django.core.serializers.base import DeserializationError
from django.db import DataError, IntegrityError, connection, models, transaction

from ..models import (
    Build,
    CautionNote,
    Change,
    Component,
    Conversion,
    Element,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    Member,
    Move,
    Person,
    Photo,
    Purchase,
    RetailPrice,
    ShareLink,
    Supplier,
    Task,
    WayToMake,
)
from ..models.stated import derived_fields
from ..queries.exchange import name_key
from ..queries.photos import photos_going_with
from .acts import mark
from .errors import LedgerError
from .numbers import give_free_number

Snapshot = list[dict[str, Any]]

# Record types with the rows that belong to a record and live and die with it; tools add theirs.
RECORDS: dict[str, tuple[type[models.Model], tuple[str, ...]]] = {
    "build": (Build, ("areas", "distance_rates", "shares")),
    "element": (Element, ()),
    "component": (Component, ("prices",)),
    "price": (RetailPrice, ()),
    "supplier": (Supplier, ()),
    "person": (Person, ()),
    "member": (Member, ()),
    "purchase": (Purchase, ("lines", "charges")),
    "conversion": (Conversion, ("outputs",)),
    "way to make": (WayToMake, ()),
    "left over": (LeftOver, ()),
    "move": (Move, ()),
    "task": (Task, ()),
    "caution": (CautionNote, ()),
    "labour": (LabourEntry, ()),
    "hand-over": (HandOver, ()),
    "lesson": (Lesson, ()),
    "photo": (Photo, ()),
    "share link": (ShareLink, ()),
}
# Fields of share links that are no facts of the build: the key to a link, and who looks at it.
_UNKEPT = frozenset({"token_hash", "last_opened_at", "opened_count"})
_TYPES = {model: name for name, (model, _) in RECORDS.items()}
# What a record is called on its build; no two may differ in case or spaces only.
_NAMES = {
    "element": "code",
    "component": "name",
    "supplier": "name",
    "person": "name",
    "task": "name",
    "purchase": "number",
    "conversion": "number",
}


def add_record_type(
    kind: str, model: type[models.Model], rows: tuple[str, ...] = (), *, name_field: str = ""
) -> None:
    """Have the history keep a tool's records of a kind.

    ``rows`` are the related names of what lives and dies with one; ``name_field`` holds what it
    is called on its build, if no two may be called alike.
    """
    RECORDS[kind] = (model, rows)
    _TYPES[model] = kind
    if name_field:
        _NAMES[kind] = name_field


def record_type(record: models.Model) -> str:
    """Name of a record's type in the history."""
    return _TYPES[type(record)]


def take_snapshot(record: models.Model) -> Snapshot:
    """A record and its own rows as stored now, ready for JSON."""
    model, children = RECORDS[record_type(record)]
    rows: list[models.Model] = list(model._default_manager.filter(pk=record.pk))
    for child in children:
        rows += list(getattr(record, child).all().order_by("pk"))
    return _as_stored(rows)


def take_snapshots(records: Sequence[models.Model]) -> dict[int, Snapshot]:
    """The same of many records of one kind, by their keys, in as few queries as for one."""
    if not records:
        return {}
    model, children = RECORDS[record_type(records[0])]
    keys = [record.pk for record in records]
    stored = model._default_manager.filter(pk__in=keys)
    rows: dict[int, list[models.Model]] = {record.pk: [record] for record in stored}
    for child in children:
        link = model._meta.get_field(child)
        assert isinstance(link, models.ForeignObjectRel)
        own = link.related_model._default_manager.filter(**{f"{link.field.name}__in": keys})
        for row in own.order_by("pk"):
            rows[getattr(row, link.field.attname)].append(row)
    return {key: _as_stored(of_one) for key, of_one in rows.items()}


def _as_stored(rows: Sequence[models.Model]) -> Snapshot:
    stored: Snapshot = json.loads(serializers.serialize("json", rows))
    for row in stored:
        row["fields"] = {k: v for k, v in row["fields"].items() if k not in _UNKEPT}
    return stored


def note_change(
    *,
    actor: User | None,
    build: Build,
    record: models.Model,
    before: Snapshot | None,
    after: Snapshot | None,
    action: str = "",
    summary: str = "",
) -> None:
    """Write one line of history; nothing when nothing changed."""
    if before == after:
        return
    worded = action or ("added" if before is None else "deleted" if after is None else "changed")
    Change.objects.create(
        build=build,
        actor=actor,
        actor_name=actor.get_username() if actor else "",
        action=worded,
        record_type=record_type(record),
        record_id=record.pk,
        summary=(summary or str(record))[:300],
        before=before,
        after=after,
        act=mark(),
    )


def write_record(
    *,
    actor: User | None,
    build: Build,
    record: models.Model,
    write: Callable[[], None],
) -> None:
    """Run ``write`` on a record and keep what it changed; a clash of names is a LedgerError."""
    before = take_snapshot(record) if record.pk else None
    try:
        with transaction.atomic():
            write()
            _refuse_duplicate(build, record)
    except IntegrityError:
        raise _refused_by_the_database(build, record) from None
    note_change(actor=actor, build=build, record=record, before=before, after=take_snapshot(record))


def _refused_by_the_database(build: Build, record: models.Model) -> LedgerError:
    """What the database refuses: a name that is taken, said at its box, or something else."""
    kind = record_type(record)
    field = _NAMES.get(kind)
    if field is None or not _is_taken(build, record, field):
        return LedgerError(
            f"That could not be saved: it may clash with another {kind}. Open the page again."
        )
    text = f"“{getattr(record, field)}” is the {field} of another {kind} already."
    return LedgerError(f"{text} Choose a different one.", field)


def _is_taken(build: Build, record: models.Model, field: str) -> bool:
    """Whether another record is called so, in whatever case and spaces."""
    own = name_key(getattr(record, field))
    others = type(record)._default_manager.filter(build=build).exclude(pk=record.pk)
    return any(name_key(other) == own for other in others.values_list(field, flat=True))


def _refuse_duplicate(build: Build, record: models.Model) -> None:
    """Raises IntegrityError for a name that another record has in other case or spaces.

    Plain names are left to the database's own constraint; beyond them not every database
    knows upper from lower case.
    """
    field = _NAMES.get(record_type(record))
    if field is None:
        return
    name = getattr(record, field)
    if name.isascii() and name == " ".join(name.split()):
        return
    if _is_taken(build, record, field):
        raise IntegrityError(f"{name!r} is taken")


def save_values(
    *, actor: User | None, build: Build, record: models.Model, values: dict[str, Any]
) -> None:
    """Set fields of a record and save it, with its history."""

    def write() -> None:
        for name, value in values.items():
            setattr(record, name, value)
        record.save()

    write_record(actor=actor, build=build, record=record, write=write)


def remove_record(*, actor: User, build: Build, record: models.Model) -> None:
    """Delete a record, keeping it in the history. Raises LedgerError when others use it.

    Its photos are no part of it while it is there, but they go with it and come back with it.
    """
    before, pk = take_snapshot(record), record.pk
    before += _as_stored(photos_going_with(record))
    try:
        record.delete()
    except models.ProtectedError as error:
        users = {str(user._meta.verbose_name) for user in error.protected_objects}
        raise LedgerError(
            f"“{record}” is still used by {', '.join(sorted(users))}: change or delete those first."
        ) from None
    record.pk = pk
    note_change(actor=actor, build=build, record=record, before=before, after=None)


def same_facts(one: Snapshot | None, other: Snapshot | None) -> bool:
    """Whether two snapshots tell the same but for derived figures."""
    return _facts(one) == _facts(other)


def _facts(snapshot: Snapshot | None) -> Snapshot | None:
    if snapshot is None:
        return None
    return [without_derived(row) for row in snapshot]


def without_derived(row: dict[str, Any]) -> dict[str, Any]:
    """One stored row of a snapshot, but for what is worked out."""
    derived = derived_fields(apps.get_model(row["model"]))
    return row | {"fields": {k: v for k, v in row["fields"].items() if k not in derived}}


def put_back(change: Change) -> tuple[models.Model, list[str]]:
    """Enter a change's ``before`` rows back, dropping rows that it had added.

    Returns the record and what is worth saying: that another has its number by now.

    Raises LedgerError when the record was changed again since, or what it needs is gone.
    """
    model, children = RECORDS[change.record_type]
    current = model._default_manager.filter(pk=change.record_id).first()
    now = take_snapshot(current) if current is not None else None
    if not same_facts(now, change.after):
        raise LedgerError(
            "This was changed again since. Undo the later change first (newest at the top)."
        )
    before = change.before or []
    kept = {(row["model"], row["pk"]) for row in before}
    if current is not None:
        for child in children:
            for row in getattr(current, child).all():
                if (row._meta.label_lower, row.pk) not in kept:
                    row.delete()
    said = []
    try:
        for stored in serializers.deserialize("json", json.dumps(before)):
            if current is None:
                said.append(give_free_number(stored.object, change.build))
            stored.save()
        connection.check_constraints()
    except (IntegrityError, DataError, DeserializationError):
        raise LedgerError(
            "This cannot be brought back as it was. Something it belongs to was deleted, "
            "or its name is taken. Bring that back first."
        ) from None
    return model._default_manager.get(pk=change.record_id), [text for text in said if text]
