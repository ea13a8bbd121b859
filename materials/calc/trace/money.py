"""Figures of money spent and planned, explained."""

from ..names import join_names
from ..reports import CostSheet
from .parts import (
    MOVED_OUT,
    Part,
    Trace,
    extra_cost,
    in_percent,
    landed_received,
    proceeds,
    sum_positions,
    unknown_cost,
)


def material_cost(sheet: CostSheet) -> Trace:
    moved_out = sum_positions(sheet, lambda p: p.component.moved_out_cost)
    fixed = (Part("−", MOVED_OUT, moved_out, "moves_out"),) if moved_out else ()
    return Trace(
        "material_cost",
        "Material cost",
        "What the material in the building has cost. All that was paid to get it and "
        "work it up counts, less what is on hand, moved away or sold. Scrap stays in.",
        sheet.total.cost,
        (
            Part("+", "Landed cost received", landed_received(sheet), "lines_received"),
            Part("+", "Extra cost of conversions", extra_cost(sheet), "conversions"),
            Part(
                "+",
                "Moved in from other builds",
                sum_positions(sheet, lambda p: p.component.moved_in_cost),
                "moves_in",
            ),
            Part(
                "−",
                "Value on hand",
                sum_positions(sheet, lambda p: p.component.on_hand * p.known_average),
                "left_on_hand",
            ),
            Part(
                "−",
                "Value moved to other builds",
                sum_positions(sheet, lambda p: p.component.moved * p.known_average),
                "left_moved",
            ),
            *fixed,
            Part("−", "Proceeds of sales", proceeds(sheet), "left_sold"),
        ),
        unknown_cost(sheet),
    )


def spent(sheet: CostSheet) -> Trace:
    return Trace(
        "spent",
        "Spent",
        "Cash paid out for this build so far.",
        sheet.spent,
        (
            Part("+", "Landed cost received", landed_received(sheet), "lines_received"),
            Part("+", "Paid labour", sheet.hours.paid_labour, "labour_paid"),
            Part("+", "Extra cost of conversions", extra_cost(sheet), "conversions"),
            Part("−", "Proceeds of sales", proceeds(sheet), "left_sold"),
        ),
        unknown_cost(sheet),
    )


def committed(sheet: CostSheet) -> Trace:
    unknown = sheet.build.unknown_ordered_lines
    left = (f"Ordered lines without a known price, left out: {unknown}.",) if unknown else ()
    return Trace(
        "committed",
        "Committed",
        "Landed cost of what is ordered but not yet received.",
        sheet.committed,
        (Part("+", "Landed cost ordered", sheet.committed, "lines_ordered"),),
        left,
    )


def budget(sheet: CostSheet) -> Trace:
    return Trace(
        "budget",
        "Budget",
        "The budget stated for the build, contingency not included.",
        sheet.budget,
        (Part("+", "Stated on the build", sheet.budget, "build"),),
    )


def contingency(sheet: CostSheet) -> Trace:
    return Trace(
        "contingency",
        "Contingency",
        "Set aside on top of the budget; never spent unless you say so.",
        sheet.contingency,
        (
            Part("", "Budget", sheet.budget, "build"),
            Part("×", "Contingency", in_percent(sheet.build.contingency_share), "build", "stated"),
        ),
    )


def remaining(sheet: CostSheet) -> Trace:
    return Trace(
        "remaining",
        "Remaining",
        "Budget less what is spent and committed; contingency is not touched.",
        sheet.remaining,
        (
            Part("+", "Budget", sheet.budget, "build"),
            Part("−", "Spent", sheet.spent, "figure:spent"),
            Part("−", "Committed", sheet.committed, "figure:committed"),
        ),
    )


def forecast(sheet: CostSheet, end: str) -> Trace:
    low = end == "low"
    amount = sheet.forecast.low if low else sheet.forecast.high
    names = {row.position.component.key: row.position.component.name for row in sheet.components}
    missing = join_names(names[key] for key in sheet.forecast.left_out)
    return Trace(
        f"forecast_{end}",
        "Forecast, low end" if low else "Forecast, high end",
        "Spent and committed, with what is still needed bought "
        + ("at the average paid so far." if low else "new at retail.")
        + " If one price is missing, the other is used.",
        amount,
        (
            Part("+", "Spent", sheet.spent, "figure:spent"),
            Part("+", "Committed", sheet.committed, "figure:committed"),
            Part(
                "+",
                "Still needed",
                amount - sheet.spent - sheet.committed,
                "components_needed",
            ),
        ),
        (f"Needed, but with no price at all: {missing}.",) if missing else (),
    )
