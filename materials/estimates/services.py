"""Keeping an estimate, and making it the budget and the requirements of its build."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.measures import format_quantity
from ..calc.money import minor_units, round_half_up
from ..calc.shopping import is_counted, whole
from ..calc.units import find_unit
from ..models import Build, BuildArea, Component, Element, Estimate
from ..queries.exchange import keyed, name_key
from ..services.builds import save_element
from ..services.components import save_component
from ..services.errors import LedgerError
from ..services.history import save_values
from ..services.ledger import lock_build
from .calc.estimate import estimate
from .calc.price_rise import PriceRise
from .calc.types import EstimatedPart, NextBuild, Spread
from .queries import list_pasts, list_wanted, map_contents

HOUR_PLACES, QUANTITY_PLACES = 2, 6


def estimate_from(
    builds: Sequence[Build], *, build: Build, area: BuildArea, rise: PriceRise
) -> tuple[NextBuild, dict[str, Any], list[str]]:
    """An estimate by an area of the build, the fields it is kept with, and who has no such area.

    Raises LedgerError where none of the earlier builds has one.
    """
    pasts, without = list_pasts(builds, rise.on, area.label, area.area_unit, rise.since)
    if not pasts:
        raise LedgerError(
            f"None of these builds has a measured {area.label.lower()}: measure one under its"
            " Build details, or compare by another area.",
            "builds",
        )
    made = estimate(pasts, list_wanted(build, rise.on), Fraction(area.area_qty))
    values = {
        "made_on": rise.on,
        "area_label": area.label,
        "area_qty": area.area_qty,
        "area_unit": area.area_unit,
        "past_count": len(pasts),
        "escalation": rise.summary()[:400],
    }
    return made, values, without


def as_figures(made: NextBuild, places: int) -> dict[str, Any]:
    """An estimate as JSON holds it: money to the minor unit, all numbers as text."""
    contents = map_contents([part.contents_of for part in made.parts if part.contents_of])
    return {
        "elements": [
            {
                "code": row.code,
                "name": row.name,
                "cost": _texts(row.cost, places),
                "stated": _text(row.stated, places),
                "hours": None if row.hours is None else _texts(row.hours, HOUR_PLACES),
                "builds": row.builds,
            }
            for row in made.elements
        ],
        "parts": [
            {
                "name": part.name,
                "unit": part.unit,
                "code": part.code,
                "contents": contents.get(part.contents_of, ""),
                "quantity": _quantity(part),
                "of_one": _texts(part.of_one, QUANTITY_PLACES),
                "cost": _texts(part.cost, places),
                "is_stated": part.is_stated,
                "is_borrowed": part.is_borrowed,
                "builds": part.builds,
            }
            for part in made.parts
        ],
        "paid_labour": _texts(made.paid_labour, places),
        "hours_apart": _texts(made.hours_apart, HOUR_PLACES),
        "unknown": [one.name for one in made.unknown],
        "left_out": list(made.left_out),
    }


def _text(value: Fraction, places: int) -> str:
    return f"{round_half_up(value, places):f}"


def _texts(ends: Spread, places: int) -> list[str]:
    return [_text(value, places) for value in (ends.low, ends.likely, ends.high)]


def _quantity(part: EstimatedPart) -> str:
    """A quantity as it will be required: whole ones of what is counted, unless it was stated."""
    is_whole = is_counted(part.unit) and not part.is_stated and not part.is_borrowed
    return _text(whole(part.quantity) if is_whole else part.quantity, QUANTITY_PLACES)


@transaction.atomic
def save_estimate(
    *, actor: User, build: Build, made: NextBuild, values: dict[str, Any]
) -> Estimate:
    """Keep an estimate as it stands. Raises LedgerError where there is nothing in it."""
    lock_build(build)
    if not made.elements and not made.unknown:
        raise LedgerError(
            "These builds hold nothing to learn from yet: no material with a known cost, "
            "and no hours on tasks."
        )
    record = Estimate(build=build)
    figures = as_figures(made, minor_units(build.currency))
    save_values(actor=actor, build=build, record=record, values={**values, "figures": figures})
    return record


@transaction.atomic
def use_estimate(
    *,
    actor: User,
    build: Build,
    estimate: Estimate,
    on: date,
    budgets: bool,
    requirements: bool,
) -> tuple[int, int]:
    """Make an estimate the build's budget (likely amounts) and its requirements.

    Elements get their likely material as budget and the build the likely total; contingency is
    left as it is. Components without a stated quantity get the estimated one, and those that are
    not there are added. What is stated already stays. Returns how many elements and components
    were written. Every change stands in the history by itself.
    """
    lock_build(build)
    if not budgets and not requirements:
        raise LedgerError("Tick what the estimate should become.")
    elements = _write_budgets(actor, build, estimate) if budgets else 0
    parts = _write_parts(actor, build, estimate) if requirements else 0
    save_values(actor=actor, build=build, record=estimate, values={"used_on": on})
    return elements, parts


def _write_budgets(actor: User, build: Build, estimate: Estimate) -> int:
    there = {element.code: element for element in Element.objects.filter(build=build)}
    total = Decimal(estimate.figures["paid_labour"][1])
    count = 0
    for row in estimate.figures["elements"]:
        likely = Decimal(row["cost"][1])
        total += likely
        if not row["code"] or not likely:
            continue
        element = there.get(row["code"]) or Element(build=build)
        values: dict[str, Any] = {"budget_amount": likely}
        if element.pk is None:
            values |= {"code": row["code"], "name": row["name"] or row["code"]}
        save_element(actor=actor, build=build, element=element, values=values)
        count += 1
    save_values(actor=actor, build=build, record=build, values={"budget_amount": total})
    return count


def _write_parts(actor: User, build: Build, estimate: Estimate) -> int:
    there = keyed(Component, build)
    elements = {element.code: element for element in Element.objects.filter(build=build)}
    parts = Component.objects.in_bulk(there.values())
    count = 0
    for row in estimate.figures["parts"]:
        if row["is_stated"] or row["is_borrowed"] or not Decimal(row["quantity"]):
            continue
        known = parts.get(there.get(name_key(row["name"])))
        if known is not None and (known.required_qty is not None or known.unit != row["unit"]):
            continue
        # What was built in had its waste in it, and the component's own allowance comes on top.
        waste = 0 if known is None else Fraction(known.waste_percent) / 100
        quantity = Fraction(row["quantity"]) / (1 + waste)
        if is_counted(row["unit"]):
            quantity = whole(quantity)
        values: dict[str, Any] = {
            "required_text": format_quantity(quantity, find_unit(row["unit"])),
            "required_from": "estimate",
        }
        if known is None:
            values |= {
                "name": row["name"],
                "unit": row["unit"],
                "contents": row["contents"],
                "element": elements.get(row["code"]),
            }
        save_component(actor=actor, build=build, component=known or Component(), values=values)
        count += 1
    return count
