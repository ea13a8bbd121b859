"""Figures of the comparison with new, and of hours, explained."""

from fractions import Fraction

from ..exact import add_up
from ..labour import at_rate
from ..reports import CostSheet
from ..types import LabourKind
from .parts import Part, Trace, nameless_hours, unpriced

PREPARING = LabourKind.PREPARING


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


def priced_cost(sheet: CostSheet) -> Trace:
    return Trace(
        "priced_cost",
        "Cost of the same components",
        "Material cost of the components whose new price and cost are both known: the other side"
        " of the savings.",
        sheet.total.priced_cost,
        tuple(
            Part(
                "+",
                row.position.component.name,
                row.position.known_money,
                f"component:{row.position.component.key}",
            )
            for row in sheet.components
            if row.savings is not None and row.position.known_money
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
            Part("−", "Cost of the same components", sheet.total.priced_cost, "figure:priced_cost"),
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
            Part(
                "÷",
                "Sourcing and preparing hours",
                sheet.hours.extra,
                "figure:extra_hours",
                "hours",
            ),
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
            Part("", "Own hours", sheet.hours.own, "figure:own_hours", "hours"),
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
            Part(
                "+",
                kind.value.capitalize(),
                value,
                "figure:preparing_hours" if kind is PREPARING else f"labour:{kind.value}",
                "hours",
            )
            for kind, value in sheet.hours.by_kind.items()
        ),
        kind="hours",
    )


def preparing_hours(sheet: CostSheet) -> Trace:
    hours = sheet.hours.by_kind[PREPARING]
    return _with_conversions(sheet, "preparing_hours", "Preparing", hours, "labour:preparing")


def extra_hours(sheet: CostSheet) -> Trace:
    label = "Sourcing and preparing hours"
    return _with_conversions(sheet, "extra_hours", label, sheet.hours.extra, "labour_extra")


def own_hours(sheet: CostSheet) -> Trace:
    return _with_conversions(sheet, "own_hours", "Own hours", sheet.hours.own, "labour")


def taskless_hours(sheet: CostSheet) -> Trace:
    hours = add_up(row.hours for row in sheet.tasks if row.task is None)
    return _with_conversions(
        sheet, "taskless_hours", "Hours without a task", hours, "labour_taskless"
    )


def _with_conversions(sheet: CostSheet, name: str, label: str, hours: Fraction, link: str) -> Trace:
    """Hours that stand in two lists: those of entries, and those of conversions."""
    converting = nameless_hours(sheet)
    return Trace(
        name,
        label,
        "Hours of conversions are kept with the conversions.",
        hours,
        (
            Part("+", "Entries of hours", hours - converting, link, "hours"),
            Part("+", "Hours of conversions", converting, "conversions", "hours"),
        ),
        kind="hours",
    )
