"""Lifetime cost: comparing ways to do one thing over years."""

from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ...calc.trace.parts import in_percent
from ...forms.rows import rows_of
from ...models import Build, LifeAlternative, LifeChoice
from ...queries.components import get_component
from ...queries.lessons import lessons_touching
from ...queries.records import get_record
from ...views.base import build_view, number_of, page, record_urls, show_list
from ...views.editing import edit, form_over, with_rows
from ...views.lessons import beside
from ..forms import LifeAlternativeForm, LifeChoiceForm
from ..queries.comparisons import (
    MOST_ALTERNATIVES,
    alternatives_of,
    get_life_choice,
    hour_rate,
    list_life_choices,
    start_values,
    terms_of,
)
from ..services.comparisons import TOO_FEW, save_life_choice
from ..tables import LifeChoiceTable
from ..words import answer, stated

PREFIX = "alternatives"
# What an address asks of own hours; else they count where they change the choice.
_COUNTED = {"0": False, "1": True}
Ways = rows_of(LifeAlternativeForm)


@build_view()
def life_choices(request: HttpRequest, build: Build) -> HttpResponse:
    """Kept comparisons."""
    return show_list(
        request,
        build,
        table_class=LifeChoiceTable,
        rows=list_life_choices(build),
        section="lifecycle",
        title="Lifetime cost",
        intro=(
            "Compare ways to do one thing over the years: first cost, upkeep, replacing, and "
            "what is left. Start here or on a component’s page."
        ),
        links=[("Price indexes", reverse("cost_indexes", args=[build.pk]))],
        add_url=reverse("life_choice_add", args=[build.pk]),
        add_label="Compare lifetime cost",
    )


@build_view()
def life_choice(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """What a comparison comes to, with all its parts."""
    choice = get_life_choice(build, pk)
    rows = list(choice.alternatives.all())[:MOST_ALTERNATIVES]
    shown = _answer(build, choice, rows, _COUNTED.get(request.GET.get("hours", "")))
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
        lessons=_lessons(request, build, choice),
        edit_url=reverse("life_choice_edit", args=[build.pk, pk]),
        **shown,
        **record_urls(build, "life-choice", pk),
    )


def _lessons(request: HttpRequest, build: Build, choice: LifeChoice) -> dict[str, Any]:
    """What was learned of the component that is compared, but for the comparison's own lesson."""
    names = [choice.component.name] if choice.component else []
    return beside(lessons_touching(request.user, build, component=names, without=choice.lesson))


def _answer(
    build: Build, choice: LifeChoice, rows: list[LifeAlternative], with_hours: bool | None
) -> dict[str, Any]:
    return answer(terms_of(choice, build), alternatives_of(rows), build.currency, with_hours)


@build_view(edits=True)
def life_choice_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Begin or change a comparison; shows what it comes to before it is saved."""
    record = get_life_choice(build, pk) if pk is not None else LifeChoice(build=build)
    head, ways = _start(request, build) if pk is None else ({}, [])
    form = form_over(LifeChoiceForm, request, build, record, head)
    stored = record.alternatives.all() if pk is not None else ()
    rows = with_rows(Ways, request, build, PREFIX, stored)
    if request.method != "POST":
        rows = _fresh_rows(build, rows, ways, len(stored))

    def save(valid: Any) -> tuple[str, str]:
        saved = save_life_choice(
            actor=request.user,
            build=build,
            choice=record,
            values=valid.values(),
            alternatives=rows.rows(),
        )
        return reverse("life_choice", args=[build.pk, saved.pk]), "The comparison is saved."

    return edit(
        request,
        build,
        form=form,
        formsets=[
            {
                "heading": "Ways to do it",
                "help": (
                    f"Two to {MOST_ALTERNATIVES}. Leave empty what is not known, and enter 0 "
                    "for none. You state the lives and the upkeep."
                ),
                "formset": rows,
            }
        ],
        look=lambda: _preview(build, form, rows),
        answer="lifecycle/answer.html",
        save=save,
        template="lifecycle/edit.html",
        section="lifecycle",
        title="Change comparison" if pk is not None else "Compare lifetime cost",
        back=_back(build, pk),
        **record_urls(build, "life-choice", pk),
        preview_template="lifecycle/_preview.html",
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


def _start(request: HttpRequest, build: Build) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """What a new comparison begins with, from the component that the address names."""
    today = timezone.localdate()
    head: dict[str, Any] = {"noted_on": today}
    lesson = number_of(request.GET.get("lesson"))
    if lesson is not None and get_record(build, "lesson", lesson) is not None:
        head["lesson"] = lesson
    named = request.GET.get("component")
    if request.method == "POST" or not named:
        return head, []
    number = number_of(named)
    part = get_component(build, number) if number is not None else None
    if part is None:
        raise Http404
    start = start_values(build, part, today)
    head |= {"name": start.name[:120], "component": part.pk, "quantity_text": start.quantity_text}
    return head, start.alternatives


def _preview(build: Build, form: Any, rows: Any) -> dict[str, Any]:
    """What the typed comparison comes to; nothing is saved."""
    typed = rows.rows()
    if len(typed) < 2:
        return {"message": TOO_FEW}
    values = form.values()
    choice = LifeChoice(build=build, **values)
    ways = [LifeAlternative(**{k: v for k, v in row.items() if k != "pk"}) for row in typed]
    return _answer(build, choice, ways[:MOST_ALTERNATIVES], None)
