"""Writing tasks and hours."""

from datetime import datetime
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction
from django.db.models import Sum

from ..calc.durations import HOURS_OF_A_DAY, LONG_DAY
from ..calc.quantities import format_quantity
from ..calc.units import UNITS
from ..models import Build, LabourEntry, Person, Task, Timer
from ..queries.days import NOT_YET_WORKED
from ..queries.records import find_named
from .errors import LedgerError, refuse_early
from .history import save_values
from .ledger import lock_build


@transaction.atomic
def save_task(*, actor: User, build: Build, task: Task, values: dict[str, Any]) -> Task:
    """Add or change a task."""
    task.build = build
    save_values(actor=actor, build=build, record=task, values=values)
    return task


@transaction.atomic
def get_or_add_task(*, actor: User, build: Build, name: str) -> Task:
    """The task of this name, upper and lower case alike, added if there is none."""
    lock_build(build)
    found = find_named(Task, build, name)
    return found or save_task(actor=actor, build=build, task=Task(), values={"name": name})


@transaction.atomic
def save_labour(
    *, actor: User, build: Build, entry: LabourEntry, values: dict[str, Any]
) -> LabourEntry:
    """Add or change hours.

    Raises LedgerError for a day that has not come, and when the person's entries of the day
    would come to more hours than it has. A day that has more already can be corrected bit by bit.
    """
    lock_build(build)
    stored = LabourEntry.objects.filter(pk=entry.pk).first() if entry.pk else None
    entry.build = build
    for name, value in values.items():
        setattr(entry, name, value)
    refuse_early(entry.worked_on, NOT_YET_WORKED, "worked_on")
    _refuse_long_day(entry, stored)
    save_values(actor=actor, build=build, record=entry, values=values)
    return entry


def _hours_of_day(entry: LabourEntry) -> Decimal:
    """Hours that the entry's person has on its day in other entries."""
    others = LabourEntry.objects.filter(
        build=entry.build, person=entry.person, worked_on=entry.worked_on
    ).exclude(pk=entry.pk)
    return others.order_by().aggregate(total=Sum("hours"))["total"] or Decimal(0)


def _refuse_long_day(entry: LabourEntry, stored: LabourEntry | None) -> None:
    logged = _hours_of_day(entry)
    is_no_longer = (
        stored is not None
        and (stored.person_id, stored.worked_on) == (entry.person_id, entry.worked_on)
        and entry.hours <= stored.hours
    )
    if is_no_longer or logged + entry.hours <= HOURS_OF_A_DAY:
        return
    if not logged:
        raise LedgerError(LONG_DAY, "hours")
    raise LedgerError(
        f"A day has {HOURS_OF_A_DAY} hours, and {format_quantity(logged, UNITS['h'], 2)} of"
        f" {entry.person} on {entry.worked_on:%-d %b %Y} are logged already: enter fewer, "
        "or fix those first.",
        "hours",
    )


@transaction.atomic
def start_timer(*, actor: User, build: Build, task: Task | None, kind: str, at: datetime) -> Timer:
    """Begin to time work; one running timer for each user on a build. Raises LedgerError."""
    lock_build(build)
    if Timer.objects.filter(build=build, user=actor).exists():
        raise LedgerError("Your timer is running already. Stop it first.")
    return Timer.objects.create(build=build, user=actor, task=task, kind=kind, started_at=at)


@transaction.atomic
def stop_timer(
    *,
    actor: User,
    build: Build,
    person: Person,
    at: datetime,
    user: User | None = None,
    note: str = "",
) -> LabourEntry | None:
    """Log the time since the start as own hours of a person, and end the timer.

    None when nothing was running, or for less than a minute. Raises LedgerError for more than
    a day's hours, and where the clock was set back; then the timer runs on, so that nothing is
    lost, until ``log_timed`` is told the hours. ``user`` says whose timer it is where it is not the
    actor's: nobody can be asked then, and as much is logged as the day has room for.
    """
    lock_build(build)
    timer = Timer.objects.filter(build=build, user=user or actor).first()
    if timer is None:
        return None
    hours = timer.hours_until(at)
    if user is None and at < timer.started_at:
        raise LedgerError("The server's clock was set back while the timer ran. Enter the hours.")
    if user is not None:
        day = LabourEntry(build=build, person=person, worked_on=timer.began_on)
        hours = min(hours, max(Decimal(0), HOURS_OF_A_DAY - _hours_of_day(day)))
    if hours > HOURS_OF_A_DAY:
        raise LedgerError("The timer ran for more than 24 hours. Enter the hours you worked.")
    values = {"worked_on": timer.began_on, "person": person, "task": timer.task, "note": note}
    timer.delete()
    if not hours:
        return None
    values |= {"kind": timer.kind, "hours": hours}
    return save_labour(actor=actor, build=build, entry=LabourEntry(), values=values)


@transaction.atomic
def log_timed(*, actor: User, build: Build, values: dict[str, Any]) -> LabourEntry:
    """Log hours as typed for what was timed, and end the timer. Raises LedgerError."""
    lock_build(build)
    Timer.objects.filter(build=build, user=actor).delete()
    return save_labour(actor=actor, build=build, entry=LabourEntry(), values=values)
