"""Reading builds, elements and people."""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal

from django.db.models import QuerySet, Sum

from ..choices import State
from ..models import Build, BuildArea, Conversion, Element, LabourEntry, LeftOver, LineTotal, Person


def list_elements(build: Build) -> QuerySet[Element]:
    """Elements by code."""
    return Element.objects.filter(build=build)


def list_persons(build: Build) -> QuerySet[Person]:
    """People by name."""
    return Person.objects.filter(build=build)


def list_named(name: str) -> list[Build]:
    """All builds of a name, for the command line."""
    return list(Build.objects.filter(name=name))


def list_names() -> list[str]:
    """Names of all builds, in order."""
    return list(Build.objects.values_list("name", flat=True))


def list_all() -> QuerySet[Build]:
    """All builds, for the command line."""
    return Build.objects.order_by("pk")


def list_area_labels(builds: Iterable[Build]) -> list[str]:
    """Names of the areas that any of the builds measured, in the order they were first stated."""
    found: dict[str, str] = {}
    rows = BuildArea.objects.filter(build__in=[build.pk for build in builds]).order_by("pk")
    for label in rows.values_list("label", flat=True):
        found.setdefault(label.casefold(), label)
    return list(found.values())


def list_spent(builds: Iterable[Build]) -> dict[int, Decimal]:
    """What is spent on each build, in four queries however many there are.

    Landed cost received + paid labour + extra cost of conversions − proceeds of sales.
    """
    keys = [build.pk for build in builds]
    received = LineTotal.objects.filter(build__in=keys, state=State.RECEIVED)
    parts = (
        (received, "build", "landed_amount", 1),
        (LabourEntry.objects.filter(build__in=keys), "build", "paid_amount", 1),
        (Conversion.objects.filter(build__in=keys), "build", "extra_cost_amount", 1),
        (
            LeftOver.objects.filter(component__build__in=keys),
            "component__build",
            "proceeds_amount",
            -1,
        ),
    )
    spent: dict[int, Decimal] = defaultdict(Decimal)
    for rows, owner, amount, sign in parts:
        for build, total in rows.order_by().values_list(owner).annotate(total=Sum(amount)):
            spent[build] += sign * (total or Decimal(0))
    return spent


def list_committed(builds: Iterable[Build]) -> dict[int, Decimal]:
    """Landed cost of what is ordered in each build, in one query."""
    ordered = LineTotal.objects.filter(
        build__in=[build.pk for build in builds], state=State.ORDERED
    )
    rows = ordered.order_by().values_list("build").annotate(total=Sum("landed_amount"))
    return {build: total or Decimal(0) for build, total in rows}
