"""What takeoffs add to the ledger."""

from ..queries.history import add_words
from ..queries.records import add_kind
from ..services.history import add_record_type
from ..services.versions import APART
from ..tools import CHECKS, COMPONENT_PARTS, DERIVATIONS, EXTENTS, ComponentPart
from ..views.records import add_list
from .models import Takeoff
from .queries import find_stale_takeoffs, list_extents, requirement_of
from .services import recalculate_takeoffs

CHECKS.append(find_stale_takeoffs)
DERIVATIONS.append(recalculate_takeoffs)
EXTENTS.append(list_extents)
COMPONENT_PARTS.append(
    ComponentPart(
        "takeoffs/_requirement.html",
        lambda build, component: {"requirement": requirement_of(component)},
    )
)
add_record_type("takeoff", Takeoff, ("uses",))
APART["takeoff"] = ("uses",)
add_words(fields={"inputs": "measures"}, rows={"takeoffuse": "used for"})
add_kind("takeoff", Takeoff)
add_list(
    "takeoff",
    "takeoffs",
    "takeoffs",
    "Required quantities and the build's areas stay as they are.",
)
