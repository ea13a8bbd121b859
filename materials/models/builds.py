"""A build, its measured areas, rates, elements, and the people on it."""

from datetime import tzinfo

from django.conf import settings
from django.db import models
from django.db.models.functions import Lower
from django.utils import timezone

from ..choices import Role
from ..fields import MoneyField, PercentField, QuantityField, ZoneField, zone_named


class Build(models.Model):
    """One structure being built."""

    name = models.CharField(max_length=120)
    currency = models.CharField(max_length=3, default="USD")
    budget_amount = MoneyField(null=True, blank=True)
    contingency_percent = PercentField(null=True, blank=True)
    retail_tax_percent = PercentField(default=0)
    own_labour_rate = QuantityField(null=True, blank=True)
    # Settling up then takes own hours, at that rate, as paid by the person who worked them.
    own_hours_count = models.BooleanField(default=False)
    distance_unit = models.CharField(max_length=2, default="mi")
    # Where it stands: by its clocks deadlines are meant.
    time_zone = ZoneField()
    # Put away: out of the first view of the list, and nothing else.
    put_away_on = models.DateField(null=True, blank=True)
    created_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                condition=models.Q(own_hours_count=False) | models.Q(own_labour_rate__isnull=False),
                name="own_hours_need_a_rate",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def zone(self) -> tzinfo:
        """The rules of its time zone."""
        return zone_named(self.time_zone)


class BuildArea(models.Model):
    """A measured area of a build, in the unit it was typed in."""

    FLOOR, ENVELOPE = "Floor area", "Envelope area"

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="areas")
    label = models.CharField(max_length=60)
    area_qty = QuantityField()
    area_unit = models.CharField(max_length=12)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("label"), name="one_area_per_label"),
            models.CheckConstraint(condition=models.Q(area_qty__gt=0), name="area_above_zero"),
        ]

    def __str__(self) -> str:
        return self.label


class DistanceRate(models.Model):
    """Money per unit of distance from a date on; ``from_on`` empty means from the beginning."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="distance_rates")
    from_on = models.DateField(null=True, blank=True)
    rate = QuantityField()

    class Meta:
        ordering = ["from_on", "pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "from_on"], name="one_rate_per_date"),
            # Two empty dates are not equal to a database, so they need a constraint of their own.
            models.UniqueConstraint(
                fields=["build"],
                condition=models.Q(from_on__isnull=True),
                name="one_rate_from_the_beginning",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rate} from {self.from_on or 'the beginning'}"


class Element(models.Model):
    """A part of the building, coded after UNIFORMAT II or by the builder."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="elements")
    code = models.CharField(max_length=12)
    name = models.CharField(max_length=120)
    budget_amount = MoneyField(null=True, blank=True)

    class Meta:
        ordering = ["code", "pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("code"), name="one_element_per_code"),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class Member(models.Model):
    """A user's role on a build, and which of its people the user is."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="members")
    user = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.CASCADE, related_name="memberships"
    )
    role = models.CharField(max_length=12, choices=Role.choices)
    person = models.OneToOneField(
        "Person", on_delete=models.SET_NULL, null=True, blank=True, related_name="member"
    )
    joined_at = models.DateTimeField(default=timezone.now, editable=False)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(fields=["build", "user"], name="one_role_per_member"),
        ]

    def __str__(self) -> str:
        return f"{self.user} ({self.role})"


class Person(models.Model):
    """Somebody who pays or works on a build, with or without an account."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="persons")
    name = models.CharField(max_length=80)

    class Meta:
        ordering = [Lower("name"), "pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("name"), name="one_person_per_name"),
        ]

    def __str__(self) -> str:
        return self.name
