"""Putting together what somebody typed with what somebody else stored meanwhile.

A field that was left as the form showed it takes what is stored now; one in which something
else was typed keeps it.
"""

from collections.abc import Iterable
from typing import Any

from django import forms
from django.core.exceptions import ObjectDoesNotExist

from ..queries.records import number_of
from .base import RecordForm
from .rows import BaseRows

Values = dict[str, Any]


def merge_form(form: RecordForm, base: Any, now: Any) -> Values:
    """Starting values for the form to be shown again; ``base`` may be None (not known)."""
    stored = form.initial_from(now)
    try:
        opened = stored if base is None else form.initial_from(base)
    except ObjectDoesNotExist:
        opened = stored
    return _merge(form, opened, stored)


def merge_rows(rows: BaseRows, base: Any, now: Any) -> list[Values]:
    """Starting values of the rows under a form, those that were added meanwhile at the end.

    A row that was taken out meanwhile stays only if something was typed in it, as a new one.
    """
    names = rows.form.base_fields
    stored = {row.pk: _values(row, names) for row in now}
    opened = {row.pk: _values(row, names) for row in base}
    kept, seen = [], set()
    for form in rows.forms:
        typed = _typed(form)
        pk = number_of(str(typed["pk"] or ""))
        seen.add(pk)
        if pk in stored:
            before = opened.get(pk, stored[pk])
            merged = _merge(form, before, stored[pk]) | {"pk": pk}
        elif (pk in opened and is_as_stored(form, opened[pk])) or all(
            not value for name, value in typed.items() if name != "DELETE"
        ):
            continue
        else:
            merged = typed | {"pk": ""}
        kept.append(merged | {"DELETE": typed.get("DELETE", False)})
    return kept + [values for pk, values in stored.items() if pk not in seen and pk not in opened]


def is_as_stored(form: forms.BaseForm, values: Values) -> bool:
    """Whether saving what was typed would change nothing that is stored."""
    return all(
        _shown(field, values.get(name)) == _typed_shown(field, form[name].data)
        for name, field in form.fields.items()
        if name not in ("pk", "DELETE")
    )


def _values(row: Any, names: Iterable[str]) -> Values:
    """Fields of a stored row by name, a record it names by its key."""
    columns = {field.name: field.attname for field in row._meta.concrete_fields}
    return {"pk": row.pk} | {n: getattr(row, columns[n]) for n in names if n in columns}


def _merge(form: forms.BaseForm, opened: Values, stored: Values) -> Values:
    merged = {}
    for name, field in form.fields.items():
        typed = form[name].data
        untouched = _shown(field, opened.get(name)) == _typed_shown(field, typed)
        merged[name] = stored.get(name) if untouched else typed
    return merged


def _typed(form: forms.BaseForm) -> Values:
    return {name: form[name].data for name in form.fields}


def _shown(field: forms.Field, value: Any) -> Any:
    """A stored value as the widget would write it."""
    return _typed_shown(field, field.prepare_value(value))


def _typed_shown(field: forms.Field, value: Any) -> Any:
    if isinstance(field.widget, forms.CheckboxInput):
        return bool(value)
    text = field.widget.format_value(value)
    if isinstance(text, list):
        return sorted(str(part) for part in text if part not in (None, ""))
    return str(text if text is not None else "").replace("\r\n", "\n").strip()
