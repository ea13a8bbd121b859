"""What was done about a caution."""

from django.db import models

from .builds import Build
from .components import Component
from .who_and_when import Signed


class CautionNote(Signed):
    """Somebody dealt with a caution about a component, and how. It clears nothing for good."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="caution_notes")
    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="caution_notes")
    code = models.CharField(max_length=40)
    dealt_with = models.CharField(max_length=500)

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return f"{self.component}: {self.dealt_with}"
