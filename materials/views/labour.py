"""Tasks and hours."""

from datetime import datetime
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from ..forms.filters import LabourFilter
from ..forms.labour import LabourForm, TaskForm, TimerForm
from ..models import Build, LabourEntry, Task
from ..queries.labour import get_timer, last_labour, list_labour, list_tasks, sum_labour
from ..queries.members import own_person_name
from ..services.builds import get_or_add_person
from ..services.errors import LedgerError
from ..services.labour import save_labour, save_task, start_timer, stop_timer
from ..tables.labour import LabourTable, TaskTable
from ..templatetags.figures import hours, money_text
from .base import build_view, delete_url, edit, page, posted, show_list

# Logged at one touch, with what else the form says.
QUICK_HOURS = [("0.5", "½ h"), ("1", "1 h"), ("2", "2 h"), ("4", "4 h"), ("8", "8 h")]


def _start(request: HttpRequest, build: Build) -> dict[str, Any]:
    """Today, and the person and kind of the user's last entry.

    Not its task: one that was meant for other hours would be hard to find again.
    """
    start: dict[str, Any] = {"worked_on": timezone.localdate()}
    last = last_labour(build, request.user)
    if last is not None:
        start |= {"person": last.person.name, "kind": last.kind}
    else:
        start["person"] = own_person_name(build, request.user)
    return start


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
        links=[("Time your work", reverse("timer", args=[build.pk]))],
    )


@build_view(edits=True)
def labour_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change hours."""
    entry = list_labour(build).get(pk=pk) if pk is not None else LabourEntry(build=build)
    start = {} if pk is not None else _start(request, build)
    data = posted(request)
    if data is not None and "quick_hours" in data:
        data = data.copy()
        data["hours"] = data["quick_hours"]
    form = LabourForm(data, build=build, record=entry, initial=start)

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
        quick_hours=[] if pk is not None else QUICK_HOURS,
        section="labour",
        back=reverse("labour", args=[build.pk]),
        done="Saved.",
        delete_url=delete_url(build, "labour", pk),
    )


@build_view(edits=True)
def timer(request: HttpRequest, build: Build) -> HttpResponse:
    """Start and stop timing; what runs is kept on the server, so a closed tab loses nothing."""
    running = get_timer(build, request.user)
    now = timezone.now()
    form = TimerForm(request.POST or None, build=build)
    if request.method == "POST" and "stop" in request.POST:
        return _stop(request, build, now)
    if request.method == "POST" and form.is_valid():
        try:
            start_timer(actor=request.user, build=build, at=now, **form.values())
        except LedgerError as error:
            messages.error(request, str(error))
        return redirect("timer", build.pk)
    return page(
        request,
        build,
        "hours/timer.html",
        section="labour",
        form=form,
        running=running,
        cancel_url=reverse("labour", args=[build.pk]),
    )


@transaction.atomic
def _stop(request: HttpRequest, build: Build, now: datetime) -> HttpResponse:
    """Log the hours to whom this user logs hours for, and let them be corrected."""
    if get_timer(build, request.user) is None:
        messages.info(request, "Nothing is running.")
        return redirect("timer", build.pk)
    last = last_labour(build, request.user)
    own = own_person_name(build, request.user) or request.user.get_username()[:80]
    name = last.person.name if last is not None else own
    person = get_or_add_person(actor=request.user, build=build, name=name)
    entry = stop_timer(actor=request.user, build=build, person=person, at=now)
    if entry is None:
        messages.info(request, "Nothing was running long enough to be logged.")
        return redirect("timer", build.pk)
    messages.success(request, "Logged. Correct it here if you stopped too late.")
    return redirect("labour_edit", build.pk, entry.pk)
