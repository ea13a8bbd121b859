"""Forms that were sent, so that one that arrives twice is recorded once."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class SentForm(models.Model):
    """A form that was recorded.

    ``token`` was written into the page when it was shown, ``content`` is a digest of what was
    sent in it, and ``address`` is where to see what was recorded.
    """

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="sent_forms"
    )
    token = models.CharField(max_length=64)
    content = models.CharField(max_length=64)
    address = models.CharField(max_length=500, blank=True)
    sent_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["user", "token"], name="one_record_per_form"),
        ]

    def __str__(self) -> str:
        return f"{self.address} at {self.sent_at}"
