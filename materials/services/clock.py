"""What a clock that was set back must not do: keep somebody out, or something open, for long.

Whatever ends by itself has a term. When its end is further away than twice the term, the clock
was set back since it began, and it is taken for ended; so a clock that jumps can at most double
a term. Days that people chose themselves, as of share links, are left as they were chosen.
"""

from datetime import datetime, timedelta
from typing import Any

from axes.handlers.database import AxesDatabaseHandler
from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.auth.tokens import PasswordResetTokenGenerator
from django.contrib.sessions.backends.db import SessionStore as DatabaseSessions
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
    """Sessions that end, whatever the clock does."""

    def _get_session_from_db(self) -> Any:
        found = super()._get_session_from_db()  # type: ignore[misc]  # no stub of it
        term = timedelta(seconds=self.get_session_cookie_age())
        if found is not None and found.expire_date > timezone.now() + 2 * term:
            self._session_key = None
            return None
        return found
