"""Reading builds, elements and people."""

from django.db.models import QuerySet

from ..models import Build, Element, Person


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
