"""Ending one's sessions."""

from django.contrib.auth.models import User

from ..choices import AccountEvents
from ..models import OpenSession
from ..queries.account_log import mark_of
from .account_log import NOWHERE, Place, note_event


def end_session(*, user: User, mark: str, this: str | None, place: Place = NOWHERE) -> bool:
    """End one other session of the user's, by its mark; whether it was still there."""
    others = OpenSession.objects.filter(user=user).exclude(pk=this or "")
    keys = [row.session_key for row in others if mark_of(row.session_key) == mark]
    count, _ = others.filter(pk__in=keys).delete()
    if count:
        note_event(user=user, what=AccountEvents.ENDED, place=place, about="One session")
    return bool(count)


def end_other_sessions(*, user: User, this: str | None, place: Place = NOWHERE) -> int:
    """End every session but this one; returns how many."""
    count: int = OpenSession.objects.filter(user=user).exclude(pk=this or "").delete()[0]
    if count:
        note_event(user=user, what=AccountEvents.ENDED, place=place, about="All other sessions")
    return count
