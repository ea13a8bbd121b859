"""What lasts: comparing ways to do one thing over years."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ...calc.trace.parts import in_percent
from ...forms.rows import rows_of
from ...models import Build, LifeAlternative, LifeChoice
from ...queries.components import get_component
from ...services.errors import LedgerError
from ...services.versions import Stale
from ...views import versions
from ...views.base import (
    build_view,
    page,
    record_urls,
    save_once,
    show_list,
    typed_head,
    with_rows,
)
from ..forms import LifeChoiceForm, LifeWayForm
from ..queries.comparisons import (
    MOST_ALTERNATIVES,
    alternatives_of,
    begin_with,
    get_life_choice,
    hour_rate,
    list_life_choices,
    terms_of,
)
from ..services.comparisons import TOO_FEW, save_life_choice
from ..tables import LifeChoiceTable
from ..words import answer, stated

PREFIX = "alternatives"
# Boxes that may stay empty, and of which something is said only because of what others hold.
_ASKED = {"inflation_percent", "first_amount", "life_years", "upkeep_every"}
Ways = rows_of(LifeWayForm)


@build_view()
def life_choices(request: HttpRequest, build: Build) -> HttpResponse:
    """Kept comparisons."""
    return show_list(
        request,
        build,
        table_class=LifeChoiceTable,
        rows=list_life_choices(build),
        section="lifecycle",
        title="What lasts",
        intro="Ways to do one thing, compared over the years they last: first cost, upkeep,"
        " replacing, and what is left. Begin one here or on a component’s page.",
        links=[("Indexes of prices", reverse("cost_indexes", args=[build.pk]))],
        add_url=reverse("life_choice_add", args=[build.pk]),
        add_label="Compare what lasts",
    )


@build_view()
def life_choice(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """What a comparison comes to, with all its parts."""
    choice = get_life_choice(build, pk)
    rows = list(choice.alternatives.all())[:MOST_ALTERNATIVES]
    shown = _answer(build, choice, rows, request.GET.get("hours") == "1")
    for row, way in zip(shown["rows"], rows, strict=True):
        row |= {"stated": stated(row["one"], build.currency), "basis": way.basis}
    return page(
        request,
        build,
        "lifecycle/choice.html",
        section="lifecycle",
        title=choice.name,
        choice=choice,
        hours_rate=hour_rate(choice, build),
        real_percent=in_percent(shown["terms"].rate),
        edit_url=reverse("life_choice_edit", args=[build.pk, pk]),
        **shown,
        **record_urls(build, "life-choice", pk),
    )


def _answer(
    build: Build, choice: LifeChoice, rows: list[LifeAlternative], with_hours: bool
) -> dict[str, Any]:
    return answer(terms_of(choice, build), alternatives_of(rows), build.currency, with_hours)


@build_view(edits=True)
def life_choice_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Begin or change a comparison; shows what it comes to before it is saved."""
    record = get_life_choice(build, pk) if pk is not None else LifeChoice(build=build)
    asked = request.method == "POST" and "add_row" in request.POST
    data = request.POST if request.method == "POST" and not asked else None
    head, ways = _begun(request, build) if pk is None else ({}, [])
    form = LifeChoiceForm(
        data,
        build=build,
        record=record,
        initial=typed_head(LifeChoiceForm, request) if asked else head,
    )
    stored = record.alternatives.all() if pk is not None else ()
    rows = with_rows(Ways, request, build, PREFIX, stored)
    if request.method != "POST":
        rows = _fresh_rows(build, rows, ways, len(stored))
    is_valid = data is not None and all([form.is_valid(), rows.is_valid()])
    if data is not None and request.headers.get("HX-Request"):
        shown = _look(build, form, rows) if is_valid else {}
        shown["faults"] = [] if is_valid else _worth_saying(request, form, rows)
        return page(
            request, build, "lifecycle/answer.html", section="lifecycle", form=form, **shown
        )
    shown, stale = {}, None
    looks = is_valid and "look" in request.POST
    if looks:
        shown = _look(build, form, rows)
    elif is_valid:

        def write() -> tuple[str, str]:
            with versions.guard(request, build, record):
                saved = save_life_choice(
                    actor=request.user,
                    build=build,
                    choice=record,
                    values=form.values(),
                    alternatives=rows.rows(),
                )
            return reverse("life_choice", args=[build.pk, saved.pk]), "The comparison is saved."

        try:
            return save_once(request, write)
        except Stale as error:
            stale, form = error, versions.shown_anew(form, error)
            rows = versions.rows_anew(rows, error)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    return page(
        request,
        build,
        "lifecycle/edit.html",
        section="lifecycle",
        title="Change a comparison" if pk is not None else "Compare what lasts",
        form=form,
        formsets=[
            {
                "heading": "The ways to do it",
                "help": f"Two to {MOST_ALTERNATIVES}. Leave empty what is not known and write 0"
                " for none: the two are not the same. Lives and upkeep are yours to state.",
                "formset": rows,
            }
        ],
        cancel_url=_back(build, pk),
        **record_urls(build, "life-choice", pk),
        preview_template="lifecycle/_preview.html",
        version=versions.version(request, record, stale),
        meanwhile=versions.meanwhile(stale) if stale else None,
        status=409 if stale else 422 if data is not None and not looks else 200,
        **shown,
    )


def _back(build: Build, pk: int | None) -> str:
    if pk is None:
        return reverse("life_choices", args=[build.pk])
    return reverse("life_choice", args=[build.pk, pk])


def _fresh_rows(build: Build, rows: Any, ways: list[dict[str, Any]], stored: int) -> Any:
    """Rows of a form that is only opened: two empty ones to begin with, one more where it fits."""
    if ways:
        rows = Ways(build=build, prefix=PREFIX, initial=ways)
    filled = stored or len(ways)
    rows.extra = max(0, 2 - filled) or int(filled < MOST_ALTERNATIVES)
    return rows


def _begun(request: HttpRequest, build: Build) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What a new comparison begins with, from the component that the address names."""
    today = timezone.localdate()
    head: dict[str, Any] = {"noted_on": today}
    number = request.GET.get("component", "")
    if request.method == "POST" or not number:
        return head, []
    part = get_component(build, int(number)) if number.isdecimal() and len(number) < 18 else None
    if part is None:
        raise Http404
    begun = begin_with(build, part, today)
    head |= {"name": begun.name[:120], "component": part.pk, "quantity_text": begun.quantity_text}
    return head, begun.alternatives


def _look(build: Build, form: Any, rows: Any) -> dict[str, Any]:
    """What the typed comparison comes to; nothing is saved."""
    typed = rows.rows()
    if len(typed) < 2:
        return {"told": TOO_FEW}
    values = form.values()
    choice = LifeChoice(build=build, **values)
    ways = [LifeAlternative(**{k: v for k, v in row.items() if k != "pk"}) for row in typed]
    return _answer(build, choice, ways[:MOST_ALTERNATIVES], False)


def _worth_saying(request: HttpRequest, form: Any, rows: Any) -> list[str]:
    """Faults of fields in which something was typed; an empty one is not a fault yet."""
    return [
        str(error)
        for each in (form, *rows.forms)
        for name, errors in each.errors.items()
        if name in _ASKED or (name in each.fields and request.POST.get(each.add_prefix(name)))
        for error in errors
    ]
