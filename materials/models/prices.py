"""What new material costs, dated."""

from django.db import models

from ..fields import QuantityField
from .components import Component


class RetailPrice(models.Model):
    """New price of a component before tax: ``price`` for ``per_text`` (``per_qty`` base units)."""

    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="prices")
    price = QuantityField()
    per_text = models.CharField(max_length=60, blank=True)
    per_qty = QuantityField(default=1)
    priced_on = models.DateField()
    priced_at = models.CharField(max_length=120, blank=True)

    DERIVED = frozenset({"per_qty"})

    class Meta:
        ordering = ["-priced_on", "-pk"]
        constraints = [
            models.CheckConstraint(condition=models.Q(per_qty__gt=0), name="price_per_something"),
            models.CheckConstraint(condition=models.Q(price__gte=0), name="price_not_negative"),
        ]

    def __str__(self) -> str:
        return f"{self.price} per {self.per_text or self.component.unit} on {self.priced_on}"
