"""What all pages of a build share."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import ObjectDoesNotExist, PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from .. import access
from ..models import Build
from ..queries.records import number_of
from ..tables.paging import PageReader
from . import versions
from .came_from import read_trail, way_back
from .saved import read_saved

PER_PAGE = 50
View = Callable[..., HttpResponse]


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
                    request.may_edit = True  # type: ignore[attr-defined]
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


def may_edit(request: HttpRequest, build: Build) -> bool:
    """Whether the user may edit the page's build; asked once a request."""
    known: bool | None = getattr(request, "may_edit", None)
    if known is None:
        known = request.may_edit = access.may_edit(request.user, build)  # type: ignore[attr-defined]
    return known


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
    context.update(build=build, section=section, may_edit=may_edit(request, build))
    context.setdefault("back", way_back(build, read_trail(request)))
    context["saved"] = read_saved(request, build)
    answer = render(request, template, context, status=status)
    # A device keeps a page for one account only, and this says for which.
    answer["Kept-For"] = str(request.user.pk)
    return answer


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
    template: str = "page_list.html",
    **context: Any,
) -> HttpResponse:
    """A filtered, sorted, paginated list; ``totals`` is given the rows and their filter."""
    filtered = None
    if filter_class is not None:
        filtered = filter_class(request.GET, queryset=rows, build=build)
        rows = filtered.qs
    table = table_class(rows, build=build, order_by=request.GET.getlist("sort"))
    wanted = number_of(request.GET.get("page")) or 1
    known = filtered.known_count() if filtered is not None else None
    counts = filtered.known_counts if filtered is not None else None
    table.paginate(PageReader, per_page=PER_PAGE, page=wanted, known=known, counts=counts)
    return page(
        request,
        build,
        template,
        section=section,
        title=title,
        table=table,
        filter=filtered,
        totals=totals(rows, filtered) if totals else [],
        **context,
    )


def count_link(request: HttpRequest, build: Build) -> list[tuple[str, str]]:
    """The way to the count of stock, for those who may count."""
    if not may_edit(request, build):
        return []
    return [("Count stock", reverse("stock_take", args=[build.pk]))]


def record_urls(build: Build, kind: str, pk: int | None) -> dict[str, str]:
    """Addresses of a record's history and of the page that deletes it; none for a new one."""
    if pk is None:
        return {}
    return {
        "history_url": reverse("record_history", args=[build.pk, kind, pk]),
        "delete_url": reverse("record_delete", args=[build.pk, kind, pk]),
    }
