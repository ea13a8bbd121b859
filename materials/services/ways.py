"""Stating what can be made of what."""

from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.quantities import QuantityError
from ..calc.ways import without_circles
from ..calc.yields import too_much
from ..models import Build, Component, WayToMake
from ..queries.quantities import base_quantity, side_of
from ..queries.ways import get_known_ways, way_of
from .errors import LedgerError
from .history import save_values
from .ledger import lock_build


@transaction.atomic
def save_way(*, actor: User, build: Build, way: WayToMake, values: dict[str, Any]) -> WayToMake:
    """State, or state anew, what one component gives of another.

    Raises LedgerError when it is stated already, makes more than it uses, makes a component of
    itself or closes a circle with other ways or conversions.
    """
    lock_build(build)
    source, made = values["source"], values["component"]
    if source == made:
        raise LedgerError(
            f"{source} cannot be made from itself: make the result its own component.", "component"
        )
    others = WayToMake.objects.filter(build=build).exclude(pk=way.pk)
    if others.filter(source=source, component=made).exists():
        raise LedgerError(
            f"It is stated already what {source} gives of {made}. Change that one.", "component"
        )
    _check_quantity(values["used_text"], source, "used_text")
    _check_quantity(values["made_text"], made, "made_text")
    more = too_much(side_of(values["used_text"], source), [side_of(values["made_text"], made)])
    if more:
        raise LedgerError(more, "made_text")
    _check_circle(build, way, values)
    way.build = build
    save_values(actor=actor, build=build, record=way, values=values)
    return way


def _check_quantity(text: str, component: Component, field: str) -> None:
    try:
        base_quantity(text, component)
    except QuantityError as error:
        raise LedgerError(str(error), field) from None


def _check_circle(build: Build, way: WayToMake, values: dict[str, Any]) -> None:
    """Raises LedgerError where what is made leads back to the source."""
    known = get_known_ways(build).ways
    ways = [one.way for one in known if one.record is None or one.record.pk != way.pk]
    new = way_of(WayToMake(**{**values, "build": build}))
    if new.key in {one.key for one in ways}:
        # Made so before: what conversions did forms no circle.
        return
    _, circles = without_circles([*ways, new])
    if circles:
        made, source = values["component"], values["source"]
        raise LedgerError(
            f"{source} is made of {made} already, so this would go in a circle. Make what comes "
            "out a component of its own.",
            "component",
        )
