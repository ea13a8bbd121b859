"""Tasks and hours."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..forms.filters import LabourFilter
from ..forms.labour import LabourForm, TaskForm
from ..models import Build, LabourEntry, Task
from ..queries.labour import list_labour, list_tasks, sum_labour
from ..services.builds import get_or_add_person
from ..services.labour import save_labour, save_task
from ..tables.labour import LabourTable, TaskTable
from ..templatetags.figures import hours, money_text
from .base import build_view, delete_url, edit, posted, show_list


@build_view()
def tasks(request: HttpRequest, build: Build) -> HttpResponse:
    """Tasks."""
    return show_list(
        request,
        build,
        table_class=TaskTable,
        rows=list_tasks(build),
        section="labour",
        title="Tasks",
        add_url=reverse("task_add", args=[build.pk]),
        add_label="Add a task",
    )


@build_view(edits=True)
def task_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Add or change a task."""
    task = list_tasks(build).get(pk=pk) if pk is not None else Task(build=build)
    form = TaskForm(posted(request), build=build, record=task)

    def save(valid: Any) -> None:
        save_task(actor=request.user, build=build, task=task, values=valid.values())

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change a task" if pk is not None else "Add a task",
        section="labour",
        back=reverse("tasks", args=[build.pk]),
        done="Saved.",
        delete_url=delete_url(build, "task", pk),
    )


@build_view()
def labour(request: HttpRequest, build: Build) -> HttpResponse:
    """Hours."""

    def totals(rows: Any) -> list[tuple[str, str]]:
        sums = sum_labour(rows)
        return [
            ("Hours of these entries", hours(sums["hours"] or 0)),
            ("Paid for them", money_text(sums["paid"] or 0, build.currency)),
        ]

    return show_list(
        request,
        build,
        table_class=LabourTable,
        rows=list_labour(build),
        filter_class=LabourFilter,
        totals=totals,
        section="labour",
        title="Hours",
        intro="Hours of conversions are kept with the conversions and count as preparing.",
        add_url=reverse("labour_add", args=[build.pk]),
        add_label="Log hours",
    )


@build_view(edits=True)
def labour_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change hours."""
    entry = list_labour(build).get(pk=pk) if pk is not None else LabourEntry(build=build)
    start = {} if pk is not None else {"worked_on": timezone.localdate()}
    form = LabourForm(posted(request), build=build, record=entry, initial=start)

    @transaction.atomic
    def save(valid: Any) -> None:
        values = valid.values()
        values["person"] = get_or_add_person(actor=request.user, build=build, name=values["person"])
        save_labour(actor=request.user, build=build, entry=entry, values=values)

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change hours" if pk is not None else "Log hours",
        section="labour",
        back=reverse("labour", args=[build.pk]),
        done="Saved.",
        delete_url=delete_url(build, "labour", pk),
    )
