"""Tasks and hours."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone

from ..calc.durations import HOURS_OF_A_DAY
from ..forms.filters import LabourFilter
from ..forms.labour import LabourForm, TaskForm, TimerForm
from ..models import Build, LabourEntry, Task, Timer
from ..queries.labour import get_timer, last_labour, list_labour, list_tasks, sum_labour
from ..queries.members import own_person_name
from ..services.builds import get_or_add_person
from ..services.errors import LedgerError
from ..services.labour import (
    get_or_add_task,
    log_timed,
    save_labour,
    save_task,
    start_timer,
    stop_timer,
)
from ..tables.labour import LabourTable, TaskTable
from ..templatetags.figures import hours, money_text
from .base import build_view, may_edit, page, record_urls, show_list
from .editing import edit, faults_of, posted, save_once
from .outbox import tell, written_at
from .photos import PILE, of_pile
from .saved import begin_like, saved_at

TOO_SHORT = "It ran for less than a minute, too short to log."
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
        add_label="Add task",
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
        title="Change task" if pk is not None else "Add task",
        section="labour",
        back=reverse("task", args=[build.pk, pk]) if pk else reverse("tasks", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "task", pk),
    )


@build_view()
def labour(request: HttpRequest, build: Build) -> HttpResponse:
    """Hours."""

    def totals(rows: Any, chosen: Any) -> list[tuple[str, str]]:
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
        intro="Hours of conversions stay with the conversions and count as preparing.",
        add_url=reverse("labour_add", args=[build.pk]),
        add_label="Log hours",
        links=[
            ("Hours against plan", reverse("hours_report", args=[build.pk])),
            *([("Timer", reverse("timer", args=[build.pk]))] if may_edit(request, build) else []),
        ],
        running=get_timer(build, request.user),
    )


@build_view(edits=True)
def labour_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change hours; with ``?timed=1`` those of the running timer, which they end.

    From the pile of photos they take the notes of those that are ticked.
    """
    entry = list_labour(build).get(pk=pk) if pk is not None else LabourEntry(build=build)
    timed = get_timer(build, request.user) if pk is None and "timed" in request.GET else None
    start = {} if pk is not None else _start(request, build) | _like(request, build)
    if pk is None and (note := of_pile(request, build)["pile_note"]):
        start["note"] = note
    if timed is not None:
        start |= _timed(request, timed)
    data = posted(request)
    buttons = [] if pk is not None or timed is not None else QUICK_HOURS
    pressed = data.get("quick_hours") if data is not None else None
    is_button = pressed in [value for value, _ in buttons]
    if is_button:
        data = data.copy()
        data["hours"] = pressed
    form = LabourForm(data, build=build, record=entry, initial=start)
    if pressed is not None and not is_button:
        form.refuse_button()

    @transaction.atomic
    def save(valid: Any) -> tuple[str, str]:
        by = {"actor": request.user, "build": build}
        values = _with_task(by, valid.values())
        values["person"] = get_or_add_person(**by, name=values["person"])
        if timed is not None:
            saved = log_timed(**by, values=values)
        else:
            saved = save_labour(**by, entry=entry, values=values)
        listed = "pile" if PILE in request.GET else "labour"
        return saved_at(reverse(listed, args=[build.pk]), "labour", saved), ""

    return edit(
        request,
        build,
        form=form,
        save=save,
        template="hours/log.html",
        title="Change hours" if pk is not None else "Log hours",
        intro=_timed_words(timed) if timed is not None else "",
        quick_hours=buttons,
        outbox="" if pk is not None else "Hours",
        running=get_timer(build, request.user) if pk is None and timed is None else None,
        section="labour",
        back=reverse("labour", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "labour", pk),
    )


def _like(request: HttpRequest, build: Build) -> dict[str, Any]:
    """Of an entry that another is to be like: all of it, or for whom and on what it was."""
    start = begin_like(request, build, "labour", LabourForm, {"person", "task", "kind"})
    if "person" in start:
        start["person"] = start["person"].name
    return start


def _with_task(by: dict[str, Any], values: dict[str, Any]) -> dict[str, Any]:
    """Values of a form with the task that was named in it, added if there is none."""
    name = values.pop("new_task")
    return {**values, "task": get_or_add_task(**by, name=name)} if name else values


def _timed(request: HttpRequest, timer: Timer) -> dict[str, Any]:
    """What a timer knows of its hours, and how many they were unless that cannot be."""
    timed = timer.hours_until(timezone.now())
    return {
        "worked_on": timer.began_on,
        "person": _worker(timer.build, request),
        "task": timer.task_id,
        "kind": timer.kind,
        "hours": timed if 0 < timed <= HOURS_OF_A_DAY else None,
    }


def _timed_words(timer: Timer) -> str:
    began = timezone.localtime(timer.started_at)
    return (
        f"The timer has been running since {began:%H:%M} on {began:%-d %b %Y}, that is"
        f" {hours(timer.hours_until(timezone.now()))}. Enter the hours you worked that "
        "day. Saving them ends the timer."
    )


def _worker(build: Build, request: HttpRequest) -> str:
    """Name of the person this user logs hours for."""
    last = last_labour(build, request.user)
    if last is not None:
        return last.person.name
    return own_person_name(build, request.user) or request.user.get_username()[:80]


@build_view(edits=True)
def timer(request: HttpRequest, build: Build) -> HttpResponse:
    """Start and stop timing; what runs is kept on the server, so a closed tab loses nothing."""
    if request.method == "POST" and "stop" in request.POST:
        return _stop(request, build)
    form = TimerForm(posted(request), build=build)
    here = reverse("timer", args=[build.pk])

    @transaction.atomic
    def start() -> tuple[str, str]:
        by = {"actor": request.user, "build": build}
        start_timer(**by, at=written_at(request), **_with_task(by, form.values()))
        return here, ""

    if form.is_bound and form.is_valid():
        try:
            return save_once(request, start)
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    answer = page(
        request,
        build,
        "hours/timer.html",
        section="labour",
        form=form,
        running=get_timer(build, request.user),
        cancel_url=reverse("labour", args=[build.pk]),
        status=422 if form.is_bound else 200,
    )
    return tell(request, answer, faults_of(form))


def _stop(request: HttpRequest, build: Build) -> HttpResponse:
    """Log the hours to whom this user logs hours for, and let them be corrected.

    Hours that no day has, the user is asked for.
    """

    @transaction.atomic
    def stop() -> tuple[str, str]:
        by = {"actor": request.user, "build": build}
        if get_timer(build, request.user) is None:
            raise LedgerError("No timer is running.")
        person = get_or_add_person(**by, name=_worker(build, request))
        entry = stop_timer(**by, person=person, at=written_at(request))
        if entry is None:
            return reverse("timer", args=[build.pk]), TOO_SHORT
        address = reverse("labour_edit", args=[build.pk, entry.pk])
        return address, "Logged. Correct it here if you stopped too late."

    try:
        return save_once(request, stop)
    except LedgerError as error:
        fault = str(error)
    address = reverse("timer", args=[build.pk])
    if get_timer(build, request.user) is not None:
        address = reverse("labour_add", args=[build.pk]) + "?timed=1"
    return tell(request, redirect(address), [fault])
