"""What takeoffs add to the ledger."""

from ..tools import CHECKS, COMPONENT_PARTS, DERIVATIONS, ComponentPart
from .queries import find_stale_takeoffs, requirement_of
from .services import rework_takeoffs

CHECKS.append(find_stale_takeoffs)
DERIVATIONS.append(rework_takeoffs)
COMPONENT_PARTS.append(
    ComponentPart(
        "takeoffs/_requirement.html",
        lambda build, component: {"requirement": requirement_of(component)},
    )
)
