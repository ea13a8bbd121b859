"""One box that finds a record by a few words."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.urls import reverse

from .. import access
from ..models import Build
from ..queries.search import Found, Group, find
from .base import build_view, page

LONGEST = 100


@build_view()
def search(request: HttpRequest, build: Build) -> HttpResponse:
    """What was found, in this build first."""
    return page(request, build, "search.html", section="search", **_answer(request, build.pk))


def search_builds(request: HttpRequest) -> HttpResponse:
    """The same, from where no build is open."""
    return render(request, "search.html", _answer(request, None))


def _answer(request: HttpRequest, first: int | None) -> dict[str, Any]:
    text = " ".join(request.GET.get("q", "").split())[:LONGEST]
    answer = find(access.list_builds(request.user), text, first)
    groups = [
        {
            "label": group.kind.label,
            "rows": [(row, _address(group, row)) for row in group.rows],
            "has_more": group.has_more,
        }
        for group in answer.groups
    ]
    return {"asked": text, "groups": groups, "is_guess": answer.is_guess, "here": first}


def _address(group: Group, row: Found) -> str:
    """The page of what was found."""
    kind = group.kind.name
    names = {
        "component": "component", "supplier": "supplier", "purchase": "purchase",
        "task": "task", "person": "person", "labour": "labour_edit",
        "conversion": "conversion_edit", "left-over": "left_over_edit",
        "lesson": "lesson",
    }  # fmt: skip
    return reverse(names[kind], args=[row.build, row.key])
