"""Deleting records, the history, and undoing."""

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import NoReverseMatch, reverse

from ..models import Build
from ..queries.records import UsedBy, get_record, list_used_by
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
    "way-to-make": ("ways", "stock"),
    "left-over": ("left_over", "stock"),
    "move": ("moves", "moves"),
    "task": ("tasks", "labour"),
    "labour": ("labour", "labour"),
    "hand-over": ("settling_up", "settling"),
    "lesson": ("lessons", "lessons"),
}


# What else is worth knowing before a record of a kind is deleted.
_REMARKS: dict[str, list[str]] = {}


# What records of a kind are called, where not by their kind.
_CALLED = {"left-over": "Leftovers", "labour": "Hours", "hand-over": "Payment", "move": "Transfer"}


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
    users = list_used_by(record)
    refused = bool(users)
    if users:
        lines = [f"“{record}” is still used. Change or delete these first."]
    if request.method == "POST":
        try:
            delete_record(actor=request.user, build=build, record=record)
        except LedgerError as error:
            lines, refused = [str(error)], True
            users = users or _about(build, error)
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
        refused=refused,
        users=[(_label(user), page_of(build, user.kind, user.key)) for user in users],
        cancel_url=page_of(build, kind, pk),
        status=422 if refused and request.method == "POST" else 200,
    )


def _about(build: Build, error: LedgerError) -> list[UsedBy]:
    """The component of which there would be too little: its page has all that uses it."""
    part = get_record(build, "component", error.about) if error.about is not None else None
    return [] if part is None else [UsedBy("component", part.pk, str(part))]


def _label(user: UsedBy) -> str:
    return f"{_CALLED.get(user.kind, user.kind.replace('-', ' ').capitalize())}: {user.name}"


def page_of(build: Build, kind: str, pk: int) -> str:
    """The page of a record, or the form that it is changed by where it has none."""
    name = kind.replace("-", "_")
    try:
        return reverse(name, args=[build.pk, pk])
    except NoReverseMatch:
        return reverse(f"{name}_edit", args=[build.pk, pk])
