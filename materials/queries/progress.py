"""What budget, hours and builds pages read beyond the cost sheet; queries do not grow with rows."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import QuerySet, Sum

from ..calc.areas import AreaCost, AreaInput, area_costs
from ..calc.progress.hours import TaskPlan
from ..calc.types import ComponentInput
from ..choices import State
from ..fields import ExactSum
from ..models import (
    Build,
    BuildArea,
    Component,
    Conversion,
    LabourEntry,
    LeftOver,
    LineTotal,
    Purchase,
    Task,
)
from .reports import list_conversion_inputs, share
from .stock_sums import as_figures, sum_stock


def list_spend(build: Build) -> list[tuple[date, Fraction]]:
    """What is spent by day, in four queries; sums to the cost sheet's “spent”.

    Landed cost received + paid labour + extra cost of conversions − proceeds of sales.
    """
    return sorted(
        (day, sign * Fraction(amount))
        for rows, dated, what, sign in _spending(build)
        for day, amount in _by_day(rows, dated, what)
        if amount
    )


def sum_spend(build: Build, first: date | None, last: date) -> list[Fraction]:
    """The four sums of what is spent within some days, proceeds above 0; a query for each.

    ``first`` None: from the beginning.
    """
    return [
        rows.filter(**{f"{dated}__range": (first or date.min, last)})
        .order_by()
        .aggregate(sum=ExactSum(what))["sum"]
        or Fraction(0)
        for rows, dated, what, _ in _spending(build)
    ]


def _spending(build: Build) -> tuple[tuple[QuerySet[Any], str, str, int], ...]:
    """Rows of what is spent, with their day, their amount, and its sign."""
    return (
        (
            Purchase.objects.filter(build=build, state=State.RECEIVED),
            "bought_on",
            "landed_amount",
            1,
        ),
        (LabourEntry.objects.filter(build=build), "worked_on", "paid_amount", 1),
        (Conversion.objects.filter(build=build), "converted_on", "extra_cost_amount", 1),
        (LeftOver.objects.filter(component__build=build), "noted_on", "proceeds_amount", -1),
    )


def _by_day(rows: QuerySet[Any], dated: str, what: str) -> list[tuple[date, Decimal | None]]:
    return list(rows.order_by().values_list(dated).annotate(total=Sum(what)))


def list_task_plans(build: Build) -> list[TaskPlan]:
    """Where tasks belong and how far they are done."""
    rows = Task.objects.filter(build=build).values_list("pk", "element_id", "done_percent")
    return [TaskPlan(pk, element, share(done)) for pk, element, done in rows]


def list_area_costs(builds: Iterable[Build]) -> tuple[AreaCost, ...]:
    """Cost per floor area of the builds that have one, in ten queries however many there are."""
    named = {build.pk: build for build in builds}
    areas = list(
        BuildArea.objects.filter(build__in=named, label=BuildArea.FLOOR).values_list(
            "build_id", "area_qty", "area_unit"
        )
    )
    keys = [build for build, _, _ in areas]
    if not keys:
        return ()
    paid = dict(
        LabourEntry.objects.filter(build__in=keys)
        .order_by()
        .values_list("build_id")
        .annotate(total=Sum("paid_amount"))
    )
    order = {build: place for place, build in enumerate(named)}
    listed = [
        AreaInput(
            build,
            named[build].name,
            named[build].currency,
            Fraction(area),
            unit,
            Fraction(paid.get(build) or 0),
        )
        for build, area, unit in sorted(areas, key=lambda row: order[row[0]])
    ]
    return area_costs(listed, _components_of(keys), list_conversion_inputs(keys))


def _components_of(builds: list[int]) -> list[tuple[int, ComponentInput]]:
    """Components of several builds, with as much as their cost in the building asks for."""
    sums, unknown_transfers = sum_stock(builds)
    unknown: dict[int, int] = defaultdict(int)
    received = LineTotal.objects.filter(build__in=builds, state=State.RECEIVED)
    for component, usable, landed, lines in received.values_list(
        "component_id", "usable_qty", "landed_amount", "unknown_count"
    ):
        sums[component]["received"] += usable
        sums[component]["received_cost"] += landed
        unknown[component] += lines
    parts = Component.objects.filter(build__in=builds).order_by()
    return [
        (
            build,
            ComponentInput(
                pk,
                name,
                unknown_lines=unknown[pk],
                unknown_transfers=unknown_transfers.get(pk, 0),
                **as_figures(sums[pk]),
            ),
        )
        for pk, name, build in parts.values_list("pk", "name", "build_id")
    ]
