"""Who did something, and when."""

from django.conf import settings
from django.db import models
from django.utils import timezone


class Signed(models.Model):
    """Signed by an account; the name is kept beside it, for the account may go or be elsewhere."""

    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    actor_name = models.CharField(max_length=150, blank=True)
    at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        abstract = True

    @property
    def who(self) -> str:
        """Name of the one who did it, "" when nobody is named."""
        return self.actor.get_username() if self.actor else self.actor_name
