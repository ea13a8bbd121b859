"""Any record of a build by its type, for deleting and for the history."""

from typing import TypeVar

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
    Move,
    Purchase,
    RetailPrice,
    Supplier,
    Task,
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
    "left-over": (LeftOver, "component__build"),
    "task": (Task, "build"),
    "labour": (LabourEntry, "build"),
    "hand-over": (HandOver, "build"),
}


def number_of(text: str | None) -> int | None:
    """A whole number that an address or a form names; None for what is none or no key holds."""
    return int(text) if text and text.isdecimal() and len(text) <= 18 else None


def add_kind(kind: str, model: type[models.Model]) -> None:
    """Have addresses name a tool's records of a kind, which belong to their build directly."""
    _BELONGS[kind] = (model, "build")


def get_record(build: Build, kind: str, pk: int) -> models.Model | None:
    """A record of the build, or None when there is none of that kind and number."""
    if kind == "move":
        of_build = models.Q(component__build=build) | models.Q(to_component__build=build)
        return Move.objects.filter(of_build, pk=pk).first()
    if kind not in _BELONGS:
        return None
    model, path = _BELONGS[kind]
    return model._default_manager.filter(pk=pk, **{path: build}).first()


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
