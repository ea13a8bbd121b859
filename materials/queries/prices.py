"""Reading new retail prices."""

from datetime import date

from django.db.models import OuterRef, QuerySet, Subquery

from ..models import Build, Component, RetailPrice


def list_prices(build: Build) -> QuerySet[RetailPrice]:
    """New prices, newest first, with their component."""
    return RetailPrice.objects.filter(component__build=build).select_related("component")


def list_newest_prices(build: Build, on: date) -> QuerySet[RetailPrice]:
    """The newest new price of each component on or before a date: one at most for each."""
    newest = RetailPrice.objects.filter(component=OuterRef("pk"), priced_on__lte=on).order_by(
        "-priced_on", "-pk"
    )
    picked = (
        Component.objects.filter(build=build)
        .order_by()
        .annotate(newest=Subquery(newest.values("pk")[:1]))
        .values("newest")
    )
    return RetailPrice.objects.filter(pk__in=picked).order_by()
