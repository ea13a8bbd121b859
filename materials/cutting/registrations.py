"""What cutting plans add to the ledger."""

from ..tools import COMPONENT_PARTS, MADE_BY_CHANGE, ComponentPart
from .queries.beginning import may_be_cut
from .services import list_made

MADE_BY_CHANGE.append(list_made)
COMPONENT_PARTS.append(
    ComponentPart(
        "cutting/_of_component.html",
        lambda build, component: {"may_be_cut": may_be_cut(component)},
    )
)
