"""Writing components, and re-deriving what depends on their unit and contents."""

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.quantities import QuantityError
from ..models import Build, Component, ConversionOutput
from ..models.stated import stated_values
from ..queries.on_hand import withdrawn_quantity
from ..queries.quantities import base_quantity, price_per, stored
from ..queries.records import find_named
from .errors import LedgerError
from .history import save_values
from .ledger import check_stock, cost_purchases, lock_build, purchases_with

# Fields that other records' derived figures are worked out from.
_MEASURES = ("unit", "contents", "new_qty_per_one")


@transaction.atomic
def save_component(
    *, actor: User, build: Build, component: Component, values: dict[str, Any]
) -> Component:
    """Add or change a component.

    A change of unit, contents or new quantity converts every recorded quantity again.
    Raises LedgerError when one of them no longer converts.
    """
    lock_build(build)
    is_new = component.pk is None
    before = {name: getattr(component, name) for name in _MEASURES}
    component.build = build
    component.unit = values.get("unit", component.unit)
    component.contents = values.get("contents", component.contents)
    text = values.get("required_text", component.required_text)
    if text != component.required_text:
        # Whoever states a quantity states it for this build, unless they say otherwise.
        values = {"required_from": "", **values}
    values = {**values, "required_qty": required_quantity(text, component)}
    save_values(actor=actor, build=build, record=component, values=values)
    if not is_new and any(before[name] != getattr(component, name) for name in _MEASURES):
        convert_again(build, component)
    return component


@transaction.atomic
def get_or_add_component(*, actor: User, build: Build, values: dict[str, Any]) -> Component:
    """The component of this name, added when new; what is not said of it yet is taken over.

    Looked up under the build's lock: somebody else may have named it a moment ago.
    Raises LedgerError.
    """
    lock_build(build)
    found = find_named(Component, build, values["name"])
    if found is None:
        return save_component(actor=actor, build=build, component=Component(), values=values)
    known = stated_values(found)
    added = {name: value for name, value in values.items() if value and not known[name]}
    if ticked := [trait for trait in values.get("traits", []) if trait not in found.traits]:
        added["traits"] = [*found.traits, *ticked]
    if added:
        save_component(actor=actor, build=build, component=found, values=added)
    return found


def with_new_components(
    *, actor: User, build: Build, rows: Sequence[dict[str, Any]]
) -> list[dict[str, Any]]:
    """Rows with the components that were named in them, added where there is none so called."""
    return [
        row
        if row["component"].pk
        else {
            **row,
            "component": get_or_add_component(
                actor=actor, build=build, values=stated_values(row["component"])
            ),
        }
        for row in rows
    ]


def required_quantity(text: str, component: Component) -> Decimal | None:
    """Required quantity in the base unit; None for an empty text. Raises LedgerError."""
    if not text.strip():
        return None
    try:
        return base_quantity(text, component)
    except QuantityError as error:
        raise LedgerError(str(error), "required_text") from None


def convert_again(build: Build, component: Component) -> None:
    """Derive every quantity recorded of a component again. Raises LedgerError."""
    where = ""
    try:
        for price in component.prices.all():
            where = f"new price of {price.priced_on}"
            price.per_qty = stored(price_per(price.per_text, component))
            price.save(update_fields=["per_qty"])
        for conversion in component.conversions_from.all():
            where = f"conversion {conversion.number}"
            conversion.used_qty = base_quantity(conversion.used_text, component)
            conversion.save(update_fields=["used_qty"])
            withdrawn_quantity(conversion.hand_text, component)
        for output in ConversionOutput.objects.filter(component=component).select_related(
            "conversion"
        ):
            where = f"conversion {output.conversion.number}"
            output.made_qty = base_quantity(output.made_text, component)
            output.save(update_fields=["made_qty"])
        for way in component.ways_from.all():
            where = f"way to make {way}"
            base_quantity(way.used_text, component)
        for way in component.ways_into.all():
            where = f"way to make {way}"
            base_quantity(way.made_text, component)
        for row in component.left_overs.all():
            where = f"leftovers of {row.noted_on}"
            row.base_qty = base_quantity(row.quantity_text, component)
            row.save(update_fields=["base_qty"])
            withdrawn_quantity(row.hand_text, component)
        for transfer in component.moves_out.all():
            where = f"move of {transfer.moved_on}"
            transfer.base_qty = base_quantity(transfer.quantity_text, component)
            transfer.save(update_fields=["base_qty"])
        for transfer in component.moves_in.all():
            where = f"move of {transfer.moved_on}"
            transfer.to_qty = base_quantity(transfer.to_text, component)
            transfer.save(update_fields=["to_qty"])
    except QuantityError as error:
        raise LedgerError(f"The {where} no longer fits: {error}") from None
    cost_purchases(build, purchases_with([component]))
    check_stock(build)
