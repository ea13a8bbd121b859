"""The budget, and how the hours went."""

from collections.abc import Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.progress.hours import element_hours, person_hours, sum_work, task_progress
from ..calc.progress.money import (
    ElementBudget,
    element_budgets,
    elements_to_spent,
    outlook,
    sum_budgets,
)
from ..calc.reports import CostSheet
from ..calc.trace import elements as element_totals
from ..calc.trace.explain import trace
from ..models import Build
from ..queries.progress import list_spend, list_task_plans
from ..queries.reports import get_cost_sheet
from ..templatetags.figures import percent
from . import pictures
from .base import build_view, page
from .builds import part_rows
from .came_from import came_from

BUDGET_FIGURES = (
    "budget",
    "contingency",
    "spent",
    "committed",
    "remaining",
    "forecast_low",
    "forecast_high",
    *element_totals.NAMES,
)
HOURS_FIGURES = (
    "hours",
    "own_hours",
    "preparing_hours",
    "extra_hours",
    "taskless_hours",
    "paid_labour",
    "savings",
    "saved_per_extra_hour",
)


@build_view()
def budget(request: HttpRequest, build: Build) -> HttpResponse:
    """The budget: of the whole and by element, and spend over time."""
    today = timezone.localdate()
    sheet = get_cost_sheet(build, today)
    rows = element_budgets(sheet)
    with_budget = [row for row in rows if row.budget is not None]
    return page(
        request,
        build,
        "builds/budget.html",
        section="budget",
        sheet=sheet,
        on=today,
        figures=figure_links(build, sheet, "budget", BUDGET_FIGURES),
        outlook=outlook(sheet),
        rows=[(row, pictures.budget_strip(row), used_text(row)) for row in with_budget],
        warned=[row for row in with_budget if row.at_high.over is not None],
        without=[row for row in rows if row.budget is None],
        sums=sum_budgets(with_budget, sheet),
        parts=part_rows(build, elements_to_spent(sheet), ["budget"]),
        spend=pictures.spend(list_spend(build), sheet.budget, build.currency),
    )


@build_view()
def hours_report(request: HttpRequest, build: Build) -> HttpResponse:
    """Hours against the plan, by kind and person, and what salvage took and saved."""
    today = timezone.localdate()
    sheet, plans = get_cost_sheet(build, today), list_task_plans(build)
    tasks = task_progress(sheet, plans)
    elements, apart = element_hours(sheet, plans)
    return page(
        request,
        build,
        "builds/hours_report.html",
        section="labour",
        sheet=sheet,
        on=today,
        figures=figure_links(build, sheet, "hours_report", HOURS_FIGURES),
        tasks=tasks,
        over=sorted((row for row in tasks if row.is_over), key=lambda row: -row.most_over),
        work=sum_work(tasks),
        persons=person_hours(sheet),
        elements=[row for row in elements if row.savings is not None or row.extra],
        installed=[row for row in elements if row.hours_per_unit is not None],
        not_counted=[row for row in elements if row.installing and row.hours_per_unit is None],
        above_new=[row for row in elements if row.cost_above_new is not None],
        apart=apart,
        picture=pictures.tasks(tasks),
    )


def used_text(row: ElementBudget) -> str:
    """Share of the budget used, in whole per cent."""
    return percent(row.used_percent)


def figure_links(
    build: Build, sheet: CostSheet, page_name: str, names: Sequence[str]
) -> dict[str, Any]:
    """Labels of figures with the addresses of what they are made of."""
    links = {}
    for name in names:
        traced = trace(sheet, name)
        assert traced is not None
        url = came_from(reverse("figure", args=[build.pk, name]), [page_name])
        links[name] = {"label": traced.label, "url": url}
    return links
