"""What the build needs."""

from django.db import models
from django.db.models.functions import Lower

from ..fields import FixedPointField, PercentField, QuantityField
from .builds import Build, Element


class Component(models.Model):
    """A material or item, counted in one base unit.

    ``contents`` says what one piece or pack holds, as typed (“1 piece = 12 ft”).
    ``required_qty`` is ``required_text`` in the base unit.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="components")
    name = models.CharField(max_length=120)
    element = models.ForeignKey(
        Element, on_delete=models.PROTECT, null=True, blank=True, related_name="components"
    )
    unit = models.CharField(max_length=12)
    contents = models.CharField(max_length=500, blank=True)
    required_text = models.CharField(max_length=120, blank=True)
    required_qty = QuantityField(null=True, blank=True)
    # Where a quantity came from that nobody measured for this build: “estimate”, “earlier build”.
    required_from = models.CharField(max_length=16, blank=True)
    waste_percent = PercentField(default=0)
    new_qty_per_one = QuantityField(default=1)
    would_buy_new = models.BooleanField(default=True)
    life_years = FixedPointField(places=2, null=True, blank=True)
    # What kind of material it is: a value of ``calc.kinds.Kind``; empty: it is guessed.
    kind = models.CharField(max_length=12, blank=True)
    # What it is, as far as cautions ask: values of ``calc.safety.Trait``.
    traits = models.JSONField(default=list, blank=True)
    # Weighs like this where measured loose: a key of ``calc.sheets.loads.LOADS``, or empty.
    load_kind = models.CharField(max_length=20, blank=True)
    note = models.CharField(max_length=500, blank=True)

    DERIVED = frozenset({"required_qty"})

    class Meta:
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_component_per_name"),
        ]

    def __str__(self) -> str:
        return self.name
