"""Material worked into other material, and material that stayed out of the building."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from ..choices import Fate
from ..fields import HoursField, MoneyField, QuantityField
from .builds import Build
from .components import Component


class Conversion(models.Model):
    """One input worked into one or more outputs."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="conversions")
    number = models.CharField(max_length=40)
    converted_on = models.DateField()
    source = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="conversions_from")
    used_text = models.CharField(max_length=120)
    used_qty = QuantityField()
    # How much of it was taken from stock on hand; empty: all of what counted as built in.
    hand_text = models.CharField(max_length=120, blank=True)
    extra_cost_amount = MoneyField(default=0)
    hours = HoursField(default=0)
    note = models.CharField(max_length=500, blank=True)

    DERIVED = frozenset({"used_qty"})

    class Meta:
        ordering = ["-converted_on", "-pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("number"), name="one_conversion_per_number"),
            models.CheckConstraint(condition=Q(used_qty__gt=0), name="conversion_uses_something"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def outputs_text(self) -> str:
        """All that it made, in words."""
        return "; ".join(str(row) for row in self.outputs.select_related("component"))


class ConversionOutput(models.Model):
    """Something a conversion made."""

    conversion = models.ForeignKey(Conversion, on_delete=models.CASCADE, related_name="outputs")
    position = models.PositiveIntegerField(default=0)
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, related_name="conversions_into"
    )
    made_text = models.CharField(max_length=120)
    made_qty = QuantityField()

    DERIVED = frozenset({"made_qty"})

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(made_qty__gt=0), name="conversion_makes_something"),
        ]

    def __str__(self) -> str:
        return f"{self.made_text} {self.component}"


class LeftOver(models.Model):
    """A quantity that did not go into the building, and what became of it."""

    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="left_overs")
    noted_on = models.DateField()
    quantity_text = models.CharField(max_length=120)
    base_qty = QuantityField()
    # How much of it was taken from stock on hand; empty: all of what counted as built in.
    hand_text = models.CharField(max_length=120, blank=True)
    fate = models.CharField(max_length=12, choices=Fate.choices)
    proceeds_amount = MoneyField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)

    DERIVED = frozenset({"base_qty"})

    class Meta:
        ordering = ["-noted_on", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(base_qty__gt=0), name="left_over_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.quantity_text} {self.component} {self.fate}"
