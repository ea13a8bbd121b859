"""Explaining a figure: one sentence, the parts it is made of, what it leaves out."""

from collections.abc import Callable

from . import trace_money, trace_savings, trace_settling
from .reports import CostSheet
from .traced import Part, Trace, unpriced

_TRACES: dict[str, Callable[[CostSheet], Trace]] = {
    "budget": trace_money.budget,
    "contingency": trace_money.contingency,
    "spent": trace_money.spent,
    "committed": trace_money.committed,
    "remaining": trace_money.remaining,
    "forecast_low": lambda sheet: trace_money.forecast(sheet, "low"),
    "forecast_high": lambda sheet: trace_money.forecast(sheet, "high"),
    "material_cost": trace_money.material_cost,
    "retail_equivalent": trace_savings.retail_equivalent,
    "savings": trace_savings.savings,
    "savings_percent": trace_savings.savings_percent,
    "savings_after_own_labour": trace_savings.savings_after_own_labour,
    "saved_per_extra_hour": trace_savings.saved_per_extra_hour,
    "paid_labour": trace_savings.paid_labour,
    "own_labour_value": trace_savings.own_labour_value,
    "hours": trace_savings.hours,
}
FIGURES = tuple(_TRACES)


def trace(sheet: CostSheet, name: str) -> Trace | None:
    """The trace of a figure by name; None for no such figure.

    Also ``area_<position>`` and the figures of settling up (``trace_settling.find``).
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
                    Part("", "Beside it: with own labour", row.cost_with_own_labour),
                    Part("", "Beside it: bought new", row.retail_equivalent),
                ),
                unpriced(sheet),
            )
    return trace_settling.find(sheet, name)
