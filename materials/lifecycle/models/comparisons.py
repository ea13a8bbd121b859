"""Lifetime cost: kept comparisons of ways to do one thing, over years."""

from django.db import models
from django.db.models import Q

from ...choices import RateKind
from ...fields import HoursField, MoneyField, PercentField, QuantityField
from ...models.builds import Build
from ...models.components import Component
from ...models.lessons import Lesson


class LifeChoice(models.Model):
    """One question, with what holds for all its answers.

    All money is in the prices of ``noted_on``. ``hours_rate`` empty: the build's own rate.
    ``quantity_text`` is what it is all for, as typed; it changes no figure. ``lesson``: what it
    works out in figures.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="life_choices")
    name = models.CharField(max_length=120)
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="life_choices"
    )
    lesson = models.ForeignKey(
        Lesson, on_delete=models.PROTECT, null=True, blank=True, related_name="life_choices"
    )
    quantity_text = models.CharField(max_length=120, blank=True)
    noted_on = models.DateField()
    study_years = models.PositiveSmallIntegerField()
    rate_percent = PercentField()
    rate_kind = models.CharField(max_length=8, choices=RateKind.choices, default=RateKind.REAL)
    inflation_percent = PercentField(null=True, blank=True)
    hours_rate = QuantityField(null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-noted_on", "-pk"]
        verbose_name = "lifetime cost comparison"
        constraints = [
            models.CheckConstraint(
                condition=Q(study_years__gte=1) & Q(study_years__lte=100),
                name="studied_for_years",
            ),
            models.CheckConstraint(
                condition=~Q(rate_kind=RateKind.NOMINAL) | Q(inflation_percent__isnull=False),
                name="nominal_rate_has_inflation",
            ),
            # Far beyond these a present value is no figure any more; at −100 there is none.
            models.CheckConstraint(
                condition=Q(rate_percent__gte=-50)
                & Q(rate_percent__lte=200)
                & (
                    Q(inflation_percent__isnull=True)
                    | (Q(inflation_percent__gte=-50) & Q(inflation_percent__lte=200))
                ),
                name="rates_within_reason",
            ),
        ]

    def __str__(self) -> str:
        return self.name


class LifeAlternative(models.Model):
    """One way to do it. Empty figures are not known; 0 is none.

    ``again_*`` empty: replaced at what it took at first. ``residual_amount`` empty: what is left
    at the end by the straight line. ``upkeep_every`` empty: there is no upkeep. ``drags_along``:
    other work that each replacement takes, empty where there is none; ``drag_*`` is what that
    costs beyond the replacement itself, each time.
    """

    choice = models.ForeignKey(LifeChoice, on_delete=models.CASCADE, related_name="alternatives")
    position = models.PositiveIntegerField(default=0)
    name = models.CharField(max_length=120)
    first_amount = MoneyField(null=True, blank=True)
    first_low_amount = MoneyField(null=True, blank=True)
    first_high_amount = MoneyField(null=True, blank=True)
    first_hours = HoursField(null=True, blank=True)
    life_years = models.PositiveSmallIntegerField(null=True, blank=True)
    life_low_years = models.PositiveSmallIntegerField(null=True, blank=True)
    life_high_years = models.PositiveSmallIntegerField(null=True, blank=True)
    upkeep_every = models.PositiveSmallIntegerField(null=True, blank=True)
    upkeep_amount = MoneyField(null=True, blank=True)
    upkeep_hours = HoursField(null=True, blank=True)
    upkeep_change_percent = PercentField(default=0)
    again_amount = MoneyField(null=True, blank=True)
    again_hours = HoursField(null=True, blank=True)
    drags_along = models.CharField(max_length=200, blank=True)
    drag_amount = MoneyField(null=True, blank=True)
    drag_hours = HoursField(null=True, blank=True)
    residual_amount = MoneyField(null=True, blank=True)
    # Where its figures come from, in the builder's words.
    basis = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=(Q(life_years__isnull=True) | Q(life_years__gte=1))
                & (Q(life_low_years__isnull=True) | Q(life_low_years__gte=1))
                & (Q(life_high_years__isnull=True) | Q(life_high_years__gte=1))
                & (Q(upkeep_every__isnull=True) | Q(upkeep_every__gte=1)),
                name="lasts_whole_years",
            ),
            models.CheckConstraint(
                condition=Q(upkeep_change_percent__gte=-50) & Q(upkeep_change_percent__lte=200),
                name="upkeep_changes_within_reason",
            ),
            models.CheckConstraint(
                condition=Q(drag_amount__isnull=True, drag_hours__isnull=True) | ~Q(drags_along=""),
                name="what_is_dragged_has_a_name",
            ),
        ]

    def __str__(self) -> str:
        return self.name
