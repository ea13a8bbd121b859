"""What all pages of a build share."""

import hashlib
import json
import re
from collections.abc import Callable
from functools import wraps
from typing import Any

from django.contrib import messages
from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from .. import access
from ..forms.base import RecordForm
from ..models import Build
from ..services.errors import LedgerError
from ..services.once import Recorded, record_once
from ..services.versions import Stale
from ..tables.paging import PageReader
from ..templatetags.once import NAME as TOKEN
from . import versions

PER_PAGE = 50
View = Callable[..., HttpResponse]
_TOKEN_FORM = re.compile(r"[A-Za-z0-9_-]{16,64}")


def build_view(*, edits: bool = False, owns: bool = False) -> Callable[[View], View]:
    """Hand a view the build its address names, if the user may see (or edit, or owns) it.

    Anybody else's build and a record that is not there are both a 404.
    """

    def decorate(view: View) -> View:
        @wraps(view)
        def wrapped(request: HttpRequest, build_id: int, **kwargs: Any) -> HttpResponse:
            try:
                build = access.get_build(request.user, build_id)
                if edits:
                    access.require_editor(request.user, build)
                if owns:
                    access.require_owner(request.user, build)
                return view(request, build, **kwargs)
            except (access.NotFound, ObjectDoesNotExist, Http404):
                answer = versions.gone(request, build_id, kwargs)
                if answer is None:
                    raise Http404 from None
                return answer
            except access.NotAllowed as error:
                raise PermissionDenied(str(error)) from None

        wrapped.edits = edits  # read by the role test
        return wrapped

    return decorate


def page(
    request: HttpRequest,
    build: Build,
    template: str,
    *,
    section: str,
    status: int = 200,
    **context: Any,
) -> HttpResponse:
    """Render a page of a build."""
    context.update(build=build, section=section, may_edit=access.may_edit(request.user, build))
    return render(request, template, context, status=status)


def show_list(
    request: HttpRequest,
    build: Build,
    *,
    table_class: Any,
    rows: Any,
    section: str,
    title: str,
    filter_class: Any = None,
    totals: Callable[[Any, Any], list[tuple[str, str]]] | None = None,
    **context: Any,
) -> HttpResponse:
    """A filtered, sorted, paginated list; ``totals`` is given the rows and their filter."""
    filtered = None
    if filter_class is not None:
        filtered = filter_class(request.GET, queryset=rows, build=build)
        rows = filtered.qs
    table = table_class(rows, build=build, order_by=request.GET.getlist("sort"))
    number = request.GET.get("page", "")
    wanted = int(number) if number.isdecimal() and len(number) < 9 else 1
    known = filtered.known_count() if filtered is not None else None
    counts = filtered.known_counts if filtered is not None else None
    table.paginate(PageReader, per_page=PER_PAGE, page=wanted, known=known, counts=counts)
    return page(
        request,
        build,
        "page_list.html",
        section=section,
        title=title,
        table=table,
        filter=filtered,
        totals=totals(rows, filtered) if totals else [],
        **context,
    )


def save_once(request: HttpRequest, write: Callable[[], tuple[str, str]]) -> HttpResponse:
    """Record what a form says, say so, and lead to it.

    ``write`` records it and returns the address to go to and the sentence to say. A form that
    arrives a second time (a double tap, a page sent again) leads where the first one led and
    records nothing; one without a token, from an older page, is recorded each time.
    Raises LedgerError as ``write`` does.
    """
    said = ""

    def written() -> str:
        nonlocal said
        address, said = write()
        return address

    token = request.POST.get(TOKEN, "")
    if _TOKEN_FORM.fullmatch(token):
        done = record_once(
            actor=request.user, token=token, content=_content(request), write=written
        )
    else:
        done = Recorded(written())
    if done.is_repeat:
        messages.info(request, "This was already saved: it is recorded once.")
    elif said:
        messages.success(request, said)
    return redirect(done.address)


def _content(request: HttpRequest) -> str:
    """A digest of what was sent and whereto; the marks of the page itself do not count."""
    typed = sorted(
        (name, values)
        for name, values in request.POST.lists()
        if name not in (TOKEN, "csrfmiddlewaretoken")
    )
    files = [
        (name, [(file.name, file.size) for file in request.FILES.getlist(name)])
        for name in sorted(request.FILES)
    ]
    told = json.dumps([request.get_full_path(), typed, files])
    return hashlib.sha256(told.encode()).hexdigest()


def edit(
    request: HttpRequest,
    build: Build,
    *,
    form: RecordForm,
    save: Callable[[RecordForm], str | None],
    title: str,
    section: str,
    back: str,
    done: str,
    template: str = "page_form.html",
    **context: Any,
) -> HttpResponse:
    """Show a form, or save it and go back. What was typed stays on a fault.

    ``save`` may return a sentence to say instead of ``done``.
    """
    record, stale = getattr(form, "record", None), None
    if request.method == "POST" and form.is_valid():

        def write() -> tuple[str, str]:
            with versions.guard(request, build, record):
                return back, save(form) or done

        try:
            return save_once(request, write)
        except Stale as error:
            if versions.is_saved_already(form, error):
                messages.success(request, done)
                return redirect(back)
            stale, form = error, versions.shown_anew(form, error)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    return page(
        request,
        build,
        template,
        section=section,
        title=title,
        form=form,
        cancel_url=back,
        version=versions.version(request, record, stale),
        meanwhile=versions.meanwhile(stale) if stale else None,
        status=409 if stale else 422 if form.is_bound else 200,
        **context,
    )


def posted(request: HttpRequest) -> Any:
    """What was posted, even when it is nothing; None when the page is only asked for."""
    return request.POST if request.method == "POST" else None


def typed_head(form_class: type[RecordForm], request: HttpRequest) -> dict[str, Any]:
    """What was posted into a form, unread, to be shown again with one more row below it."""
    return {name: request.POST.get(name, "") for name in form_class.base_fields}


def with_rows(
    rows_class: Any, request: HttpRequest, build: Build, prefix: str, records: Any
) -> Any:
    """Rows under a form: stored, posted, or (asked for another line) as typed and one more."""
    if request.method != "POST":
        return rows_class(build=build, records=records, prefix=prefix)
    if "add_row" not in request.POST:
        return rows_class(request.POST, build=build, records=records, prefix=prefix)
    typed = rows_class(build=build, prefix=prefix).typed(request.POST)
    rows = rows_class(build=build, prefix=prefix, initial=typed)
    rows.extra = 1 if request.POST["add_row"] == prefix else 0
    return rows


def record_urls(build: Build, kind: str, pk: int | None) -> dict[str, str]:
    """Addresses of a record's history and of the page that deletes it; none for a new one."""
    if pk is None:
        return {}
    return {
        "history_url": reverse("record_history", args=[build.pk, kind, pk]),
        "delete_url": reverse("record_delete", args=[build.pk, kind, pk]),
    }
