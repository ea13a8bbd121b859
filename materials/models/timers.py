"""A running stop watch."""

from django.conf import settings
from django.db import models

from ..choices import LabourKind
from .builds import Build
from .labour import Task


class Timer(models.Model):
    """Work begun and not yet logged; kept here so that a closed tab loses nothing."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="timers")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="timers"
    )
    task = models.ForeignKey(Task, on_delete=models.SET_NULL, null=True, blank=True)
    kind = models.CharField(max_length=12, choices=LabourKind.choices)
    started_at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "user"], name="one_timer_per_user"),
        ]

    def __str__(self):
        return f"{self.get_kind_display()} since {self.started_at}"
