"""Material moved from one build to another."""

from django.conf import settings
from django.db import models
from django.db.models import Q

from ..fields import MoneyField, QuantityField
from .components import Component


class Move(models.Model):
    """A quantity that left one build for another, at a value that stands in both.

    One record is both sides, so that they cannot differ. ``base_qty`` and ``to_qty`` are the
    quantities in each side's base unit. ``value_amount`` is what it was worth when it was moved;
    empty: not known. One side may be empty, for a build that is kept elsewhere.
    """

    moved_on = models.DateField()
    component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="moves_out"
    )
    quantity_text = models.CharField(max_length=120, blank=True)
    base_qty = QuantityField(null=True, blank=True)
    # Taken from stock on hand; else from what counted as built in.
    was_on_hand = models.BooleanField(default=False)
    to_component = models.ForeignKey(
        Component, on_delete=models.PROTECT, null=True, blank=True, related_name="moves_in"
    )
    to_text = models.CharField(max_length=120, blank=True)
    to_qty = QuantityField(null=True, blank=True)
    value_amount = MoneyField(null=True, blank=True)
    # Name of the other build where that is not kept here.
    elsewhere = models.CharField(max_length=120, blank=True)
    note = models.CharField(max_length=500, blank=True)
    moved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="+"
    )

    DERIVED = frozenset({"base_qty", "to_qty"})

    class Meta:
        ordering = ["-moved_on", "-pk"]
        constraints = [
            # A check that comes to NULL would pass, so that what must be there is asked for.
            models.CheckConstraint(
                condition=Q(component=None, base_qty=None)
                | Q(component__isnull=False, base_qty__isnull=False, base_qty__gt=0),
                name="move_out_above_zero",
            ),
            models.CheckConstraint(
                condition=Q(to_component=None, to_qty=None)
                | Q(to_component__isnull=False, to_qty__isnull=False, to_qty__gt=0),
                name="move_in_above_zero",
            ),
            models.CheckConstraint(
                condition=Q(component__isnull=False) | Q(to_component__isnull=False),
                name="move_has_a_side",
            ),
        ]

    def __str__(self) -> str:
        # Names no build: members of the one need not know of the other.
        return f"{self.quantity_text or self.to_text} moved on {self.moved_on:%-d %b %Y}"
