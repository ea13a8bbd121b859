"""Reading what stands beside an account: sessions, log, second step."""

from datetime import datetime
from typing import NamedTuple

from django.conf import settings
from django.contrib.auth.models import User
from django.db.models import QuerySet
from django.utils.crypto import salted_hmac

from ..models import AccountEvent, OpenSession, Passkey, RecoveryCode, SecondFactor


class SessionRow(NamedTuple):
    """One session as its account sees it; ``mark`` names it without opening it."""

    mark: str
    session: OpenSession
    is_this: bool


def list_sessions(user: User, this: str | None, now: datetime) -> list[SessionRow]:
    """Sessions that are still open, this one first, then the one used last."""
    open_ones = OpenSession.objects.filter(
        user=user, expire_date__gt=now, used_at__gt=now - settings.IDLE_LIMIT
    )
    rows = [
        SessionRow(mark_of(row.session_key), row, row.session_key == this)
        for row in open_ones.order_by("-used_at", "session_key")
    ]
    return sorted(rows, key=lambda row: not row.is_this)


def mark_of(session_key: str) -> str:
    """What a page calls a session by: its key would open it."""
    return salted_hmac("materials.session", session_key, algorithm="sha256").hexdigest()[:24]


def list_events(user: User) -> QuerySet[AccountEvent]:
    """The account's log, the newest first."""
    return AccountEvent.objects.filter(user=user)


def find_second_step(user: User) -> SecondFactor | None:
    """The second step of an account; None where none is asked for."""
    return SecondFactor.objects.filter(user=user).first()


def count_recovery_codes(user: User) -> int:
    """How many recovery codes are not used yet."""
    return RecoveryCode.objects.filter(user=user, used_at=None).count()


def list_passkeys(user: User) -> list[Passkey]:
    """The passkeys of an account, the oldest first."""
    return list(Passkey.objects.filter(user=user))


def find_passkey(user: User, pk: int) -> Passkey | None:
    """One of the account's own passkeys."""
    return Passkey.objects.filter(user=user, pk=pk).first()
