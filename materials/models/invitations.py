"""Links that let somebody in, and the counting of attempts at guessing them."""

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from ..choices import INVITED_ROLES
from .builds import Build


class Invitation(models.Model):
    """Lets one person join a build. Of its secret only the SHA-256 is kept, in hex."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="invitations")
    role = models.CharField(max_length=12, choices=INVITED_ROLES)
    digest = models.CharField(max_length=64, unique=True)
    note = models.CharField(max_length=80, blank=True)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_at = models.DateTimeField()
    used_at = models.DateTimeField(null=True, blank=True)
    used_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, blank=True, related_name="+"
    )
    revoked_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(role__in=[role for role, _ in INVITED_ROLES]),
                name="invited_to_no_ownership",
            ),
            models.CheckConstraint(
                condition=Q(used_at__isnull=True) | Q(revoked_at__isnull=True),
                name="invitation_used_or_revoked",
            ),
        ]

    def __str__(self) -> str:
        return f"Invitation as {self.role}{f' for {self.note}' if self.note else ''}"


class Attempt(models.Model):
    """One try at something that is limited, by whom: kept until it no longer counts.

    ``who`` is a keyed digest, not an address. One row may stand for the first account that nobody
    has made yet (``services.first_account``): ``who`` is then the digest of its secret.
    """

    what = models.CharField(max_length=20)
    who = models.CharField(max_length=64)
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        indexes = [models.Index(fields=["what", "who", "at"], name="attempts_at_something")]

    def __str__(self) -> str:
        return f"{self.what} at {self.at}"
