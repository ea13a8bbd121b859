"""Sums of purchase lines, as the running totals must hold them."""

from decimal import Decimal
from typing import Any, NamedTuple

from django.db.models import Count, Q, QuerySet, Sum

from ..models import Build, LineTotal, Purchase, PurchaseLine


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
        return self.plus(Sums(-other.usable, -other.landed, -other.lines, -other.unknown))

    def plus(self, other: "Sums") -> "Sums":
        return Sums(
            self.usable + other.usable,
            self.landed + other.landed,
            self.lines + other.lines,
            self.unknown + other.unknown,
        )


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


# What a choice of lines may ask, and where the sums for it are kept already.
_OF_TOTALS = {
    "component": "component",
    "element": "component__element",
    "source": "source",
    "state": "state",
}
_OF_PURCHASES = {
    "state": "state",
    "supplier": "supplier",
    "paid_by": "paid_by",
    "since": "bought_on__gte",
    "until": "bought_on__lte",
}


def sum_chosen_lines(build: Build, chosen: dict[str, Any]) -> dict[str, Any] | None:
    """Landed total, number and lines of no known price of a choice of lines, without reading them.

    ``chosen``: field of the choice to its value, "null" for none stated. None where no stored
    sums tell: the lines themselves must be summed.
    """
    for names, kept in ((_OF_TOTALS, LineTotal.objects), (_OF_PURCHASES, Purchase.objects)):
        if chosen.keys() <= names.keys():
            sums = (
                kept.filter(build=build, **_asked(names, chosen))
                .order_by()
                .aggregate(
                    landed=Sum("landed_amount"),
                    lines=Sum("line_count"),
                    unknown=Sum("unknown_count"),
                )
            )
            return sums | {"lines": sums["lines"] or 0, "unknown": sums["unknown"] or 0}
    return None


def count_chosen_lines(build: Build, chosen: dict[str, Any]) -> dict[int, int] | None:
    """How many lines of a choice each component has that has any, from the same sums.

    None where they do not tell.
    """
    if not chosen.keys() <= _OF_TOTALS.keys():
        return None
    kept = LineTotal.objects.filter(build=build, line_count__gt=0, **_asked(_OF_TOTALS, chosen))
    return dict(kept.order_by().values_list("component_id").annotate(n=Sum("line_count")))


def _asked(names: dict[str, str], chosen: dict[str, Any]) -> dict[str, Any]:
    return {names[name]: None if value == "null" else value for name, value in chosen.items()}
