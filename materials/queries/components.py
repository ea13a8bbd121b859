"""Reading components."""

from django.db.models import QuerySet

from ..models import Build, Component


def list_components(build: Build) -> QuerySet[Component]:
    """Components by name, with their element."""
    return Component.objects.filter(build=build).select_related("element")
