"""What stands beside an account: its sessions, its log, its second factor."""

from importlib import import_module
from typing import Any, ClassVar

from django.conf import settings
from django.contrib.sessions.base_session import AbstractBaseSession, BaseSessionManager
from django.db import models
from django.utils import timezone

from ..choices import AccountEvents


class OpenSession(AbstractBaseSession):
    """A session with whose it is, since when, from what, and when it was last used.

    In the session's own row, so that reading a session tells it without a query of its own.
    ``address`` is shortened, ``used_at`` right to five minutes (``services.clock``).
    """

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, null=True, related_name="sessions"
    )
    device = models.CharField(max_length=60, blank=True)
    address = models.CharField(max_length=45, blank=True)
    started_at = models.DateTimeField(default=timezone.now)
    used_at = models.DateTimeField(default=timezone.now)

    objects: ClassVar[Any] = BaseSessionManager()

    class Meta(AbstractBaseSession.Meta):
        verbose_name, verbose_name_plural = "session", "sessions"

    @classmethod
    def get_session_store_class(cls) -> Any:
        """The engine that reads it."""
        return import_module(settings.SESSION_ENGINE).SessionStore


class AccountEvent(models.Model):
    """One line of an account's own log, which nobody else reads."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="events"
    )
    what = models.CharField(max_length=20, choices=AccountEvents.choices)
    about = models.CharField(max_length=300, blank=True)
    device = models.CharField(max_length=60, blank=True)
    address = models.CharField(max_length=45, blank=True)
    at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.get_what_display()


class SecondFactor(models.Model):
    """The key that an app of the account's makes codes from (RFC 6238), sealed.

    ``services.sealed`` opens it with the server's secret key, since each code is worked out from
    it. ``last_step`` is the number of the half minute whose code was used last.
    """

    user = models.OneToOneField(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="second_factor"
    )
    key = models.CharField(max_length=200)
    last_step = models.BigIntegerField()
    made_at = models.DateTimeField(default=timezone.now)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"Second factor of {self.user}"


class RecoveryCode(models.Model):
    """A code that stands in for the app once; of it only a slow hash is kept."""

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="recovery_codes"
    )
    salt = models.CharField(max_length=32)
    digest = models.CharField(max_length=64)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["user", "digest"], name="one_recovery_code_once")
        ]

    def __str__(self) -> str:
        return f"Recovery code of {self.user}"


class Passkey(models.Model):
    """The public half of a key pair that a device made for this site (W3C Web Authentication).

    ``credential_id`` and ``credential`` (identifier and public key as the device gave them) are
    in base64url. ``sign_count`` is what the device had counted when it was used last; 0 for one
    that does not count.
    """

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="passkeys"
    )
    name = models.CharField(max_length=60)
    # An identifier has at most 1023 bytes (Web Authentication, 6.1): 1364 letters.
    credential_id = models.CharField(max_length=1364, unique=True)
    credential = models.TextField()
    sign_count = models.BigIntegerField(default=0)
    made_at = models.DateTimeField(default=timezone.now)
    used_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name
