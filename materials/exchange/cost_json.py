"""The cost sheet as plain data: the JSON of ``manage.py cost_report``.

Money is rounded to the currency's minor unit, ratios to six places; quantities and hours
are plain decimals. Everything is text except counts; ``None`` is not known.
"""

from fractions import Fraction
from typing import Any

from ..calc.money import round_half_up
from ..calc.reports import ComponentRow, CostSheet
from ..calc.types import FATES

RATIO_PLACES = 6


def plain(value: Fraction | None, places: int = 6) -> str | None:
    """A quantity or hours: up to six places, trailing zeros removed."""
    if value is None:
        return None
    text = f"{round_half_up(value, places):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def ratio(value: Fraction | None) -> str | None:
    """An average, to six places."""
    return None if value is None else f"{round_half_up(value, RATIO_PLACES):f}"


def as_data(sheet: CostSheet) -> dict[str, Any]:
    """The report with the documented keys, in the documented order."""
    build = sheet.build

    def money(value: Fraction | None) -> str | None:
        return None if value is None else f"{round_half_up(value, build.places):f}"

    not_forecast = [row.position.component.name for row in sheet.not_forecast]
    by_kind = {str(kind): hours for kind, hours in sheet.hours.by_kind.items()}
    hours = {"total": sheet.hours.total, **by_kind, "extra": sheet.hours.extra}
    return {
        "build": build.name,
        "currency": build.currency,
        "areas": {
            row.area.key: {
                "area": plain(row.area.area),
                "unit": row.area.unit,
                "cost": ratio(row.cost),
                "cost_with_own_labour": ratio(row.cost_with_own_labour),
                "retail_equivalent": ratio(row.retail_equivalent),
            }
            for row in sheet.areas
        },
        "material_cost": money(sheet.total.cost),
        "paid_labour": money(sheet.hours.paid_labour),
        "own_labour_value": money(sheet.own_labour_value),
        "spent": money(sheet.spent),
        "committed": money(sheet.committed),
        "budget": money(sheet.budget),
        "contingency": money(sheet.contingency),
        "remaining": money(sheet.remaining),
        "forecast": {
            "low": money(sheet.forecast.low),
            "high": money(sheet.forecast.high),
            # Beside the documented keys, and only where there is something to say.
            **({"left_out": not_forecast} if not_forecast else {}),
        },
        "retail_equivalent": money(sheet.total.retail_equivalent),
        "savings": money(sheet.savings),
        "savings_percent": ratio(sheet.savings_percent),
        "savings_after_own_labour": money(sheet.savings_after_own_labour),
        "saved_per_extra_hour": ratio(sheet.saved_per_extra_hour),
        "hours": {str(kind): plain(value) for kind, value in hours.items()},
        "unpriced": {
            "components": len(sheet.unpriced),
            "cost": money(sum((row.position.known_money for row in sheet.unpriced), Fraction(0))),
        },
        "by_source": {
            row.source: {
                "cost": money(row.cost),
                "retail_equivalent": money(row.retail_equivalent),
            }
            for row in sheet.sources
        },
        "by_element": [
            {
                "code": row.element.code if row.element else "",
                "name": row.element.name if row.element else "No element",
                "cost": money(row.figures.cost),
                "retail_equivalent": money(row.figures.retail_equivalent),
                "savings": money(row.figures.savings),
                "budget": money(row.element.budget if row.element else None),
            }
            for row in sheet.elements
        ],
        "by_task": [
            {
                "task": row.task.name if row.task else None,
                "hours": plain(row.hours),
                "planned": plain(row.task.planned_hours if row.task else None),
            }
            for row in sheet.tasks
        ],
        "by_person": [
            {
                "person": row.share.person.name,
                "paid_out": money(row.share.person.paid_out),
                "hours": plain(row.hours),
                "share": money(row.share.share),
                "balance": money(row.share.balance),
            }
            for row in sheet.persons
        ],
        "components": [_component(row, money) for row in sheet.components],
    }


def _component(row: ComponentRow, money: Any) -> dict[str, Any]:
    position, part = row.position, row.position.component
    return {
        "component": part.name,
        "unit": part.unit,
        "required": plain(part.required),
        "received": plain(part.received),
        "converted_in": plain(position.converted_in),
        "converted_out": plain(position.converted_out),
        **{fate: plain(getattr(part, fate)) for fate in FATES},
        "moved": plain(position.moved),
        "in_building": plain(position.in_building),
        "still_needed": plain(position.still_needed),
        "average_landed_cost": ratio(position.average),
        "cost": money(position.cost),
        "retail_equivalent": money(row.retail_equivalent),
        "savings": money(row.savings),
        # Beside the documented keys, and only where there is something to say.
        **({"moved_in": plain(part.moved_in)} if part.moved_in else {}),
    }
