"""The cost sheet as plain text for a terminal."""

from collections.abc import Iterator
from fractions import Fraction

from ..calc.measures import format_quantity
from ..calc.reports import CostSheet
from ..calc.units import find_unit
from ..templatetags.figures import hours, money_text, percent, plain, rate_text


def sheet_lines(sheet: CostSheet) -> Iterator[str]:
    """Lines of the report, narrow enough for an 80-column terminal."""
    build, currency = sheet.build, sheet.build.currency

    def money(value: Fraction | None) -> str:
        return "not known" if value is None else money_text(value, currency)

    def row(label: str, text: str) -> str:
        return f"  {label:<44}{text:>30}"

    yield f"Cost sheet of {build.name}"
    yield ""
    yield row("Budget (contingency apart)", money(sheet.budget))
    yield row("Spent", money(sheet.spent))
    yield row("Committed", money(sheet.committed))
    yield row("Remaining", money(sheet.remaining))
    yield row("Contingency", money(sheet.contingency))
    yield row("Forecast, low end", money(sheet.forecast.low))
    yield row("Forecast, high end", money(sheet.forecast.high))
    yield ""
    yield row("Material cost in the building", money(sheet.total.cost))
    yield row("Retail equivalent of the priced components", money(sheet.total.retail_equivalent))
    yield row("Cost of the same components", money(sheet.total.priced_cost))
    share = sheet.savings_percent
    of_new = "" if share is None else f" ({percent(share)})"
    yield row("Savings", money(sheet.savings) + of_new)
    yield row("Savings after own labour", money(sheet.savings_after_own_labour))
    yield row("Saved per extra hour", money(sheet.saved_per_extra_hour))
    yield row("Paid labour", money(sheet.hours.paid_labour))
    yield row("Own labour at the stated rate", money(sheet.own_labour_value))
    for area in sheet.areas:
        if area.area.area is not None:
            size = f"{plain(area.area.area, 2, trim=True)} {area.area.unit}"
            cost = "not known" if area.cost is None else rate_text(area.cost, currency)
            yield row(f"Cost per {area.area.unit}, {area.area.label.lower()} {size}", cost)
    yield ""
    yield "By element (cost, against new)"
    for element in sheet.elements:
        label = (
            f"{element.element.code} {element.element.name}" if element.element else "No element"
        )
        new = element.figures.retail_equivalent
        yield row(label[:43], f"{money(element.figures.cost)} / {money(new)}")
    yield ""
    yield "Hours"
    for kind, value in sheet.hours.by_kind.items():
        yield row(str(kind.value).capitalize(), hours(value))
    yield row("All", hours(sheet.hours.total))
    needed = [line.position for line in sheet.components if line.position.still_needed]
    if needed:
        yield ""
        yield "Still needed"
        for position in needed:
            unit = find_unit(position.component.unit)
            yield row(
                position.component.name[:43], format_quantity(position.still_needed or 0, unit, 3)
            )
    if sheet.unpriced or sheet.unknown_lines:
        yield ""
        yield "Left out"
        if sheet.unpriced:
            yield f"  Components without a new price, out of both sides: {len(sheet.unpriced)}."
        if sheet.unknown_lines:
            yield f"  Received lines without a known price: {sheet.unknown_lines}."
