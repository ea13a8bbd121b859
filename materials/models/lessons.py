"""What went wrong or well, kept for the next time."""

from django.db import models
from django.db.models import Q

from ..choices import LessonKind
from ..fields import HoursField, MoneyField
from .builds import Build, Element
from .components import Component
from .labour import Task
from .suppliers import Supplier

# What a lesson may be about; about none of them it is about the whole build.
ABOUT = ("component", "element", "task", "supplier")


def _about_one() -> Q:
    """At most one of them is named."""
    several = Q()
    for place, one in enumerate(ABOUT):
        for other in ABOUT[place + 1 :]:
            several |= Q(**{f"{one}__isnull": False, f"{other}__isnull": False})
    return ~several


class Lesson(models.Model):
    """A regret or a win, and what it was about.

    ``amount`` and ``hours``: what a regret cost, or a win saved; empty is not known, 0 is none.
    ``author``: who says so, by name.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="lessons")
    kind = models.CharField(max_length=8, choices=LessonKind.choices, default=LessonKind.REGRET)
    text = models.CharField(max_length=500)
    noted_on = models.DateField()
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="lessons"
    )
    element = models.ForeignKey(
        Element, on_delete=models.PROTECT, null=True, blank=True, related_name="lessons"
    )
    task = models.ForeignKey(
        Task, on_delete=models.PROTECT, null=True, blank=True, related_name="lessons"
    )
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="lessons"
    )
    amount = MoneyField(null=True, blank=True)
    hours = HoursField(null=True, blank=True)
    author = models.CharField(max_length=150, blank=True)

    class Meta:
        ordering = ["-noted_on", "-pk"]
        constraints = [
            models.CheckConstraint(condition=_about_one(), name="lesson_about_one"),
            models.CheckConstraint(
                condition=Q(amount__isnull=True) | Q(amount__gte=0),
                name="lesson_amount_not_negative",
            ),
            models.CheckConstraint(
                condition=Q(hours__isnull=True) | Q(hours__gte=0),
                name="lesson_hours_not_negative",
            ),
        ]

    def __str__(self) -> str:
        return self.text if len(self.text) <= 80 else f"{self.text[:79]}…"

    @property
    def about(self) -> models.Model | None:
        """What it is about; None for the whole build."""
        return next((named for name in ABOUT if (named := getattr(self, name))), None)
