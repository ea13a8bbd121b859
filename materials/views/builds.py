"""The builds, their details, elements, and the cost sheet with its figures explained."""

from collections.abc import Iterable, Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..calc.progress.hours import task_progress
from ..calc.trace.explain import FIGURES, Part, Trace, trace
from ..calc.trace.months import SPENT_IN, days_of, spent_within
from ..calc.trace.settling import is_of_settling
from ..choices import Role
from ..forms.builds import BuildForm, ElementForm
from ..models import Build, Element
from ..queries.builds import list_committed, list_elements, list_spent
from ..queries.kept import get_kept_sheet, keep, stamp_of
from ..queries.labour import get_timer
from ..queries.progress import list_area_costs, sum_spend
from ..queries.records import get_record
from ..services.builds import save_build, save_element
from ..tables.builds import ElementTable
from ..templatetags.figures import (
    UNKNOWN,
    hours,
    money_text,
    percent,
    plain,
    rate_text,
    stated_percent,
)
from . import pictures
from .base import build_view, may_edit, page, record_urls, show_list
from .came_from import came_from, read_trail, way_back
from .editing import edit, posted


def builds(request: HttpRequest) -> HttpResponse:
    """The user's builds."""
    seen, away = list(access.list_builds(request.user)), "away" in request.GET
    listed = [build for build in seen if (build.put_away_on is not None) == away]
    spent, committed = list_spent(listed), list_committed(listed)
    areas, roles = list_area_costs(listed), access.list_roles(request.user)
    area_of = {area.build.key: area for area in areas}
    rows = [
        {
            "build": build,
            "role": roles[build.pk].label if build.pk in roles else "Administrator",
            "is_owner": roles.get(build.pk, Role.OWNER) == Role.OWNER,
            "spent": spent[build.pk],
            "left": left_of(build, spent[build.pk] + committed.get(build.pk, 0)),
            "area": area_of.get(build.pk),
            "currency": build.currency,
        }
        for build in listed
    ]
    context = {
        "builds": rows,
        "areas": areas,
        "pictures": pictures.areas(areas),
        "away": away,
        "others": len(seen) - len(listed),
        "may_compare": len(seen) > 1,
    }
    return render(request, "builds/list.html", context)


def left_of(build: Build, gone: Decimal) -> Decimal | None:
    """What is left of a build's budget; None where it states none."""
    return None if build.budget_amount is None else build.budget_amount - gone


@build_view(edits=True)
def build_edit(request: HttpRequest, build: Build) -> HttpResponse:
    """Change a build's details."""
    form = BuildForm(posted(request), build=build, record=build)

    def save(valid: Any) -> None:
        save_build(
            actor=request.user,
            build=build,
            values=valid.values(),
            areas=valid.areas(),
            rates=valid.rates(),
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Build details",
        section="sheet",
        back=reverse("home", args=[build.pk]),
        done="Saved.",
    )


@build_view()
def cost_sheet(request: HttpRequest, build: Build) -> HttpResponse:
    """The cost sheet; its head and body are written once for each change of the build."""
    today, stamp, edits = timezone.localdate(), stamp_of(build), may_edit(request, build)

    def write() -> list[str]:
        context = _sheet_context(build, today, stamp) | {"may_edit": edits}
        return [
            render_to_string(f"builds/_sheet_{part}.html", context) for part in ("head", "body")
        ]

    # Text of templates, escaped there.
    head, body = keep(f"cost-sheet-{edits}", stamp, today, write)
    return page(
        request,
        build,
        "builds/cost_sheet.html",
        section="sheet",
        head=head,
        body=body,
        running=get_timer(build, request.user),
    )


def _sheet_context(build: Build, on: date, stamp: str) -> dict[str, Any]:
    """What the cost sheet shows: the same for everybody, and nothing of a request."""
    sheet = get_kept_sheet(build, on, stamp)
    figures = {}
    for name in FIGURES:
        traced = trace(sheet, name)
        url = reverse("figure", args=[build.pk, name])
        figures[name] = {"label": traced.label, "sentence": traced.sentence, "url": url}
    figures["forecast"] = {
        "label": "Forecast at completion",
        "sentence": "From what is still needed at the average paid so far, to all of it new.",
        "url": figures["forecast_low"]["url"],
    }
    return {
        "build": build,
        "sheet": sheet,
        "on": on,
        "figures": figures,
        "pictures": pictures.of_sheet(sheet),
        "tasks": task_progress(sheet, ()),
        "is_empty": not any(row.position.came_in for row in sheet.components),
    }


