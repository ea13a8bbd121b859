"""Reading conversions, left over, and how much there is."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from django.db.models import QuerySet, Sum

from ..calc.stock import Position, work_out_positions
from ..calc.types import ComponentInput, ConversionInput, Key
from ..choices import State
from ..models import Build, Component, Conversion, LeftOver
from .numbers import number_after
from .reports import get_conversion_inputs
from .stock_sums import as_figures, sum_stock
from .totals import get_totals

_MONEY = {"proceeds", "moved_in_cost", "moved_out_cost"}


def get_stock_inputs(
    build: Build,
) -> tuple[tuple[ComponentInput, ...], tuple[ConversionInput, ...]]:
    """Quantities only (money left at 0): what ``calc.stock`` needs to find shortages."""
    sums, _ = sum_stock([build.pk])
    for key, total in get_totals(build).items():
        if key.state == State.RECEIVED:
            sums[key.component]["received"] += total.usable
    for found in sums.values():
        for name in _MONEY & found.keys():
            del found[name]
    components = tuple(
        ComponentInput(pk, name, unit, **as_figures(sums.get(pk, {})))
        for pk, name, unit in Component.objects.filter(build=build).values_list(
            "pk", "name", "unit"
        )
    )
    return components, get_conversion_inputs(build)


def list_conversions(build: Build) -> QuerySet[Conversion]:
    """Conversions with what they used and made, newest first."""
    return (
        Conversion.objects.filter(build=build)
        .select_related("source")
        .prefetch_related("outputs__component")
    )


def get_conversion(build: Build, pk: int) -> Conversion:
    """One conversion of the build. Raises Conversion.DoesNotExist."""
    return list_conversions(build).get(pk=pk)


def list_left_over(build: Build) -> QuerySet[LeftOver]:
    """Left over, newest first."""
    return LeftOver.objects.filter(component__build=build).select_related(
        "component", "component__element"
    )


def sum_conversions(conversions: QuerySet[Conversion]) -> dict[str, Any]:
    """Extra cost and hours."""
    return conversions.order_by().aggregate(extra=Sum("extra_cost_amount"), hours=Sum("hours"))


def sum_left_over(rows: QuerySet[LeftOver]) -> Decimal | None:
    """Proceeds of sales."""
    total: Decimal | None = rows.order_by().aggregate(total=Sum("proceeds_amount"))["total"]
    return total


def next_conversion_number(build: Build) -> str:
    """A free conversion number."""
    numbers = Conversion.objects.filter(build=build).order_by("-pk")
    return number_after(numbers.values_list("number", flat=True), "C")


def list_positions(build: Build) -> list[tuple[Component, Position]]:
    """Components that have come in, with where they are; quantities only."""
    found = with_positions(build, work_out_positions(*get_stock_inputs(build)))
    return [(component, position) for component, position in found if position.came_in]


def with_positions(
    build: Build, positions: Mapping[Key, Position]
) -> list[tuple[Component, Position]]:
    """Components with their positions, but those that somebody added after these were read."""
    listed = Component.objects.filter(build=build)
    return [(one, positions[one.pk]) for one in listed if one.pk in positions]
