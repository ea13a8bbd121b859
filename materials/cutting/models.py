"""Cutting plans: what was asked, what was found, and what was taken from it."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from ..fields import QuantityField
from ..models.builds import Build
from ..models.components import Component
from ..models.stock import Conversion, LeftOver


class CuttingMethod(models.TextChoices):
    """How a plan cuts."""

    LENGTHS = "lengths", "Boards to length"
    RIPPED = "ripped", "Boards ripped, then to length"
    SHEETS = "sheets", "Sheets"


class CuttingPlan(models.Model):
    """Pieces to be cut from boards or sheets of one component.

    ``result`` is the plan found for the rows below, as ``calc.store`` writes it; it is
    worked out anew whenever they change. ``taken_on``: when the conversions were logged.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="cutting_plans")
    name = models.CharField(max_length=80)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="cutting_plans")
    planned_on = models.DateField()
    kerf_text = models.CharField(max_length=40)
    method = models.CharField(
        max_length=10, choices=CuttingMethod.choices, default=CuttingMethod.LENGTHS
    )
    # Off-cuts shorter than this are waste; empty: shorter than the shortest piece.
    keep_text = models.CharField(max_length=40, blank=True)
    note = models.CharField(max_length=500, blank=True)
    taken_on = models.DateField(null=True, blank=True)
    result = models.JSONField(default=dict, blank=True)

    # It follows from the rows.
    DERIVED = frozenset({"result"})

    class Meta:
        ordering = ["-planned_on", "-pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_cutting_plan_per_name"),
            models.CheckConstraint(
                condition=Q(method__in=CuttingMethod.values), name="cutting_method_known"
            ),
        ]

    def __str__(self) -> str:
        return self.name


class CuttingHand(models.Model):
    """Boards of one length that are on hand."""

    plan = models.ForeignKey(CuttingPlan, on_delete=models.CASCADE, related_name="hand")
    position = models.PositiveIntegerField(default=0)
    length_text = models.CharField(max_length=40)
    # Empty where boards are cut to length only.
    width_text = models.CharField(max_length=40, blank=True)
    count = models.PositiveIntegerField()
    # Cut off at each end of every board, at each edge of every sheet.
    trim_text = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(count__gt=0), name="cutting_hand_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.count} × {self.length_text} on hand"


class CuttingBuy(models.Model):
    """A length that can be bought; ``price`` of one board, ``most`` empty: as many as wanted."""

    plan = models.ForeignKey(CuttingPlan, on_delete=models.CASCADE, related_name="buy")
    position = models.PositiveIntegerField(default=0)
    length_text = models.CharField(max_length=40)
    width_text = models.CharField(max_length=40, blank=True)
    price = QuantityField(null=True, blank=True)
    most = models.PositiveIntegerField(null=True, blank=True)
    trim_text = models.CharField(max_length=40, blank=True)

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=Q(price__isnull=True) | Q(price__gte=0), name="cutting_price_not_negative"
            ),
            models.CheckConstraint(
                condition=Q(most__isnull=True) | Q(most__gt=0), name="cutting_most_above_zero"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.length_text} to buy"


class CuttingNeed(models.Model):
    """Pieces of one length, or length and width, and the component they become.

    Of a triangle, the length is one side and the width the height above it; ``corner_text`` says
    where along that side the third corner stands: empty for above its middle.
    """

    plan = models.ForeignKey(CuttingPlan, on_delete=models.CASCADE, related_name="needs")
    position = models.PositiveIntegerField(default=0)
    length_text = models.CharField(max_length=40)
    width_text = models.CharField(max_length=40, blank=True)
    count = models.PositiveIntegerField()
    may_turn = models.BooleanField(default=False)
    is_triangle = models.BooleanField(default=False)
    corner_text = models.CharField(max_length=40, blank=True)
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="cutting_needs"
    )

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(count__gt=0), name="cutting_need_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.count} × {self.length_text}"


class CuttingTaken(models.Model):
    """A record that taking a plan made, so that it can be undone as one."""

    plan = models.ForeignKey(CuttingPlan, on_delete=models.CASCADE, related_name="taken")
    position = models.PositiveIntegerField(default=0)
    logged_conversion = models.ForeignKey(
        Conversion, on_delete=models.SET_NULL, null=True, related_name="+"
    )
    # Of boards that were bought: before, nothing of them was noted as on hand.
    kept_off_cut = models.ForeignKey(
        LeftOver, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    # What it made has a history of its own.
    DERIVED = frozenset({"logged_conversion", "kept_off_cut"})

    class Meta:
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return f"taken {self.position}"
