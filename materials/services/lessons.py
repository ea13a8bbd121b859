"""Keeping what was learned."""

from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Build, Lesson
from ..models.lessons import ABOUT
from ..queries.days import NOT_YET_LEARNED
from .errors import LedgerError, refuse_early
from .history import save_values
from .ledger import lock_build


@transaction.atomic
def save_lesson(*, actor: User, build: Build, lesson: Lesson, values: dict[str, Any]) -> Lesson:
    """Add or change a lesson.

    Raises LedgerError when it is about several things or about something of another build, when
    it says nothing, and for a day that has not come.
    """
    lock_build(build)
    lesson.build = build
    for name, value in values.items():
        setattr(lesson, name, value)
    if not lesson.text:
        raise LedgerError("Say what the lesson is.", "text")
    refuse_early(lesson.noted_on, NOT_YET_LEARNED, "noted_on")
    named = [found for name in ABOUT if (found := getattr(lesson, name)) is not None]
    if len(named) > 1:
        raise LedgerError("A lesson is about one thing: keep one, and add another lesson.")
    if any(one.build_id != build.pk for one in named):
        raise LedgerError("Choose something of this build.")
    save_values(actor=actor, build=build, record=lesson, values=values)
    return lesson
