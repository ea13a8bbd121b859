"""Reading tasks and hours."""

from decimal import Decimal

from django.db.models import OuterRef, QuerySet, Subquery, Sum

from ..models import Build, LabourEntry, Task


def list_tasks(build: Build) -> QuerySet[Task]:
    """Tasks by name with the hours recorded on them."""
    hours = LabourEntry.objects.filter(task=OuterRef("pk")).order_by().values("task")
    return (
        Task.objects.filter(build=build)
        .select_related("element")
        .annotate(hours=Subquery(hours.annotate(total=Sum("hours")).values("total")))
    )


def list_labour(build: Build) -> QuerySet[LabourEntry]:
    """Hours, newest first."""
    return LabourEntry.objects.filter(build=build).select_related("person", "task")


def sum_labour(entries: QuerySet[LabourEntry]) -> dict[str, Decimal | None]:
    """Hours and what was paid."""
    return entries.order_by().aggregate(hours=Sum("hours"), paid=Sum("paid_amount"))
