"""Keeping an estimate, and making it the budget and the requirements of its build."""

from collections.abc import Sequence
from dataclasses import replace
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
from .calc.types import EstimatedElement, EstimatedPart, NextBuild, Scale, Spread
from .queries import Pasts, Told, list_extents, list_pasts, list_wanted, map_contents

HOUR_PLACES, QUANTITY_PLACES = 2, 6


def estimate_from(
    builds: Sequence[Build],
    *,
    build: Build,
    area: BuildArea,
    rise: PriceRise,
    with_unfinished: bool = True,
) -> tuple[NextBuild, dict[str, Any], Pasts]:
    """An estimate by an area of the build, the fields it is kept with, and what it is made of.

    ``with_unfinished``: finished elements of builds that are not finished count. Raises LedgerError
    where none of the earlier builds has such an area, or none can be learned from.
    """
    pasts = list_pasts(
        builds,
        rise.on,
        area.label,
        area.area_unit,
        rise.since,
        with_unfinished=with_unfinished,
    )
    if not pasts.used and pasts.told:
        raise LedgerError(
            "None of these builds is finished, and none counts here. Mark the tasks that are done,"
            " or choose a finished build.",
            "builds",
        )
    if not pasts.used:
        raise LedgerError(
            f"None of these builds has a measured {area.label.lower()}: measure one under its"
            " Build details, or compare by another area.",
            "builds",
        )
    wanted = list_wanted(build, rise.on)
    made = estimate(pasts.used, wanted, Fraction(area.area_qty), list_extents(build))
    made = replace(made, elements=_with_own_names(build, made.elements))
    values = {
        "made_on": rise.on,
        "area_label": area.label,
        "area_qty": area.area_qty,
        "area_unit": area.area_unit,
        "past_count": len(pasts.used),
        "escalation": rise.summary()[:400],
    }
    return made, values, pasts


def _with_own_names(build: Build, rows: Sequence[EstimatedElement]) -> tuple[EstimatedElement, ...]:
    """Elements that no earlier build has a name for, as this build calls them."""
    own = {element.code: element.name for element in Element.objects.filter(build=build)}
    return tuple(replace(row, name=row.name or own.get(row.code, "")) for row in rows)


def as_figures(made: NextBuild, places: int, pasts: Pasts) -> dict[str, Any]:
    """An estimate as JSON holds it: money to the minor unit, all numbers as text.

    Earlier builds are told of without their names.
    """
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
                "scale": _scale(row.scale),
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
                "scale": _scale(part.scale),
            }
            for part in made.parts
        ],
        "paid_labour": _texts(made.paid_labour, places),
        "hours_apart": _texts(made.hours_apart, HOUR_PLACES),
        "unknown": [one.name for one in made.unknown],
        "left_out": list(made.left_out),
        "untaught": [list(element) for element in made.untaught],
        "is_labour_partial": made.is_labour_partial,
        "pasts": [_told(told) for told in pasts.told],
    }


def _told(told: Told) -> dict[str, Any]:
    """How far an earlier build was, as JSON holds it."""
    far = told.how_far
    return {
        "percent": None if far.share is None else _text(far.share * 100, HOUR_PLACES),
        "by": far.by,
        "is_open": far.is_open,
        "done": len(far.done),
        "is_used": told.is_used,
    }


def _scale(scale: Scale | None) -> list[str] | None:
    """A measure as JSON holds it: label, new, past, unit."""
    if scale is None:
        return None
    sizes = (_text(size, QUANTITY_PLACES) for size in (scale.new, scale.past))
    return [scale.label, *sizes, scale.unit]


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
    *, actor: User, build: Build, made: NextBuild, values: dict[str, Any], pasts: Pasts
) -> Estimate:
    """Keep an estimate as it stands. Raises LedgerError where there is nothing in it."""
    lock_build(build)
    if not made.elements and not made.unknown:
        raise LedgerError(
            "These builds hold nothing to learn from yet: no material with a known cost, "
            "and no hours on tasks."
        )
    record = Estimate(build=build)
    figures = as_figures(made, minor_units(build.currency), pasts)
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
