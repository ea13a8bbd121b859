"""What can be made of what, as somebody states it."""

from django.db import models
from django.db.models import F, Q

from ..fields import HoursField, PercentField, QuantityField
from .builds import Build
from .components import Component


class WayToMake(models.Model):
    """So much of one component gives so much of another.

    Ways that conversions have shown are worked out (``queries.ways``); one that is stated
    stands in their place, or beside them where nothing was made so yet. Of what is made
    ``lost_percent`` does not serve. ``hours_each`` and ``extra_each`` are for each one made (its
    base unit), lost ones too. Empty is not known.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="ways_to_make")
    source = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="ways_from")
    used_text = models.CharField(max_length=120)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="ways_into")
    made_text = models.CharField(max_length=120)
    lost_percent = PercentField(null=True, blank=True)
    hours_each = HoursField(null=True, blank=True)
    extra_each = QuantityField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["source", "component", "pk"]
        verbose_name = "way to make"
        constraints = [
            models.UniqueConstraint(fields=["source", "component"], name="one_way_from_to"),
            models.CheckConstraint(condition=~Q(source=F("component")), name="way_from_another"),
            models.CheckConstraint(
                condition=Q(lost_percent__isnull=True)
                | (Q(lost_percent__gte=0) & Q(lost_percent__lt=100)),
                name="way_leaves_something",
            ),
            models.CheckConstraint(
                condition=Q(hours_each__isnull=True) | Q(hours_each__gte=0),
                name="way_hours_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(extra_each__isnull=True) | Q(extra_each__gte=0),
                name="way_extra_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.component} from {self.source}"
