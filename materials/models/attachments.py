"""Photos of receipts and piles."""

from django.conf import settings
from django.db import models
from django.utils import timezone

from .builds import Build
from .prices import RetailPrice
from .purchases import Purchase
from .stock import Conversion


def photo_path(photo: "Photo", name: str) -> str:
    """Where an image is kept: by build, under a name of our own (``name`` is made by us)."""
    return f"builds/{photo.build_id}/{name}"


class Photo(models.Model):
    """A picture of one purchase, conversion or new price, re-encoded when it came in.

    One of none of them waits in the build's pile to be sorted.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="photos")
    purchase = models.ForeignKey(
        Purchase, on_delete=models.CASCADE, null=True, blank=True, related_name="photos"
    )
    conversion = models.ForeignKey(
        Conversion, on_delete=models.CASCADE, null=True, blank=True, related_name="photos"
    )
    price = models.ForeignKey(
        RetailPrice, on_delete=models.CASCADE, null=True, blank=True, related_name="photos"
    )
    image = models.FileField(upload_to=photo_path, max_length=200)
    thumbnail = models.FileField(upload_to=photo_path, max_length=200)
    caption = models.CharField(max_length=200, blank=True)
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    added_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.SET_NULL, null=True, related_name="photos"
    )
    added_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                condition=(
                    models.Q(purchase__isnull=False, conversion=None, price=None)
                    | models.Q(purchase=None, conversion__isnull=False, price=None)
                    | models.Q(purchase=None, conversion=None)
                ),
                name="photo_of_one_record",
            ),
        ]

    def __str__(self) -> str:
        return self.caption or f"Photo {self.pk}"


class HeldPhoto(models.Model):
    """A picture chosen in a form that came back unsaved; for its sender alone.

    It stands in the database, so that it needs no cleaning up but its row's.
    """

    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="held_photos"
    )
    key = models.CharField(max_length=40, unique=True)
    name = models.CharField(max_length=100)
    image = models.BinaryField()
    thumbnail = models.BinaryField()
    width = models.PositiveIntegerField()
    height = models.PositiveIntegerField()
    sent_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name
