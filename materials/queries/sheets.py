"""What the sheets for others need beside the cost sheet: prices with their day, weights, trips."""

from datetime import date
from fractions import Fraction

from django.db.models import Sum

from ..calc.contents import ratio_between
from ..calc.quantities import QuantityError, parse_contents
from ..calc.sheets.landfill import Weight
from ..calc.sheets.loads import CUBIC_YARD, LB, LOADS, NOT_WASTE, pounds_of
from ..calc.sheets.replacement import Priced
from ..calc.types import Key
from ..calc.units import UNITS
from ..choices import State
from ..models import Build, Charge, Component
from .prices import list_newest_prices


def get_own_distance(build: Build) -> Fraction:
    """What distance charges of received purchases come to, at the build's own rate."""
    charges = Charge.objects.filter(purchase__build=build, purchase__state=State.RECEIVED)
    total = charges.exclude(distance_text="").aggregate(total=Sum("charged_amount"))["total"]
    return Fraction(total or 0)


def map_new_prices(build: Build, on: date) -> dict[Key, Priced]:
    """Day and place of the newest new price on or before a date, by component."""
    rows = list_newest_prices(build, on)
    return {
        component: Priced(day, place)
        for component, day, place in rows.values_list("component_id", "priced_on", "priced_at")
    }


def map_weights(build: Build) -> dict[Key, Weight]:
    """Weight of one base unit by component: from its contents, else as a published load."""
    found: dict[Key, Weight] = {}
    rows = Component.objects.filter(build=build).order_by()
    for pk, unit, contents, kind in rows.values_list("pk", "unit", "contents", "load_kind"):
        weight = weigh(unit, contents, kind)
        if weight is not None:
            found[pk] = weight
    return found


def list_never_waste(build: Build) -> set[Key]:
    """Components that would not have been thrown away, as the builder says."""
    rows = Component.objects.filter(build=build, load_kind=NOT_WASTE)
    return set(rows.values_list("pk", flat=True))


def weigh(unit: str, contents: str, kind: str) -> Weight | None:
    """Pounds of one base unit, or None where nobody stated what would tell."""
    try:
        per_component = parse_contents(contents)
    except QuantityError:
        return None
    base = UNITS.get(unit)
    if base is None:
        return None
    pounds = ratio_between(base, LB, per_component)
    if pounds is not None:
        return Weight(pounds, pounds, ("your contents: " + contents if contents else "its unit",))
    yards = ratio_between(base, CUBIC_YARD, per_component)
    if kind not in LOADS or yards is None:
        return None
    low, high = pounds_of(kind, yards)
    sources = tuple(
        f"{one.pounds:,} lb per loose cubic yard: {one.source}" for one in LOADS[kind].weights
    )
    return Weight(low, high, sources)
