"""Who material comes from."""

from django.db import models
from django.db.models.functions import Lower

from .builds import Build


class Supplier(models.Model):
    """A yard, shop, auction or person; known to one build only."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="suppliers")
    name = models.CharField(max_length=120)
    place = models.CharField(max_length=200, blank=True)
    contact = models.CharField(max_length=200, blank=True)
    # Its sale is over or it has closed: what was paid there stays, but it is no place to go.
    is_gone = models.BooleanField("no longer there", default=False)
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_supplier_per_name"),
        ]

    def __str__(self) -> str:
        return self.name
