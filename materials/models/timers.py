"""A running stop watch."""

from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction

from django.conf import settings
from django.db import models
from django.utils import timezone

from ..calc.money import round_half_up
from ..choices import LabourKind
from .builds import Build
from .labour import Task

# Seconds; what is shorter is a slip of the finger and would be shown as no time at all.
SHORTEST = 60


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

    def __str__(self) -> str:
        return f"{self.get_kind_display()} since {self.started_at}"

    @property
    def began_on(self) -> date:
        """The day of the start, by the server's clock."""
        return timezone.localtime(self.started_at).date()

    def hours_until(self, at: datetime) -> Decimal:
        """Hours since the start, as they are kept; 0 for less than a minute."""
        seconds = int((at - self.started_at).total_seconds())
        if seconds < SHORTEST:
            return Decimal(0)
        return round_half_up(Fraction(seconds, 3600), 4)
