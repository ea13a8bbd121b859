"""Quantities taken off the shapes that are built, and which requirements they went into."""

from django.db import models
from django.db.models import Q
from django.utils import timezone

from ..models.builds import Build
from ..models.components import Component


class Takeoff(models.Model):
    """A shape with its measures as typed; ``figures`` is what they come to.

    ``shape``: a code of ``calc.takeoff.SHAPES``. ``inputs``: typed text by the name of its
    question. ``figures``: a list of key, label, quantity and formula, worked out from them.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="takeoffs")
    name = models.CharField(max_length=120)
    shape = models.CharField(max_length=24)
    inputs = models.JSONField(default=dict)
    figures = models.JSONField(default=list)
    note = models.CharField(max_length=500, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    DERIVED = frozenset({"figures"})

    class Meta:
        ordering = ["-pk"]

    def __str__(self) -> str:
        return self.name


class TakeoffUse(models.Model):
    """One figure of a takeoff that is part of what a component requires, or of an area.

    ``quantity_text`` is the figure as it went in. Of ``component`` and ``area_label`` one is given;
    the latter names one of the build's areas.
    """

    takeoff = models.ForeignKey(Takeoff, on_delete=models.CASCADE, related_name="uses")
    figure = models.CharField(max_length=40)
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="takeoff_uses"
    )
    area_label = models.CharField(max_length=60, blank=True)
    quantity_text = models.CharField(max_length=120)

    class Meta:
        ordering = ["pk"]
        verbose_name = "takeoff"
        constraints = [
            models.CheckConstraint(
                condition=Q(component__isnull=False, area_label="")
                | (Q(component__isnull=True) & ~Q(area_label="")),
                name="takeoff_goes_to_one",
            ),
            models.UniqueConstraint(
                fields=["takeoff", "figure", "component"], name="one_use_for_a_component"
            ),
            # Two empty components are not equal to a database.
            models.UniqueConstraint(
                fields=["takeoff", "figure", "area_label"],
                condition=~Q(area_label=""),
                name="one_use_for_an_area",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity_text} for {self.component or self.area_label}"
