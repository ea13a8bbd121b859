"""Estimates of what a build will cost, made before it is built."""

from django.db import models

from ..fields import QuantityField
from ..models.builds import Build


class Estimate(models.Model):
    """What earlier builds said a build would cost, as it was said then.

    ``figures``: what ``estimates.services.as_figures`` makes of it, amounts as text. Earlier
    builds are counted and not named, since not everybody who sees this build may know of them.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="estimates")
    made_on = models.DateField()
    area_label = models.CharField(max_length=60)
    area_qty = QuantityField()
    area_unit = models.CharField(max_length=12)
    past_count = models.PositiveIntegerField()
    escalation = models.CharField(max_length=400, blank=True)
    figures = models.JSONField()
    used_on = models.DateField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-made_on", "-pk"]

    def __str__(self) -> str:
        return f"Estimate of {self.made_on:%-d %b %Y}"
