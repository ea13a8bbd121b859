"""What lifetime comparisons add to the ledger."""

from ..queries.history import add_words
from ..queries.records import add_kind
from ..services.history import add_record_type
from ..tools import COMPONENT_PARTS, LESSON_PARTS, ComponentPart, LessonPart
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
LESSON_PARTS.append(
    LessonPart(
        "lifecycle/_of_lesson.html",
        lambda build, lesson: {"choices": list(list_life_choices(build).filter(lesson=lesson))},
    )
)
add_record_type("life choice", LifeChoice, ("alternatives",))
add_kind("life-choice", LifeChoice)
add_list("life-choice", "life_choices", "lifecycle")
add_record_type("cost index", CostIndex, ("months",), name_field="name")
add_kind("cost-index", CostIndex)
add_list("cost-index", "cost_indexes", "lifecycle")
add_words(
    fields={
        "study_years": "years looked at",
        "rate_percent": "discount rate, %",
        "rate_kind": "kind of rate",
        "inflation_percent": "inflation, %",
        "hours_rate": "value of an own hour",
        "first_amount": "first cost",
        "first_low_amount": "lowest first cost",
        "first_high_amount": "highest first cost",
        "first_hours": "first hours",
        "life_low_years": "shortest life",
        "life_high_years": "longest life",
        "upkeep_every": "upkeep every so many years",
        "upkeep_amount": "cost of upkeep",
        "upkeep_hours": "hours of upkeep",
        "upkeep_change_percent": "yearly rise of upkeep, %",
        "again_amount": "cost of replacing",
        "again_hours": "hours of replacing",
        "drags_along": "replacing drags along",
        "drag_amount": "cost of what is dragged along",
        "drag_hours": "hours of what is dragged along",
        "residual_amount": "left at the end",
        "basis": "where its figures come from",
    },
    rows={
        "lifealternative": "alternative",
        "costindexvalue": "month",
    },
)
