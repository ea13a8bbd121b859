"""Purchases with their lines and charges.

Fields in ``DERIVED`` are worked out by ``services.ledger`` alone and re-derived by
``manage.py check_ledger``; they exist so that SQL can sum them.
"""

from datetime import date, time
from typing import Any

from django.db import models
from django.db.models import Q
from django.db.models.functions import Lower

from ..calc.deadlines import Due
from ..calc.types import Basis, PercentOn
from ..choices import LOT_SPLITS, PERCENT_ON, SPLITS, ChargeKind, ObtainedBy, Source, State
from ..fields import HoursField, MoneyField, PercentField, QuantityField
from .builds import Build, Person
from .components import Component
from .suppliers import Supplier


class Purchase(models.Model):
    """One acquisition, paid or free."""

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="purchases")
    number = models.CharField(max_length=40)
    bought_on = models.DateField()
    supplier = models.ForeignKey(
        Supplier, on_delete=models.PROTECT, null=True, blank=True, related_name="purchases"
    )
    state = models.CharField(max_length=10, choices=State.choices, default=State.RECEIVED)
    paid_by = models.ForeignKey(
        Person, on_delete=models.PROTECT, null=True, blank=True, related_name="purchases"
    )
    lot_price_amount = MoneyField(null=True, blank=True)
    lot_split = models.CharField(max_length=12, choices=LOT_SPLITS, blank=True)
    # Hours an offer would take to fetch and prepare, as far as the builder can tell.
    expected_hours = HoursField(null=True, blank=True)
    # When an offer ends, and by when what is ordered must be fetched: by the build's clocks, the
    # end of the day where no time is stated.
    ends_on = models.DateField("ends on", null=True, blank=True)
    ends_time = models.TimeField("ends at", null=True, blank=True)
    fetch_on = models.DateField("fetch by", null=True, blank=True)
    fetch_time = models.TimeField("fetch by, at", null=True, blank=True)
    note = models.CharField(max_length=500, blank=True)
    landed_amount = MoneyField(default=0)
    line_count = models.PositiveIntegerField(default=0)
    unknown_count = models.PositiveIntegerField(default=0)
    # The moment of the deadline that counts in its state; None where there is none.
    due_at = models.DateTimeField(null=True, blank=True)

    DERIVED = frozenset({"landed_amount", "line_count", "unknown_count", "due_at"})

    class Meta:
        ordering = ["-bought_on", "-pk"]
        constraints = [
            models.UniqueConstraint("build", Lower("number"), name="one_purchase_per_number"),
            models.CheckConstraint(
                condition=(Q(ends_on__isnull=False) | Q(ends_time__isnull=True))
                & (Q(fetch_on__isnull=False) | Q(fetch_time__isnull=True)),
                name="no_time_without_a_day",
            ),
        ]
        indexes = [
            # What each person paid for is summed from it without reading the rows.
            models.Index(
                fields=["build", "state", "paid_by", "landed_amount"], name="purchase_paid"
            ),
            models.Index(fields=["build", "-id", "number"], name="purchase_entered"),
            # All that the list sorts and filters by, so that it need not read the rows.
            models.Index(
                fields=[
                    "build",
                    "bought_on",
                    "id",
                    "state",
                    "supplier",
                    "paid_by",
                    "number",
                    "line_count",
                    "unknown_count",
                    "landed_amount",
                    "due_at",
                ],
                name="purchase_list",
            ),
            models.Index(fields=["build", "due_at", "id"], name="purchase_due"),
        ]

    def __str__(self) -> str:
        return self.number

    @property
    def deadline(self) -> tuple[Due, date, time | None] | None:
        """The deadline that counts in its state: the end of an offer, the fetching of an order."""
        if self.state == State.OFFER and self.ends_on is not None:
            return Due.ENDS, self.ends_on, self.ends_time
        if self.state == State.ORDERED and self.fetch_on is not None:
            return Due.FETCH, self.fetch_on, self.fetch_time
        return None


# Orders of the list of lines, each with an index that holds all the list may be filtered by.
_FILTERS = ("component", "source", "of_state", "of_supplier", "of_payer", "of_day")
_SORTED = {
    "day": ("-of_day", "-purchase", "position"),
    "typed": ("base_qty",),
    "usable": ("usable_qty",),
    "landed": ("landed_amount",),
    "source": ("source",),
    "state": ("of_state",),
    "component": ("component",),
}
# What the sum of those chosen reads beside the filters, in one of these indexes: SQLite takes it.
_SUMMED = {"landed": ("price_amount",)}


def _of_purchase(model: type[models.Model]) -> "models.ForeignKey[Any, Any]":
    """A link repeated from the purchase, which guards it."""
    return models.ForeignKey(
        model,
        on_delete=models.DO_NOTHING,
        null=True,
        editable=False,
        db_constraint=False,
        db_index=False,
        related_name="+",
    )


