"""What lifetime comparisons add to the ledger."""

from ..tools import COMPONENT_PARTS, ComponentPart
from .queries.comparisons import list_life_choices

COMPONENT_PARTS.append(
    ComponentPart(
        "lifecycle/_of_component.html",
        lambda build, component: {
            "choices": list(list_life_choices(build).filter(component=component))
        },
    )
)
