"""What a clock that was set back must not do: keep somebody out, or something open, for long.

Whatever ends by itself has a term. When its end is further away than twice the term, the clock
was set back since it began, and it is taken for ended; so a clock that jumps can at most double
a term. Days that people chose themselves, as of share links, are left as they were chosen.
"""

from contextlib import suppress
from datetime import datetime, timedelta
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth import SESSION_KEY as USER
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
from django.db import InternalError, OperationalError
from django.db.models import Q
from django.utils import timezone
from django.utils.http import base36_to_int


def within(field: str, term: timedelta, now: datetime) -> Q:
    """What happened less than a term ago, or, after the clock was set back, soon will have."""
    return Q(**{f"{field}__gt": now - term, f"{field}__lt": now + term})


class SignInCounter(AxesDatabaseHandler):
    """Counts failed sign-ins, but none that lie further ahead than they would count."""

    def get_user_attempts(self, request: Any, credentials: Any = None) -> Any:
        found = super().get_user_attempts(request, credentials)
        end = timezone.now() + settings.AXES_COOLOFF_TIME
        return [attempts.filter(attempt_time__lt=end) for attempts in found]

    def clean_expired_user_attempts(self, request: Any = None, credentials: Any = None) -> int:
        end = timezone.now() + settings.AXES_COOLOFF_TIME
        count, _ = AccessAttempt.objects.filter(attempt_time__gte=end).delete()
        return count + super().clean_expired_user_attempts(request, credentials)


class ResetTokens(PasswordResetTokenGenerator):
    """Refuses a token made longer from now, ahead, than it would live."""

    def check_token(self, user: Any, token: str | None) -> bool:
        if not super().check_token(user, token):
            return False
        made = base36_to_int(token.partition("-")[0]) if token else 0
        return made - self._num_seconds(self._now()) <= settings.PASSWORD_RESET_TIMEOUT


reset_tokens = ResetTokens()


class SessionStore(DatabaseSessions):
    """Sessions that end, whatever the clock does, and that know whose they are and from where.

    ``told`` is what stands in a session's row beside its data; it is carried along when the
    session gets a new key.
    """

    # So that each page does not write a row.
    USED = timedelta(minutes=5)

    def __init__(self, session_key: str | None = None):
        super().__init__(session_key)
        self.told: dict[str, Any] = {}

    @classmethod
    def get_model_class(cls) -> Any:
        """A model of our own; imported here, since the models name this engine."""
        from ..models import OpenSession

        return OpenSession

    def _get_session_from_db(self) -> Any:
        found = super()._get_session_from_db()  # type: ignore[misc]  # no stub of it
        if found is None:
            return None
        now = timezone.now()
        term = timedelta(seconds=self.get_session_cookie_age())
        is_idle = found.user_id is not None and abs(now - found.used_at) >= settings.IDLE_LIMIT
        if is_idle or found.expire_date > now + 2 * term:
            self._session_key = None
            return None
        self.told = {name: getattr(found, name) for name in _TOLD}
        return found

    def create_model_instance(self, data: dict[str, Any]) -> Any:
        """The row to be stored, with whose session it is."""
        made: Any = super().create_model_instance(data)
        made.user_id = int(data[USER]) if USER in data else None
        for name, value in self.told.items():
            setattr(made, name, value)
        return made

    def begin(self, *, device: str, address: str) -> None:
        """Say from where the session was opened; call after signing in."""
        now = timezone.now()
        self.told = {"device": device, "address": address, "started_at": now, "used_at": now}
        self.modified = True

    def note_use(self, *, device: str, address: str) -> None:
        """Remember that it was used, if that was not just noted; a busy database need not."""
        now = timezone.now()
        if not self.told or self.session_key is None or abs(now - self.told["used_at"]) < self.USED:
            return
        self.told |= {"device": device, "address": address, "used_at": now}
        # PostgreSQL calls a database that may only be read an internal error.
        with suppress(OperationalError, InternalError):
            rows = self.get_model_class().objects.filter(pk=self.session_key)
            rows.exclude(user=None).update(device=device, address=address, used_at=now)


_TOLD = ("device", "address", "started_at", "used_at")
