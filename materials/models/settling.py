"""Shares of the people of a build, and money that went between them."""

from django.db import models
from django.db.models import F, Q

from ..fields import MoneyField, QuantityField
from .builds import Build, Person


class Share(models.Model):
    """A stated share; only how the weights of a build compare counts."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="shares")
    person = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="shares")
    weight = QuantityField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "person"], name="one_share_per_person"),
            models.CheckConstraint(condition=Q(weight__gt=0), name="share_above_zero"),
        ]

    def __str__(self) -> str:
        return f"{self.person}: {self.weight}"


class HandOver(models.Model):
    """Money that one person of a build gave another."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="hand_overs")
    handed_on = models.DateField()
    giver = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="handed_over")
    receiver = models.ForeignKey(Person, on_delete=models.PROTECT, related_name="handed_to")
    amount = MoneyField()
    note = models.CharField(max_length=500, blank=True)

    class Meta:
        ordering = ["-handed_on", "-pk"]
        verbose_name = "hand-over"
        constraints = [
            models.CheckConstraint(condition=Q(amount__gt=0), name="hand_over_above_zero"),
            models.CheckConstraint(condition=~Q(giver=F("receiver")), name="hand_over_between_two"),
        ]

    def __str__(self) -> str:
        return f"{self.handed_on}, {self.giver} to {self.receiver}"
