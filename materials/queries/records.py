"""Any record of a build by its type, for deleting and for the history."""

from dataclasses import dataclass
from typing import Any, TypeVar

from django.db import models

from ..models import (
    Build,
    Change,
    Component,
    Conversion,
    Element,
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    Move,
    Purchase,
    RetailPrice,
    Supplier,
    Task,
    WayToMake,
)
from .exchange import keyed, name_key

Named = TypeVar("Named", bound=models.Model)

# Type in addresses -> (model, how it belongs to a build); tools add theirs.
_BELONGS: dict[str, tuple[type[models.Model], str]] = {
    "element": (Element, "build"),
    "component": (Component, "build"),
    "price": (RetailPrice, "component__build"),
    "supplier": (Supplier, "build"),
    "purchase": (Purchase, "build"),
    "conversion": (Conversion, "build"),
    "way-to-make": (WayToMake, "build"),
    "left-over": (LeftOver, "component__build"),
    "task": (Task, "build"),
    "labour": (LabourEntry, "build"),
    "hand-over": (HandOver, "build"),
    "lesson": (Lesson, "build"),
}


# The other way round; transfers belong to two builds.
_KINDS_OF: dict[Any, str] = {model: kind for kind, (model, _) in _BELONGS.items()} | {Move: "move"}


def number_of(text: str | None) -> int | None:
    """A whole number that an address or a form names; None for what is none or no key holds."""
    return int(text) if text and text.isdecimal() and len(text) <= 18 else None


def add_kind(kind: str, model: type[models.Model]) -> None:
    """Have addresses name a tool's records of a kind, which belong to their build directly."""
    _BELONGS[kind] = (model, "build")
    _KINDS_OF[model] = kind


def get_record(build: Build, kind: str, pk: int) -> models.Model | None:
    """A record of the build, or None when there is none of that kind and number."""
    if kind == "move":
        of_build = models.Q(component__build=build) | models.Q(to_component__build=build)
        return Move.objects.filter(of_build, pk=pk).first()
    if kind not in _BELONGS:
        return None
    model, path = _BELONGS[kind]
    return model._default_manager.filter(pk=pk, **{path: build}).first()


@dataclass(frozen=True)
class UsedBy:
    """A record that uses another: its type in addresses, its key, and what it is called."""

    kind: str
    key: int
    name: str


# Of each kind so many are named.
NAMED = 8


def list_used_by(record: models.Model) -> list[UsedBy]:
    """What uses a record, so that it cannot be deleted: of each kind the first few.

    One query for each way in which a record may be used.
    """
    found: dict[UsedBy, None] = {}
    for relation in record._meta.related_objects:
        if relation.on_delete is not models.PROTECT:
            continue
        rows = relation.related_model._default_manager.filter(**{relation.field.name: record})
        whole = _whole_of(relation.related_model)
        for row in rows.select_related(*whole)[:NAMED]:
            user = getattr(row, whole[0]) if whole else row
            kind = _KINDS_OF.get(type(user))
            if kind is not None:
                found[UsedBy(kind, user.pk, str(user))] = None
    return list(found)


def _whole_of(model: type[models.Model]) -> list[str]:
    """The field of the record that rows of a model belong to; none for what is a record."""
    if model in _KINDS_OF:
        return []
    return [
        field.name
        for field in model._meta.fields
        if isinstance(field, models.ForeignKey)
        and field.related_model in _KINDS_OF
        and field.remote_field.on_delete is models.CASCADE
    ]


def find_named(model: type[Named], build: Build, name: str) -> Named | None:
    """The build's record of a name, whatever its case and spaces."""
    exact = model._default_manager.filter(build=build, name=name).first()
    if exact is not None:
        return exact
    pk = keyed(model, build).get(name_key(name))
    return None if pk is None else model._default_manager.get(pk=pk)


def list_changes(build: Build) -> models.QuerySet[Change]:
    """History, newest first."""
    return Change.objects.filter(build=build).select_related("actor")


def list_record_changes(build: Build, kind: str, pk: int) -> models.QuerySet[Change]:
    """History of one record, newest first, also of one that is deleted."""
    return list_changes(build).filter(record_type=kind, record_id=pk)


def list_change_values(build: Build, name: str) -> list[str]:
    """The different values of a column of the history, in order."""
    rows = Change.objects.filter(build=build).exclude(**{name: ""})
    return list(rows.order_by(name).values_list(name, flat=True).distinct())


def find_deletion(build: Build, kind: str, pk: int) -> Change | None:
    """The entry of the history that a record's being deleted is, if it was."""
    found = list_changes(build).filter(record_type=kind, record_id=pk).first()
    return found if found is not None and found.after is None else None
