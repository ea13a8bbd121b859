"""Explaining a figure: one sentence, the parts it is made of, what it leaves out."""

from collections.abc import Callable

from ..reports import CostSheet
from . import (
    elements,
    money,
    savings,
    settling,
)
from .parts import Part, Trace, unpriced

_TRACES: dict[str, Callable[[CostSheet], Trace]] = {
    "budget": money.budget,
    "contingency": money.contingency,
    "spent": money.spent,
    "committed": money.committed,
    "remaining": money.remaining,
    "forecast_low": lambda sheet: money.forecast(sheet, "low"),
    "forecast_high": lambda sheet: money.forecast(sheet, "high"),
    "material_cost": money.material_cost,
    "retail_equivalent": savings.retail_equivalent,
    "priced_cost": savings.priced_cost,
    "savings": savings.savings,
    "savings_percent": savings.savings_percent,
    "savings_after_own_labour": savings.savings_after_own_labour,
    "saved_per_extra_hour": savings.saved_per_extra_hour,
    "paid_labour": savings.paid_labour,
    "own_labour_value": savings.own_labour_value,
    "hours": savings.hours,
    "preparing_hours": savings.preparing_hours,
    "extra_hours": savings.extra_hours,
    "own_hours": savings.own_hours,
    "taskless_hours": savings.taskless_hours,
}
FIGURES = tuple(_TRACES)


def trace(sheet: CostSheet, name: str) -> Trace | None:
    """The trace of a figure by name; None for no such figure.

    Also ``area_<position>`` the totals of elements (``elements.find``), and the
    figures of settling up (``settling.find``).
    """
    if name in _TRACES:
        return _TRACES[name](sheet)
    for position, row in enumerate(sheet.areas):
        if name == f"area_{position}":
            return Trace(
                name,
                f"Cost per unit of {row.area.label.lower()}",
                "Material cost in the building and paid labour, divided by the area.",
                row.cost,
                (
                    Part("", "Material cost", sheet.total.cost, "figure:material_cost"),
                    Part("+", "Paid labour", sheet.hours.paid_labour, "figure:paid_labour"),
                    Part("÷", row.area.label, row.area.area, "build", f"area:{row.area.unit}"),
                    Part("=", f"Cost per {row.area.unit}", row.cost),
                    Part("", "With own labour", row.cost_with_own_labour),
                    Part("", "Retail equivalent of priced components", row.retail_equivalent),
                    Part("", "Cost of the same components", row.compared_cost),
                ),
                unpriced(sheet),
            )
    return elements.find(sheet, name) or settling.find(sheet, name)
