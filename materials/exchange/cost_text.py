"""The cost sheet as plain text for a terminal."""

from collections.abc import Iterator
from fractions import Fraction
from functools import partial

from ..calc.measures import format_quantity
from ..calc.reports import CostSheet
from ..calc.units import find_unit
from ..templatetags.figures import hours, money_text, percent, plain, rate_text


def sheet_lines(sheet: CostSheet) -> Iterator[str]:
    """Lines of the report, narrow enough for an 80-column terminal."""
    yield f"Cost sheet of {sheet.build.name}"
    yield ""
    yield from _figures(sheet)
    yield ""
    yield "By element (cost, against new)"
    yield from _elements(sheet)
    yield ""
    yield "Hours"
    for kind, value in sheet.hours.by_kind.items():
        yield _row(str(kind.value).capitalize(), hours(value))
    yield _row("All", hours(sheet.hours.total))
    yield from _still_needed(sheet)
    yield from _left_out(sheet)


def _row(label: str, text: str) -> str:
    return f"  {label:<44}{text:>30}"


def _money(sheet: CostSheet, value: Fraction | None) -> str:
    return "not known" if value is None else money_text(value, sheet.build.currency)


def _figures(sheet: CostSheet) -> Iterator[str]:
    money = partial(_money, sheet)
    yield _row("Budget (contingency apart)", money(sheet.budget))
    yield _row("Spent", money(sheet.spent))
    yield _row("Committed", money(sheet.committed))
    yield _row("Remaining", money(sheet.remaining))
    yield _row("Contingency", money(sheet.contingency))
    yield _row("Forecast, low end", money(sheet.forecast.low))
    yield _row("Forecast, high end", money(sheet.forecast.high))
    yield ""
    yield _row("Material cost in the building", money(sheet.total.cost))
    yield _row("Retail equivalent of priced components", money(sheet.total.retail_equivalent))
    yield _row("Cost of the same components", money(sheet.total.priced_cost))
    share = sheet.savings_percent
    of_new = "" if share is None else f" ({percent(share)})"
    yield _row("Savings", money(sheet.savings) + of_new)
    yield _row("Savings after own labour", money(sheet.savings_after_own_labour))
    yield _row("Saved per extra hour", money(sheet.saved_per_extra_hour))
    yield _row("Paid labour", money(sheet.hours.paid_labour))
    yield _row("Own labour at the stated rate", money(sheet.own_labour_value))
    for area in sheet.areas:
        if area.area.area is not None:
            size = f"{plain(area.area.area, 2, trim=True)} {area.area.unit}"
            cost = (
                "not known"
                if area.cost is None
                else rate_text(area.cost, sheet.build.currency, exact=True)
            )
            yield _row(f"Cost per {area.area.unit}, {area.area.label.lower()} {size}", cost)


def _elements(sheet: CostSheet) -> Iterator[str]:
    for row in sheet.elements:
        label = f"{row.element.code} {row.element.name}" if row.element else "No element"
        cost, new = row.figures.cost, row.figures.retail_equivalent
        yield _row(label[:43], f"{_money(sheet, cost)} / {_money(sheet, new)}")


def _still_needed(sheet: CostSheet) -> Iterator[str]:
    needed = [line.position for line in sheet.components if line.position.still_needed]
    if needed:
        yield ""
        yield "Still needed"
    for position in needed:
        part = position.component
        quantity = format_quantity(position.still_needed or 0, find_unit(part.unit), 3)
        yield _row(part.name[:43], quantity)


def _left_out(sheet: CostSheet) -> Iterator[str]:
    if sheet.unpriced or sheet.unknown_lines or sheet.not_forecast or sheet.priced_as_bought:
        yield ""
        yield "Left out"
    if sheet.unpriced:
        yield f"  Components without a new price, left out of both sides: {len(sheet.unpriced)}."
    if sheet.priced_as_bought:
        names = "; ".join(row.position.component.name for row in sheet.priced_as_bought)
        yield f"  Without a new price, counted at what you paid for it new: {names}."
    if sheet.unknown_lines:
        yield f"  Received lines without a known price: {sheet.unknown_lines}."
    if sheet.not_forecast:
        names = "; ".join(row.position.component.name for row in sheet.not_forecast)
        yield f"  Still needed but without any price, left out of the forecast: {names}."
