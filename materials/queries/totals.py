"""Sums of purchase lines, as the running totals must hold them."""

from decimal import Decimal
from typing import NamedTuple

from django.db.models import Count, Q, QuerySet, Sum

from ..models import Build, LineTotal, PurchaseLine


class TotalKey(NamedTuple):
    """What a running total is of."""

    component: int
    source: str
    state: str


class Sums(NamedTuple):
    """What a running total holds."""

    usable: Decimal
    landed: Decimal
    lines: int
    unknown: int

    def minus(self, other: "Sums") -> "Sums":
        """Difference, figure by figure."""
        return Sums(*(mine - theirs for mine, theirs in zip(self, other, strict=True)))

    def plus(self, other: "Sums") -> "Sums":
        """Sum, figure by figure."""
        return Sums(*(mine + theirs for mine, theirs in zip(self, other, strict=True)))


NOTHING = Sums(Decimal(0), Decimal(0), 0, 0)


def sum_by_key(lines: QuerySet[PurchaseLine]) -> dict[TotalKey, Sums]:
    """Lines summed by component, source and state."""
    rows = (
        lines.order_by()
        .values_list("component_id", "source", "purchase__state")
        .annotate(
            usable=Sum("usable_qty"),
            landed=Sum("landed_amount"),
            lines=Count("pk"),
            unknown=Count("pk", filter=Q(price_amount__isnull=True)),
        )
    )
    return {TotalKey(*row[:3]): Sums(*row[3:]) for row in rows}


def get_totals(build: Build) -> dict[TotalKey, Sums]:
    """The running totals as stored."""
    rows = LineTotal.objects.filter(build=build).values_list(
        "component_id",
        "source",
        "state",
        "usable_qty",
        "landed_amount",
        "line_count",
        "unknown_count",
    )
    return {TotalKey(*row[:3]): Sums(*row[3:]) for row in rows}
