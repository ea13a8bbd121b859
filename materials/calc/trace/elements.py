"""Totals over the elements that have a budget, explained: each opens to its elements."""

from collections.abc import Callable
from fractions import Fraction

from ..exact import add_up
from ..progress.money import ElementBudget, element_budgets
from ..reports import CostSheet
from .parts import Part, Trace

ZERO = Fraction(0)
_SUMS: dict[str, tuple[str, str, Callable[[ElementBudget], Fraction | None]]] = {
    "element_budgets": ("Budgets of the elements", "What is stated for each.", lambda b: b.budget),
    "element_cost": (
        "In the building, elements with a budget",
        "Cost of the material that is in them.",
        lambda b: b.cost,
    ),
    "element_ordered": (
        "Ordered, elements with a budget",
        "Landed cost of what is ordered for them and has not come yet.",
        lambda b: b.committed,
    ),
    "element_left": (
        "Left, elements with a budget",
        "Their budgets less what is in the building and ordered.",
        lambda b: b.left,
    ),
}
NAMES = tuple(_SUMS)


def find(sheet: CostSheet, name: str) -> Trace | None:
    """One of ``NAMES``; None for any other, or where no element has a budget."""
    if name not in _SUMS:
        return None
    label, sentence, value = _SUMS[name]
    rows = [row for row in element_budgets(sheet) if row.budget is not None]
    parts = tuple(
        Part(
            "+", f"{row.element.code} {row.element.name}", value(row), f"element:{row.element.key}"
        )
        for row in rows
        if row.element is not None and value(row)
    )
    return Trace(name, label, sentence, add_up(value(row) or ZERO for row in rows), parts)
