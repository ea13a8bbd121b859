"""What cutting plans add to the ledger."""

from ..queries.history import add_words
from ..queries.records import add_kind
from ..services.history import add_record_type
from ..tools import COMPONENT_PARTS, MADE_BY_CHANGE, STOCK_PAGES, ComponentPart
from ..views.records import add_list
from .models import CuttingPlan
from .queries.starting_rows import may_be_cut
from .services import list_logged

MADE_BY_CHANGE.append(list_logged)
STOCK_PAGES["cutting_plans"] = "Cutting plans"
COMPONENT_PARTS.append(
    ComponentPart(
        "cutting/_of_component.html",
        lambda build, component: {"may_be_cut": may_be_cut(component)},
    )
)
add_record_type("cutting plan", CuttingPlan, ("hand", "buy", "needs", "taken"), name_field="name")
add_kind("cutting-plan", CuttingPlan)
add_list("cutting-plan", "cutting_plans", "cutting")
add_words(
    fields={
        "planned_on": "date",
        "kerf_text": "saw cut",
        "keep_text": "off-cuts kept from",
        "length_text": "length",
        "trim_text": "cut off at each end",
        "width_text": "width",
        "method": "what to cut",
        "may_turn": "may be turned",
        "is_triangle": "triangle",
        "corner_text": "third corner at",
        "most": "at most",
    },
    rows={
        "cuttinghand": "on hand",
        "cuttingbuy": "to buy",
        "cuttingneed": "piece",
        "cuttingtaken": "logged",
    },
)