class PurchaseLine(models.Model):
    """Some quantity of one component; ``quantity_text`` as typed, ``base_qty`` in its unit."""

    purchase = models.ForeignKey(Purchase, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveIntegerField(default=0)
    component = models.ForeignKey(Component, on_delete=models.PROTECT, related_name="lines")
    quantity_text = models.CharField(max_length=120)
    source = models.CharField(max_length=8, choices=Source.choices)
    obtained_by = models.CharField(max_length=16, choices=ObtainedBy.choices, blank=True)
    usable_percent = PercentField(default=100)
    unit_price = QuantityField(null=True, blank=True)
    price_per_text = models.CharField(max_length=60, blank=True)
    line_price_amount = MoneyField(null=True, blank=True)
    lot_weight = QuantityField(null=True, blank=True)
    # What a seller offers of it, as typed: cheaper from a quantity on, how much there is at most,
    # and in what steps it is sold. They serve the sourcing plan and change no cost.
    price_breaks = models.CharField(max_length=300, blank=True)
    most_text = models.CharField(max_length=120, blank=True)
    step_text = models.CharField(max_length=60, blank=True)
    # When what it was taken from was built, and whether that burnt; cautions ask for both.
    origin_year = models.PositiveSmallIntegerField(null=True, blank=True)
    through_fire = models.BooleanField(default=False)
    note = models.CharField(max_length=500, blank=True)
    base_qty = QuantityField()
    usable_qty = QuantityField()
    price_amount = MoneyField(null=True, blank=True)
    charges_amount = MoneyField(default=0)
    landed_amount = MoneyField(default=0)
    # What the list of lines is sorted and filtered by and its purchase says: one index can then
    # hold all of it. Its purchase keeps what these lead to from being deleted.
    of_build = _of_purchase(Build)
    of_day = models.DateField(null=True, editable=False)
    of_state = models.CharField(max_length=10, blank=True, editable=False)
    of_supplier = _of_purchase(Supplier)
    of_payer = _of_purchase(Person)

    DERIVED = frozenset(
        {
            "base_qty",
            "usable_qty",
            "price_amount",
            "charges_amount",
            "landed_amount",
            "of_build",
            "of_day",
            "of_state",
            "of_supplier",
            "of_payer",
        }
    )

    class Meta:
        ordering = ["position", "pk"]
        constraints = [
            models.CheckConstraint(condition=Q(base_qty__gt=0), name="line_above_zero"),
            models.CheckConstraint(
                condition=Q(usable_percent__gte=0) & Q(usable_percent__lte=100),
                name="usable_share_within_one",
            ),
            models.CheckConstraint(
                condition=Q(unit_price__isnull=True) | Q(line_price_amount__isnull=True),
                name="one_price_per_line",
            ),
        ]
        indexes = [
            models.Index(
                fields=[
                    "of_build",
                    *first,
                    "id",
                    *(one for one in _FILTERS if not {one, f"-{one}"} & set(first)),
                    *_SUMMED.get(name, ()),
                ],
                name=f"line_list_{name}",
            )
            for name, first in _SORTED.items()
        ]

    def __str__(self) -> str:
        return f"{self.quantity_text} {self.component}"


class Charge(models.Model):
    """Cost on top of the price: an amount, a percentage or a distance."""

    purchase = models.ForeignKey(Purchase, on_delete=models.CASCADE, related_name="charges")
    position = models.PositiveIntegerField(default=0)
    kind = models.CharField(max_length=16, choices=ChargeKind.choices)
    amount = MoneyField(null=True, blank=True)
    percent = PercentField(null=True, blank=True)
    percent_on = models.CharField(max_length=20, choices=PERCENT_ON, default=PercentOn.PRICE)
    distance_text = models.CharField(max_length=60, blank=True)
    spread_by = models.CharField(max_length=12, choices=SPLITS, default=Basis.PRICE)
    charged_amount = MoneyField(default=0)

    DERIVED = frozenset({"charged_amount"})

    class Meta:
        ordering = ["position", "pk"]

    def __str__(self) -> str:
        return self.get_kind_display()


class LineTotal(models.Model):
    """Running total of a build's lines of one component, source and state.

    Derived by ``services.totals`` alone, so that a cost sheet need not read every line.
    """

    build = models.ForeignKey(Build, on_delete=models.CASCADE, related_name="line_totals")
    component = models.ForeignKey(Component, on_delete=models.CASCADE, related_name="line_totals")
    source = models.CharField(max_length=8, choices=Source.choices)
    state = models.CharField(max_length=10, choices=State.choices)
    usable_qty = QuantityField(default=0)
    landed_amount = MoneyField(default=0)
    line_count = models.PositiveIntegerField(default=0)
    unknown_count = models.PositiveIntegerField(default=0)

    class Meta:
        constraints = [
            models.UniqueConstraint(
                fields=["build", "state", "component", "source"], name="one_running_total"
            ),
        ]

    def __str__(self) -> str:
        return f"{self.component} {self.source} {self.state}"
