"""Reading tasks and hours."""

from decimal import Decimal

from django.contrib.auth.models import User
from django.db.models import OuterRef, QuerySet, Subquery, Sum

from ..models import Build, Change, LabourEntry, Task, Timer


def list_tasks(build: Build) -> QuerySet[Task]:
    """Tasks by name with the hours recorded on them."""
    hours = LabourEntry.objects.filter(task=OuterRef("pk")).order_by().values("task")
    return (
        Task.objects.filter(build=build)
        .select_related("element")
        .annotate(hours=Subquery(hours.annotate(total=Sum("hours")).values("total")))
    )


def list_task_names(build: Build) -> QuerySet[Task]:
    """Tasks by name, to choose from; without the hours, which take reading every entry."""
    return Task.objects.filter(build=build)


def list_labour(build: Build) -> QuerySet[LabourEntry]:
    """Hours, newest first."""
    return LabourEntry.objects.filter(build=build).select_related("person", "task")


def sum_labour(entries: QuerySet[LabourEntry]) -> dict[str, Decimal | None]:
    """Hours and what was paid."""
    return entries.order_by().aggregate(hours=Sum("hours"), paid=Sum("paid_amount"))


def get_timer(build: Build, user: User) -> Timer | None:
    """The user's running timer on a build."""
    return Timer.objects.filter(build=build, user=user).select_related("task").first()


def last_labour(build: Build, user: User) -> LabourEntry | None:
    """The entry this user logged last on this build, to begin the next one like it."""
    ids = Change.objects.filter(
        build=build, actor=user, record_type="labour", action="added"
    ).values_list("record_id", flat=True)[:5]
    found = LabourEntry.objects.select_related("person").in_bulk(list(ids))
    return next((found[pk] for pk in ids if pk in found), None)
