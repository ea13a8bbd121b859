"""Reading components."""

from django.db.models import QuerySet

from ..models import Build, Component
from .quantities import taught_by


def list_components(build: Build) -> QuerySet[Component]:
    """Components by name, with their element."""
    return Component.objects.filter(build=build).select_related("element")


def find_component(build: Build, name: str) -> Component | None:
    """The component of this name, upper and lower case alike, or None."""
    return Component.objects.filter(build=build, name__iexact=name).first()


def contents_typed(component: Component) -> str:
    """What the sizes in its newest lines say of each; empty where they say nothing or differ."""
    texts = component.lines.filter(quantity_text__contains="@").order_by("-pk")
    said = {
        taught_by(text, component) for text in texts.values_list("quantity_text", flat=True)[:20]
    }
    return said.pop() if len(said) == 1 else ""


def get_component(build: Build, pk: int) -> Component | None:
    """One component of the build by its number, or None."""
    return Component.objects.filter(build=build, pk=pk).first()
