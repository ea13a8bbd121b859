"""The history of a build and of one record, and undoing."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from ..forms.filters import ChangeFilter
from ..models import Build
from ..queries.acts import LISTED, is_whole, parts_of, whole_of
from ..queries.history import list_differences
from ..queries.records import get_record, list_changes, list_record_changes
from ..services.errors import LedgerError
from ..services.import_undo import import_of
from ..services.records import not_undone, undo_change
from ..tables.history import ChangeTable
from .base import build_view, page, show_list
from .records import list_address


@build_view()
def history(request: HttpRequest, build: Build) -> HttpResponse:
    """Who changed what, newest first."""
    return show_list(
        request,
        build,
        table_class=ChangeTable,
        rows=list_changes(build),
        filter_class=ChangeFilter,
        section="history",
        title="History",
        intro="Who changed what and when, newest first. Open an entry to read or undo it.",
    )


@build_view()
def record_history(request: HttpRequest, build: Build, kind: str, pk: int) -> HttpResponse:
    """What became of one record, also of one that is deleted."""
    rows = list_record_changes(build, kind.replace("-", " "), pk)
    newest = rows.first()
    if newest is None and get_record(build, kind, pk) is None:
        raise Http404
    return show_list(
        request,
        build,
        table_class=ChangeTable,
        rows=rows,
        section="history",
        title=f"History of {newest.summary}" if newest else "History of this record",
        intro="Newest first. Open an entry to read or undo it."
        if newest
        else "It came with the start of the build or with an import. Nobody changed it since.",
    )


@build_view()
def change(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One entry of the history, from what to what."""
    entry = list_changes(build).get(pk=pk)
    return page(
        request,
        build,
        "change.html",
        section="history",
        change=entry,
        rows=list_differences(entry),
        whole=whole_of(entry),
        parts=parts_of(entry)[:LISTED] if is_whole(entry) else (),
        may_undo=not not_undone(entry)
        and (
            entry.before is not None
            or entry.after is not None
            or is_whole(entry)
            or import_of(entry) is not None
        ),
        not_undone=not_undone(entry),
    )


@require_POST
@build_view(edits=True)
def change_undo(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Undo one entry of the history."""
    entry = list_changes(build).get(pk=pk)
    try:
        said = undo_change(actor=request.user, build=build, change=entry)
    except LedgerError as error:
        messages.error(request, str(error))
        return redirect("change", build.pk, pk)
    messages.success(request, "Undone. The history shows this too.")
    for sentence in said:
        messages.info(request, sentence)
    if "saved" in request.POST:
        return redirect(list_address(entry.record_type.replace(" ", "-")), build.pk)
    return redirect("history", build.pk)
