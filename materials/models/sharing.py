"""A way to read one cost sheet without an account."""

from hashlib import sha256

from django.conf import settings
from django.db import models
from django.db.models import Q
from django.utils import timezone

from .builds import Build


def hash_token(token: str) -> str:
    """SHA-256 of a link's token in hexadecimal: all that is ever kept of it.

    The token is random and 256 bits long, so there is nothing to guess and a slow hash
    would add nothing.
    """
    return sha256(token.encode("utf-8", "backslashreplace")).hexdigest()


class ShareLink(models.Model):
    """One link: whom it is for, which parts it shows, until when, and what became of it.

    ``expires_on`` is the last day it opens (empty: no end), ``opened_count`` counts openings
    at most once a minute. A link is never deleted, only revoked.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="share_links")
    label = models.CharField("for whom", max_length=80)
    token_hash = models.CharField(max_length=64, unique=True)
    shows_prices = models.BooleanField("prices shown", default=True)
    shows_suppliers = models.BooleanField("suppliers shown", default=False)
    shows_people = models.BooleanField("people shown", default=False)
    created_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="share_links"
    )
    created_at = models.DateTimeField(default=timezone.now, editable=False)
    expires_on = models.DateField("opens until", null=True, blank=True)
    revoked_at = models.DateTimeField("revoked at", null=True, blank=True)
    last_opened_at = models.DateTimeField(null=True, blank=True)
    opened_count = models.PositiveIntegerField(default=0)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(opened_count=0) | Q(last_opened_at__isnull=False),
                name="opened_link_has_a_time",
            ),
        ]

    def __str__(self) -> str:
        return self.label
