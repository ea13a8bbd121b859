"""Published indexes of prices, as the builder typed or pasted them."""

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from ...fields import QuantityField
from ...models.builds import Build


class CostIndex(models.Model):
    """An index of prices; ``source`` says where its values are published."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="cost_indexes")
    name = models.CharField(max_length=120)
    source = models.CharField(max_length=300, blank=True)

    class Meta:
        ordering = [Lower("name"), "pk"]
        verbose_name = "cost index"
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_cost_index_per_name"),
        ]

    def __str__(self) -> str:
        return self.name


class CostIndexValue(models.Model):
    """Its value for one month; ``month`` is the month's first day."""

    index = models.ForeignKey(CostIndex, on_delete=models.CASCADE, related_name="months")
    month = models.DateField()
    value = QuantityField()
    is_preliminary = models.BooleanField(default=False)

    class Meta:
        ordering = ["month", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["index", "month"], name="one_index_value_per_month"),
            models.CheckConstraint(condition=Q(value__gt=0), name="index_value_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.month:%B %Y}: {self.value}"
