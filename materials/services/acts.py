"""One act of several changes: each stands in the history, and all are undone as one.

Whoever writes several records in one act does it inside ``as_one``. Each ``Change`` that is
written there carries the mark of the act, and one more, of the kind ``SEVERAL`` and without rows of
its own, tells of the whole. ``services.records`` undoes all of them, the last first.
"""

import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field

from django.contrib.auth.models import User
from django.db import transaction

from ..models import Build, Change
from ..models.history import SEVERAL


@dataclass
class Act:
    """What is being done: ``summary`` is what the history calls it, set before it ends.

    ``change``: afterwards the entry that undoes it; None where nothing was changed.
    """

    summary: str = ""
    change: Change | None = None
    mark: str = field(default_factory=lambda: secrets.token_hex(8))


_ACT: ContextVar[Act | None] = ContextVar("act", default=None)


def mark() -> str:
    """The mark of the act that changes are written in now; empty outside of one."""
    act = _ACT.get()
    return act.mark if act is not None else ""


@contextmanager
def as_one(*, actor: User, build: Build, summary: str = "", action: str = "saved") -> Iterator[Act]:
    """Let all that is written inside be one act, in one transaction.

    A single change stays one by itself. An act inside another belongs to that, and says what it
    is called where nobody has said it yet.
    """
    outer = _ACT.get()
    if outer is not None:
        outer.summary = outer.summary or summary
        yield outer
        return
    act = Act(summary)
    with transaction.atomic():
        held = _ACT.set(act)
        try:
            yield act
        finally:
            _ACT.reset(held)
        written = list(Change.objects.filter(build=build, act=act.mark)[:2])
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
            act=act.mark,
        )
