"""What lifetime comparisons add to the ledger."""

from ..queries.records import add_kind
from ..services.history import add_record_type
from ..tools import COMPONENT_PARTS, ComponentPart
from ..views.records import add_list
from .models.comparisons import LifeChoice
from .models.indexes import CostIndex
from .queries.comparisons import list_life_choices

COMPONENT_PARTS.append(
    ComponentPart(
        "lifecycle/_of_component.html",
        lambda build, component: {
            "choices": list(list_life_choices(build).filter(component=component))
        },
    )
)
add_record_type("life choice", LifeChoice, ("alternatives",))
add_kind("life-choice", LifeChoice)
add_list("life-choice", "life_choices", "lifecycle")
add_record_type("cost index", CostIndex, ("months",), name_field="name")
add_kind("cost-index", CostIndex)
add_list("cost-index", "cost_indexes", "lifecycle")