@build_view()
def figure(request: HttpRequest, build: Build, name: str) -> HttpResponse:
    """One figure explained."""
    days = days_of(name)
    if days is not None:
        traced: Trace | None = spent_within(*days, sum_spend(build, *days))
    else:
        traced = trace(get_kept_sheet(build, timezone.localdate()), name)
    if traced is None:
        raise Http404
    section = "settling" if is_of_settling(name) else "sheet"
    trail = read_trail(request) or ["settling_up" if is_of_settling(name) else "cost_sheet"]
    return page(
        request,
        build,
        "figure.html",
        section=section,
        title=traced.label,
        back=way_back(build, trail),
        sentence=traced.sentence,
        amount=amount_of(traced, build.currency),
        parts=part_rows(build, traced.parts, [*trail, name]),
        left_out=traced.left_out,
    )


def part_rows(build: Build, parts: Iterable[Part], trail: Sequence[str]) -> list[dict[str, Any]]:
    """What a figure is made of, written, each part with the address of what it sums.

    ``trail``: the way back that is to be found there.
    """
    return [
        {
            "sign": part.sign,
            "label": part.label,
            "text": written(part.amount, part.kind, build.currency),
            "url": part_url(build, part, trail),
        }
        for part in parts
    ]


def amount_of(traced: Trace, currency: str) -> str:
    """The figure itself as text."""
    return written(traced.amount, traced.kind, currency)


def written(value: Fraction | None, kind: str, currency: str) -> str:
    """A figure as its kind is written."""
    if value is None:
        return UNKNOWN
    if kind == "money":
        return money_text(value, currency)
    if kind == "rate":
        return rate_text(value, currency)
    if kind == "hours":
        return hours(value)
    if kind == "percent":
        return percent(value)
    if kind == "stated":
        return stated_percent(value)
    return f"{plain(value, 2, trim=True)} {kind.removeprefix('area:')}"


def part_url(build: Build, part: Part, trail: Sequence[str] = ()) -> str | None:
    """Address of the rows that a part sums, with the way back."""
    return None if part.link is None else came_from(_rows_of(build, part.link), trail)


def _rows_of(build: Build, link: str) -> str:
    name, _, rest = link.partition(":")
    if name.endswith("_in") and (days := days_of(f"{SPENT_IN}{rest}")):
        return _rows_within(build, name, *days)
    lists = {
        "lines_received": ("purchase_lines", "?state=received"),
        "lines_ordered": ("purchase_lines", "?state=ordered"),
        "conversions": ("conversions", ""),
        "left_on_hand": ("left_over", "?fate=on+hand"),
        "left_moved": ("left_over", "?fate=moved"),
        "moves_in": ("moves", "?way=in"),
        "moves_out": ("moves", "?way=out"),
        "left_sold": ("left_over", "?fate=sold"),
        "labour_paid": ("labour", "?paid=yes"),
        "labour_paid_extra": ("labour", "?paid=yes&kind=extra"),
        "paid_by": ("purchase_lines", f"?state=received&paid_by={rest}"),
        "labour_own_of": ("labour", f"?paid=no&person={rest}"),
        "handed_by": ("hand_overs", f"?giver={rest}"),
        "handed_to": ("hand_overs", f"?receiver={rest}"),
        "labour_own_extra": ("labour", "?paid=no&kind=extra"),
        "labour_extra": ("labour", "?kind=extra"),
        "labour_taskless": ("labour", "?task=null"),
        "labour": ("labour", f"?kind={rest}" if rest else "?paid=no"),
        "components_needed": ("cost_sheet", "#components-title"),
        "build": ("cost_sheet", ""),
    }
    if name in lists:
        address, query = lists[name]
        return reverse(address, args=[build.pk]) + query
    if name in ("component", "element"):
        return reverse(name, args=[build.pk, int(rest)])
    return reverse("figure", args=[build.pk, rest])


def _rows_within(build: Build, name: str, first: date | None, last: date) -> str:
    """Address of the rows of some days that a part of what was spent sums."""
    address, query = {
        "lines_in": ("purchase_lines", "state=received&"),
        "paid_labour_in": ("labour", "paid=yes&"),
        "conversions_in": ("conversions", ""),
        "sold_in": ("left_over", "fate=sold&"),
    }[name]
    since = f"since={first}&" if first else ""
    return f"{reverse(address, args=[build.pk])}?{query}{since}until={last}"


@build_view()
def elements(request: HttpRequest, build: Build) -> HttpResponse:
    """Elements with their budgets."""
    return show_list(
        request,
        build,
        table_class=ElementTable,
        rows=list_elements(build),
        section="elements",
        title="Elements and budget",
        intro="Coded after UNIFORMAT II. Add your own as needed.",
        add_url=reverse("element_add", args=[build.pk]),
        add_label="Add element",
    )


@build_view(edits=True)
def element_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change an element."""
    element = get_record(build, "element", pk) if pk is not None else Element(build=build)
    if element is None:
        raise Http404
    form = ElementForm(posted(request), build=build, record=element)

    def save(valid: Any) -> None:
        save_element(actor=request.user, build=build, element=element, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change element" if pk is not None else "Add element",
        section="elements",
        back=reverse("element", args=[build.pk, pk])
        if pk
        else reverse("elements", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "element", pk),
    )
