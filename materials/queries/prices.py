"""Reading new retail prices."""

from django.db.models import QuerySet

from ..models import Build, RetailPrice


def list_prices(build: Build) -> QuerySet[RetailPrice]:
    """New prices, newest first, with their component."""
    return RetailPrice.objects.filter(component__build=build).select_related("component")
