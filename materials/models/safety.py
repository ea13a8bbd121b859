"""What was done about a caution."""

from django.conf import settings
from django.db import models

from .builds import Build
from .components import Component


class CautionNote(models.Model):
    """Somebody dealt with a caution about a component, and how. It clears nothing for good."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="caution_notes")
    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="caution_notes")
    code = models.CharField(max_length=40)
    dealt_with = models.CharField(max_length=500)
    actor = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering = ["-pk"]

    def __str__(self):
        return f"{self.component}: {self.dealt_with}"
