"""Writing tasks and hours."""

from typing import Any

from django.contrib.auth.models import AbstractBaseUser
from django.db import transaction

from ..models import Build, LabourEntry, Task
from .history import save_values


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
