"""Reading comparisons of lifetime cost, and what a new one can start with."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, QuerySet

from ...calc.money import round_money
from ...calc.prices import new_cost_of_one
from ...calc.quantities import format_quantity
from ...calc.reports import ComponentRow, CostSheet
from ...choices import RateKind, State
from ...models import Build, Component, LifeAlternative, LifeChoice, PurchaseLine
from ...queries.quantities import base_unit
from ...queries.reports import frac, get_cost_sheet, share
from ..calc.factors import real_rate
from ..calc.types import Alternative, Dragged, Terms

ZERO = Fraction(0)
MOST_ALTERNATIVES = 5
# Open offers a new comparison begins with, at most.
OFFERS = 2


def list_life_choices(build: Build) -> QuerySet[LifeChoice]:
    """Kept comparisons, newest first, with how many alternatives each has."""
    return (
        LifeChoice.objects.filter(build=build)
        .select_related("component")
        .annotate(ways=Count("alternatives"))
    )


def get_life_choice(build: Build, pk: int) -> LifeChoice:
    """One comparison with its alternatives at hand."""
    rows = LifeChoice.objects.filter(build=build).select_related("component", "lesson")
    return rows.prefetch_related("alternatives").get(pk=pk)


def terms_of(choice: LifeChoice, build: Build) -> Terms:
    """What holds for all alternatives, with the rate brought above inflation."""
    rate = share(choice.rate_percent) or ZERO
    inflation = share(choice.inflation_percent)
    if choice.rate_kind == RateKind.NOMINAL and inflation is not None:
        rate = real_rate(rate, inflation)
    return Terms(choice.study_years, rate, frac(hour_rate(choice, build)))


def hour_rate(choice: LifeChoice, build: Build) -> Decimal | None:
    """What an own hour is worth here: as stated, else the build's own rate."""
    return build.own_labour_rate if choice.hours_rate is None else choice.hours_rate


def alternatives_of(rows: Iterable[LifeAlternative]) -> list[Alternative]:
    """Alternatives as the engine takes them, stored or not, named by their place."""
    return [
        Alternative(
            key=place,
            name=row.name,
            price=frac(row.first_amount),
            hours=frac(row.first_hours),
            life=row.life_years,
            upkeep_every=row.upkeep_every,
            upkeep=frac(row.upkeep_amount),
            upkeep_hours=frac(row.upkeep_hours),
            upkeep_change=share(row.upkeep_change_percent) or ZERO,
            replacement=frac(row.again_amount),
            again_hours=frac(row.again_hours),
            residual=frac(row.residual_amount),
            dragged=dragged_by(row),
            price_low=frac(row.first_low_amount),
            price_high=frac(row.first_high_amount),
            life_low=row.life_low_years,
            life_high=row.life_high_years,
        )
        for place, row in enumerate(rows)
    ]


def dragged_by(row: LifeAlternative) -> Dragged | None:
    """What each replacement drags along; None for nothing."""
    if not row.drags_along:
        return None
    return Dragged(row.drags_along, frac(row.drag_amount), frac(row.drag_hours))


@dataclass(frozen=True)
class StartValues:
    """What a new comparison begins with: its question and the first of its alternatives."""

    name: str
    component: Component
    quantity_text: str
    alternatives: list[dict[str, Any]]


def start_values(build: Build, component: Component, on: date) -> StartValues:
    """A comparison of a component as it was got, as it is offered, and bought new.

    First costs are for all that is required, else for what is in the building, else for one.
    What has no known cost is left empty. The expected life is taken where it is whole years.
    """
    sheet = get_cost_sheet(build, on)
    row = next(row for row in sheet.components if row.position.component.key == component.pk)
    needed = component.required_qty
    quantity = Fraction(needed) if needed else row.position.in_building or Fraction(1)
    said = component.required_text if needed else format_quantity(quantity, base_unit(component), 3)
    life = component.life_years
    years = int(life) if life is not None and life == int(life) and life >= 1 else None
    alternatives = [
        _alternative(build, f"{component.name}, as got so far", _average(row, quantity), years, on)
        | {"basis": f"Average landed cost so far, {on:%-d %b %Y}"}
    ]
    for line in _offers(build, component):
        cost = Fraction(line.landed_amount) / Fraction(line.usable_qty) * quantity
        basis = f"Landed cost of offer {line.purchase.number}, {on:%-d %b %Y}"
        alternatives.append(
            _alternative(build, f"{component.name}, as offered", cost, years, on) | {"basis": basis}
        )
    new = _alternative(build, f"{component.name}, new", _new(sheet, row, quantity), None, on)
    alternatives.append(new | {"basis": f"New price with tax, {on:%-d %b %Y}"})
    for alternative in alternatives:
        if alternative["first_amount"] is None:
            alternative["basis"] = ""
    return StartValues(f"{component.name}: lifetime cost", component, said, alternatives)


def _alternative(
    build: Build, name: str, cost: Fraction | None, years: int | None, on: date
) -> dict[str, Any]:
    amount = None if cost is None else round_money(cost, build.currency)
    return {"name": name[:120], "first_amount": amount, "life_years": years}


def _average(row: ComponentRow, quantity: Fraction) -> Fraction | None:
    average = row.position.average
    return None if average is None else average * quantity


def _new(sheet: CostSheet, row: ComponentRow, quantity: Fraction) -> Fraction | None:
    one = new_cost_of_one(row.position.component, sheet.build.retail_tax_share)
    return None if one is None else one * quantity


def _offers(build: Build, component: Component) -> list[PurchaseLine]:
    """Lines of open offers of a component with a known price, newest first."""
    lines = PurchaseLine.objects.filter(
        purchase__build=build,
        purchase__state=State.OFFER,
        component=component,
        usable_qty__gt=0,
        price_amount__isnull=False,
    )
    newest = lines.select_related("purchase").order_by("-purchase__bought_on", "-pk")
    return list(newest[:OFFERS])
