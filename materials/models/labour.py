"""Hours."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from ..choices import LabourKind
from ..fields import HoursField, MoneyField, PercentField
from .builds import Build, Element, Person


class Task(models.Model):
    """A piece of work with planned hours."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="tasks")
    name = models.CharField(max_length=120)
    element = models.ForeignKey(
        Element, on_delete=models.PROTECT, null=True, blank=True, related_name="tasks"
    )
    planned_hours = HoursField(null=True, blank=True)
    done_percent = PercentField(null=True, blank=True)

    class Meta:
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_task_per_name"),
        ]

    def __str__(self) -> str:
        return self.name


class LabourEntry(models.Model):
    """Hours of one person on one day; ``paid_amount`` empty means nothing was paid."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="labour")
    worked_on = models.DateField()
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="labour")
    task = models.ForeignKey(
        Task, on_delete=models.PROTECT, null=True, blank=True, related_name="labour"
    )
    kind = models.CharField(max_length=12, choices=LabourKind.choices)
    hours = HoursField()
    paid_amount = MoneyField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-worked_on", "-pk"]
        constraints = [
            models.CheckConstraint(condition=Q(hours__gt=0), name="hours_above_zero"),
        ]
        indexes = [
            # All that the list sorts, filters and sums by, so that it need not read the rows.
            models.Index(
                fields=[
                    "build",
                    "worked_on",
                    "id",
                    "person",
                    "task",
                    "kind",
                    "hours",
                    "paid_amount",
                ],
                name="labour_list",
            ),
            # In the order in which reports sum hours, so that they need neither sort nor rows.
            models.Index(
                fields=["build", "kind", "task", "person", "hours", "paid_amount"],
                name="labour_sums",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.worked_on} {self.person} {self.hours} h"
