"""Deleting records, the history, and undoing."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse

from ..models import Build
from ..queries.records import get_record
from ..services.errors import LedgerError
from ..services.records import delete_record
from .base import build_view, page

# Type in addresses -> (address of its list, section of the index); tools add theirs.
_LISTS = {
    "element": ("elements", "elements"),
    "component": ("components", "components"),
    "price": ("prices", "prices"),
    "supplier": ("suppliers", "suppliers"),
    "purchase": ("purchases", "purchases"),
    "conversion": ("conversions", "stock"),
    "left-over": ("left_over", "stock"),
    "move": ("moves", "moves"),
    "task": ("tasks", "labour"),
    "labour": ("labour", "labour"),
    "hand-over": ("settling_up", "settling"),
}


# What else is worth knowing before a record of a kind is deleted.
_REMARKS: dict[str, list[str]] = {}


def add_list(kind: str, address: str, section: str, remark: str = "") -> None:
    """Say where one comes to after deleting a tool's record of a kind, and what else to tell."""
    _LISTS[kind] = (address, section)
    if remark:
        _REMARKS[kind] = [remark]


def list_address(kind: str) -> str:
    """Name of the address of the list of a kind; the history for what has none."""
    return _LISTS.get(kind, ("history", ""))[0]


@build_view(edits=True)
def record_delete(request: HttpRequest, build: Build, kind: str, pk: int) -> HttpResponse:
    """Ask, then delete a record."""
    record = get_record(build, kind, pk)
    if record is None:
        raise Http404
    address, section = _LISTS[kind]
    lines = [f"“{record}” will be deleted. It stays in the history and can be brought back."]
    lines += _REMARKS.get(kind, [])
    refused = False
    if request.method == "POST":
        try:
            delete_record(actor=request.user, build=build, record=record)
        except LedgerError as error:
            lines, refused = [str(error)], True
        else:
            messages.success(request, "Deleted. It can be brought back from the history.")
            return redirect(address, build.pk)
    return page(
        request,
        build,
        "page_confirm.html",
        section=section,
        title="Delete this?" if not refused else "This cannot be deleted yet",
        message=lines,
        cancel_url=reverse(address, args=[build.pk]),
        status=422 if refused else 200,
    )
