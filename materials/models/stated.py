"""Which fields of a record somebody states: the one list that every way in and out goes by.

All that is stored is stated, but for a record's key, its place among others, the record it
belongs to, what the program notes by itself (fields that are not editable), and what is worked
out. The last stands in ``DERIVED`` of its model, so that a new field is a stated one.
"""

from functools import cache
from typing import Any

from django.db import models

POSITION = "position"


def derived_fields(model: type[models.Model]) -> frozenset[str]:
    """Names of the fields that are worked out from others."""
    return getattr(model, "DERIVED", frozenset())


@cache
def parent_link(model: type[models.Model]) -> "models.ForeignKey[Any, Any] | None":
    """The link to what a record belongs to and is deleted with; None where there is none."""
    for field in model._meta.concrete_fields:
        if not isinstance(field, models.ForeignKey) or field.null:
            continue
        if field.remote_field.on_delete is models.CASCADE:
            return field
    return None


@cache
def stated_fields(model: type[models.Model]) -> tuple[str, ...]:
    """Names of the fields that somebody states of a record, in the model's order."""
    parent = parent_link(model)
    return tuple(
        field.name
        for field in model._meta.concrete_fields
        if field.editable
        and not field.primary_key
        and field != parent
        and field.name != POSITION
        and field.name not in derived_fields(model)
    )


def stated_values(record: models.Model, without: frozenset[str] = frozenset()) -> dict[str, Any]:
    """What is stated of a record, by field, as a service takes it."""
    return {
        name: getattr(record, name) for name in stated_fields(type(record)) if name not in without
    }
