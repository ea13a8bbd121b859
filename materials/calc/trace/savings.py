"""Figures of the comparison with new, and of hours, explained."""

from ..labour import at_rate
from ..reports import CostSheet
from .parts import Part, Trace, unpriced


def retail_equivalent(sheet: CostSheet) -> Trace:
    return Trace(
        "retail_equivalent",
        "Retail equivalent",
        "What the same work would have cost new, tax included. Only components whose new "
        "price and cost are both known count.",
        sheet.total.retail_equivalent,
        tuple(
            Part(
                "+",
                row.position.component.name,
                row.retail_equivalent,
                f"component:{row.position.component.key}",
            )
            for row in sheet.components
            if row.savings is not None and row.retail_equivalent
        ),
        unpriced(sheet),
    )


def savings(sheet: CostSheet) -> Trace:
    return Trace(
        "savings",
        "Savings",
        "Retail equivalent less the material cost of the same components.",
        sheet.savings,
        (
            Part(
                "+", "Retail equivalent", sheet.total.retail_equivalent, "figure:retail_equivalent"
            ),
            Part("−", "Material cost of the priced components", sheet.total.priced_cost),
        ),
        unpriced(sheet),
    )


def savings_percent(sheet: CostSheet) -> Trace:
    return Trace(
        "savings_percent",
        "Savings, %",
        "Savings as a share of the retail equivalent.",
        sheet.savings_percent,
        (
            Part("", "Savings", sheet.savings, "figure:savings"),
            Part(
                "÷", "Retail equivalent", sheet.total.retail_equivalent, "figure:retail_equivalent"
            ),
        ),
        kind="percent",
    )


def savings_after_own_labour(sheet: CostSheet) -> Trace:
    own = sheet.hours.own_extra
    rate = sheet.build.own_labour_rate
    return Trace(
        "savings_after_own_labour",
        "Savings after own labour",
        "Savings less the hours spent sourcing and preparing. Own hours count at the "
        "stated rate, paid hours as paid.",
        sheet.savings_after_own_labour,
        (
            Part("+", "Savings", sheet.savings, "figure:savings"),
            Part(
                "−",
                "Own sourcing and preparing at the stated rate",
                at_rate(own, rate),
                "labour_own_extra",
            ),
            Part("−", "Paid sourcing and preparing", sheet.hours.paid_extra, "labour_paid_extra"),
        ),
        () if rate is not None else ("No rate for own labour is stated on the build.",),
    )


def saved_per_extra_hour(sheet: CostSheet) -> Trace:
    return Trace(
        "saved_per_extra_hour",
        "Saved per extra hour",
        "Savings for each hour of sourcing and preparing, the hours that salvage costs.",
        sheet.saved_per_extra_hour,
        (
            Part("", "Savings", sheet.savings, "figure:savings"),
            Part("÷", "Sourcing and preparing hours", sheet.hours.extra, "labour_extra", "hours"),
        ),
    )


def paid_labour(sheet: CostSheet) -> Trace:
    return Trace(
        "paid_labour",
        "Paid labour",
        "Money paid for hours.",
        sheet.hours.paid_labour,
        (Part("+", "Paid hours", sheet.hours.paid_labour, "labour_paid"),),
    )


def own_labour_value(sheet: CostSheet) -> Trace:
    return Trace(
        "own_labour_value",
        "Value of own labour",
        "Unpaid hours at the rate stated on the build. This is not cash.",
        sheet.own_labour_value,
        (
            Part("", "Own hours", sheet.hours.own, "labour", "hours"),
            Part("×", "Stated rate", sheet.build.own_labour_rate, "build", "rate"),
        ),
    )


def hours(sheet: CostSheet) -> Trace:
    return Trace(
        "hours",
        "Hours",
        "Everybody's hours; those of conversions count as preparing.",
        sheet.hours.total,
        tuple(
            Part("+", kind.value.capitalize(), value, f"labour:{kind.value}", "hours")
            for kind, value in sheet.hours.by_kind.items()
        ),
        kind="hours",
    )
