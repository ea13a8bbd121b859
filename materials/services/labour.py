"""Writing tasks and hours."""

from datetime import datetime
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction
from django.utils import timezone

from ..calc.money import round_half_up
from ..models import Build, LabourEntry, Person, Task, Timer
from .errors import LedgerError
from .history import save_values
from .ledger import lock_build


@transaction.atomic
def save_task(*, actor: AbstractBaseUser, build: Build, task: Task, values: dict[str, Any]) -> Task:
    """Add or change a task."""
    task.build = build
    save_values(actor=actor, build=build, record=task, values=values)
    return task


@transaction.atomic
def save_labour(
    *, actor: AbstractBaseUser, build: Build, entry: LabourEntry, values: dict[str, Any]
) -> LabourEntry:
    """Add or change hours."""
    entry.build = build
    save_values(actor=actor, build=build, record=entry, values=values)
    return entry


@transaction.atomic
def start_timer(
    *, actor: AbstractBaseUser, build: Build, task: Task | None, kind: str, at: datetime
) -> Timer:
    """Begin to time work; one running timer for each user on a build. Raises LedgerError."""
    lock_build(build)
    if Timer.objects.filter(build=build, user=actor).exists():
        raise LedgerError("You are timing already: stop that first.")
    return Timer.objects.create(build=build, user=actor, task=task, kind=kind, started_at=at)


@transaction.atomic
def stop_timer(
    *,
    actor: AbstractBaseUser,
    build: Build,
    person: Person,
    at: datetime,
    user: AbstractBaseUser | None = None,
    note: str = "",
) -> LabourEntry | None:
    """Log the time since the start as own hours of a person, and end the timer.

    The timer is the actor's unless ``user`` says whose. None when nothing was running, or for
    less than the smallest time that can be kept.
    """
    lock_build(build)
    timer = Timer.objects.filter(build=build, user=user or actor).first()
    if timer is None:
        return None
    seconds = max(0, int((at - timer.started_at).total_seconds()))
    hours = round_half_up(Fraction(seconds, 3600), 4)
    values = {
        "worked_on": timezone.localtime(timer.started_at).date(),
        "person": person,
        "task": timer.task,
        "kind": timer.kind,
        "hours": hours,
        "note": note,
    }
    timer.delete()
    if not hours:
        return None
    return save_labour(actor=actor, build=build, entry=LabourEntry(), values=values)
