"""What an estimate of the next build reads of earlier ones, and kept estimates."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from django.db.models import QuerySet

from ..calc.geometry import Extent
from ..calc.prices import new_cost_of_one
from ..calc.quantities import Contents, convert
from ..calc.reports import CostSheet
from ..calc.types import Key
from ..calc.units import find_unit
from ..choices import State
from ..models import Build, BuildArea, Component, Estimate, PurchaseLine
from ..queries.progress import list_spend, list_task_plans
from ..queries.reports import get_build_input, get_cost_sheet
from ..tools import EXTENTS
from .calc.estimate import spread_of
from .calc.how_far import HowFar, how_far
from .calc.types import PastBuild, StatedPart

ZERO = Fraction(0)
NO_CONTENTS = Contents(())


def list_estimates(build: Build) -> QuerySet[Estimate]:
    """Kept estimates, newest first."""
    return Estimate.objects.filter(build=build)


def list_measured(build: Build) -> list[BuildArea]:
    """Areas of a build that are measured, floor first."""
    areas = BuildArea.objects.filter(build=build).order_by("pk")
    return sorted(areas, key=lambda area: area.label != BuildArea.FLOOR)


def area_in(sheet: CostSheet, label: str, unit: str) -> Fraction | None:
    """A build's area of a label in a unit; None where it was not measured."""
    for row in sheet.areas:
        area = row.area
        if area.label == label and area.area and area.unit:
            return convert(area.area, find_unit(area.unit), find_unit(unit), NO_CONTENTS)
    return None


def day_of_money(build: Build) -> date | None:
    """The day by which half of a build's money was spent: the time its prices are of."""
    spend = [(day, amount) for day, amount in list_spend(build) if amount > 0]
    whole, so_far = sum((amount for _, amount in spend), ZERO), ZERO
    for day, amount in spend:
        so_far += amount
        if 2 * so_far >= whole:
            return day
    return None


def list_extents(build: Build) -> tuple[Extent, ...]:
    """Measures of the shapes a build is made of."""
    return tuple(extent for read in EXTENTS for extent in read(build))


@dataclass(frozen=True)
class Told:
    """An earlier build that is not finished, or of which nothing tells whether it is.

    ``is_used``: what is finished of it counts.
    """

    name: str
    how_far: HowFar
    is_used: bool = True


@dataclass
class Pasts:
    """Earlier builds as an estimate takes them; ``without``: those that have no such area."""

    used: list[PastBuild] = field(default_factory=list)
    without: list[str] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)


def list_pasts(
    builds: Sequence[Build],
    on: date,
    label: str,
    unit: str,
    factor_from: Callable[[date | None], Fraction],
    *,
    with_unfinished: bool = True,
) -> Pasts:
    """Earlier builds as an estimate takes them.

    ``with_unfinished``: finished elements of builds that are not finished count; else such builds
    are left out whole.
    """
    found = Pasts()
    for build in builds:
        sheet = get_cost_sheet(build, on)
        area = area_in(sheet, label, unit)
        if not area:
            found.without.append(build.name)
            continue
        plans = list_task_plans(build)
        far = how_far(sheet, plans)
        is_used = not far.is_open or (with_unfinished and bool(far.done))
        if far.is_open or far.is_untold:
            found.told.append(Told(build.name, far, is_used))
        if not is_used:
            continue
        positions = [row.position for row in sheet.components]
        found.used.append(
            PastBuild(
                sheet,
                area,
                factor_from(day_of_money(build)),
                spread_of(sheet.build, positions, lowest_and_highest(build)),
                {plan.key: plan.element for plan in plans},
                far,
                list_extents(build),
            )
        )
    return found


def lowest_and_highest(build: Build) -> dict[Key, tuple[Fraction, Fraction]]:
    """Lowest and highest landed cost of one usable unit of each component received."""
    rows = PurchaseLine.objects.filter(
        purchase__build=build, purchase__state=State.RECEIVED, price_amount__isnull=False
    ).order_by()
    found: dict[Key, tuple[Fraction, Fraction]] = {}
    fields = ("component_id", "landed_amount", "usable_qty")
    for component, landed, usable in rows.values_list(*fields).iterator():
        if not usable:
            continue
        one = Fraction(landed) / Fraction(usable)
        low, high = found.get(component, (one, one))
        found[component] = (min(low, one), max(high, one))
    return found


def list_wanted(build: Build, on: date) -> list[StatedPart]:
    """Components of which the build states a quantity, with waste."""
    inputs = get_build_input(build, on)
    codes = {element.key: element.code for element in inputs.elements}
    others = Component.objects.filter(build=build).exclude(required_from="")
    borrowed = set(others.values_list("pk", flat=True))
    return [
        StatedPart(
            part.name,
            part.unit,
            codes.get(part.element, ""),
            part.wanted,
            new_cost_of_one(part, inputs.retail_tax_share),
            part.key in borrowed,
        )
        for part in inputs.components
        if part.wanted
    ]


def map_contents(keys: Sequence[Any]) -> dict[Key, str]:
    """What one of each component holds, as typed."""
    return dict(Component.objects.filter(pk__in=keys).values_list("pk", "contents"))
