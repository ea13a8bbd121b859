"""Ending sessions: one's own, or by whoever runs the server."""

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
    """End every session but this one, or all without one; returns how many."""
    count: int = OpenSession.objects.filter(user=user).exclude(pk=this or "").delete()[0]
    if count:
        about = "All other sessions" if this else "All sessions"
        note_event(user=user, what=AccountEvents.ENDED, place=place, about=about)
    return count


def end_all_sessions(*, place: Place = NOWHERE) -> int:
    """End every session of everybody; returns how many."""
    users = User.objects.filter(pk__in=OpenSession.objects.values("user"))
    return sum(end_other_sessions(user=user, this=None, place=place) for user in users)
