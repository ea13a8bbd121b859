"""What the budget and hours pages read beyond the cost sheet, in a fixed number of queries."""

from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.db.models import QuerySet, Sum

from ..calc.progress import TaskPlan
from ..choices import State
from ..models import Build, Conversion, LabourEntry, LeftOver, Purchase, Task
from .reports import share


def list_spend(build: Build) -> list[tuple[date, Fraction]]:
    """What is spent by day, in four queries; sums to the cost sheet's “spent”.

    Landed cost received + paid labour + extra cost of conversions − proceeds of sales.
    """
    parts = (
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
    return sorted(
        (day, sign * Fraction(amount))
        for rows, dated, what, sign in parts
        for day, amount in _by_day(rows, dated, what)
        if amount
    )


def _by_day(rows: QuerySet, dated: str, what: str) -> QuerySet[tuple[date, Decimal | None]]:
    return rows.order_by().values_list(dated).annotate(total=Sum(what))


def list_task_plans(build: Build) -> list[TaskPlan]:
    """Where tasks belong and how far they are done."""
    rows = Task.objects.filter(build=build).values_list("pk", "element_id", "done_percent")
    return [TaskPlan(pk, element, share(done)) for pk, element, done in rows]
