"""Reading components."""

from django.db.models import QuerySet

from ..models import Build, Component


def list_components(build: Build) -> QuerySet[Component]:
    """Components by name, with their element."""
    return Component.objects.filter(build=build).select_related("element")


def find_component(build: Build, name: str) -> Component | None:
    """The component of this name, upper and lower case alike, or None."""
    return Component.objects.filter(build=build, name__iexact=name).first()


def get_component(build: Build, pk: int) -> Component | None:
    """One component of the build by its number, or None."""
    return Component.objects.filter(build=build, pk=pk).first()
