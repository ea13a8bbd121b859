"""One act of several changes: each stands in the history, and all are undone as one.

Whoever writes several records in one act does it inside ``as_one``. Each ``Change`` that is
written there carries the mark of the act, and one more, of the kind ``SEVERAL`` and without rows of
its own, tells of the whole. ``services.records`` undoes all of them, the last first.
"""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Build, Change
from ..models.history import SEVERAL

_MARK: ContextVar[str] = ContextVar("act", default="")


@dataclass
class Act:
    """What is being done: ``summary`` is what the history calls it, set before it ends.

    ``change``: afterwards the entry that undoes it; None where nothing was changed.
    """

    summary: str = ""
    change: Change | None = None


def mark() -> str:
    """The mark of the act that changes are written in now; empty outside of one."""
    return _MARK.get()


@contextmanager
def as_one(*, actor: User, build: Build, summary: str = "", action: str = "saved") -> Iterator[Act]:
    """Let all that is written inside be one act, in one transaction.

    A single change stays one by itself; an act inside another belongs to that.
    """
    act = Act(summary)
    if mark():
        yield act
        return
    own = secrets.token_hex(8)
    with transaction.atomic():
        held = _MARK.set(own)
        try:
            yield act
        finally:
            _MARK.reset(held)
        written = list(Change.objects.filter(build=build, act=own)[:2])
        if len(written) < 2:
            for act.change in written:
                act.change.act = ""
                act.change.save(update_fields=["act"])
            return
        act.change = Change.objects.create(
            build=build,
            actor=actor,
            actor_name=actor.get_username(),
            action=action,
            record_type=SEVERAL,
            record_id=None,
            summary=act.summary[:300],
            act=own,
        )
