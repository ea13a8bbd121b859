"""Telling the second of two people at one form what the first one changed, and losing nothing."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from .. import access
from ..forms.base import RecordForm
from ..forms.merging import is_as_stored, merge_form, merge_rows
from ..models import Build
from ..queries.history import list_between
from ..queries.records import find_deletion
from ..services.versions import Stale, locked, version_of

FIELD = "version"
# What a form sends besides what was typed.
_NOT_TYPED = ("csrfmiddlewaretoken", FIELD, "add_row", "look")


@contextmanager
def guard(request: HttpRequest, build: Build, record: Any) -> Iterator[None]:
    """Hold a record while it is saved. Raises Stale when it is not as the form showed it."""
    if record is None:
        yield
        return
    with locked(build=build, record=record, version=request.POST.get(FIELD, "")):
        yield


def version(request: HttpRequest, record: Any, stale: Stale | None = None) -> str:
    """What the form carries: the version it was opened with, or the one it was shown anew."""
    if record is None or record.pk is None:
        return ""
    if stale is not None:
        return version_of(stale.record)
    return request.POST.get(FIELD) or version_of(record)


def meanwhile(stale: Stale) -> dict[str, Any]:
    """What templates/parts/meanwhile.html shows."""
    return {
        "change": stale.change,
        "rows": list_between(stale.before, stale.now) if stale.before else [],
    }


def merged_form(form: RecordForm, stale: Stale) -> RecordForm:
    """The form with what was typed, and in all other fields what is stored now."""
    merged = merge_form(form, stale.base, stale.record)
    return type(form)(build=form.build, record=stale.record, initial=merged)


def merged_rows(rows: Any, stale: Stale) -> Any:
    """The rows under a form, put together in the same way."""
    now = getattr(stale.record, rows.prefix).all()
    base = getattr(stale.base, rows.prefix).all() if stale.base is not None else now
    made = type(rows)(
        build=rows.build, prefix=rows.prefix, initial=merge_rows(rows, list(base), list(now))
    )
    made.extra = 0
    return made


def is_saved_already(form: RecordForm, stale: Stale) -> bool:
    """Whether what was typed is what is stored: the same form was sent twice."""
    return is_as_stored(form, form.initial_from(stale.record))


def gone(request: HttpRequest, build_id: int, kwargs: dict[str, Any]) -> HttpResponse | None:
    """The page for a form that was sent after its record was deleted; None when it was not."""
    if request.method != "POST" or FIELD not in request.POST or "pk" not in kwargs:
        return None
    try:
        build = access.get_build(request.user, build_id)
    except access.NotFound:
        return None
    kind = kind_at(request.resolver_match.url_name or "")
    change = find_deletion(build, kind, kwargs["pk"])
    if change is None:
        return None
    context = {
        "build": build,
        "may_edit": access.may_edit(request.user, build),
        "change": change,
        "typed": _typed(request),
    }
    return render(request, "gone.html", context, status=404)


def kind_at(url_name: str) -> str:
    """The kind of record, as the history calls it, that the form at an address changes."""
    kind = url_name.removesuffix("_edit").replace("_", " ")
    return {"hand over": "hand-over", "share": "share link"}.get(kind, kind)


def _typed(request: HttpRequest) -> Sequence[tuple[str, str]]:
    """What was typed, by the name of its field in words."""
    return [
        (name.replace("_", " ").replace("-", " ").capitalize(), ", ".join(values))
        for name, values in request.POST.lists()
        if name not in _NOT_TYPED and not name.endswith("_FORMS") and any(values)
    ]
