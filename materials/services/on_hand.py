"""Stock on hand: taken from when material goes, given back when it did not.

Transfers, conversions and leftovers alike. How much came from it is kept with the record
(``hand_text``), so that changing or undoing it can give as much back. What was noted up to that
day goes, the newest first; the rest comes from what counts as built in.
"""

from datetime import date
from decimal import Decimal

from django.contrib.auth.models import User

from ..calc.quantities import format_quantity
from ..choices import Fate
from ..models import Component, LeftOver
from ..queries.on_hand import Withdrawal, entries_on_hand, on_hand
from ..queries.quantities import base_unit
from .errors import LedgerError
from .history import remove_record, save_values


def take_from_stock(
    *, actor: User, component: Component, quantity: Decimal, on: date | None = None
) -> None:
    """Lower what is noted as on hand, the newest entry first; only entries up to a day if given.

    Raises LedgerError when there is not that much.
    """
    unit, left, build = base_unit(component), quantity, component.build
    available = on_hand(component, on)
    if available < quantity:
        raise LedgerError(
            f"Only {format_quantity(available, unit)} of {component} "
            f"{'is' if available == 1 else 'are'} on hand, not {format_quantity(quantity, unit)}:"
            " lower the quantity, or take it from what counts as built in.",
            "quantity_text",
        )
    for entry in entries_on_hand(component, on):
        if left <= 0:
            break
        if entry.base_qty <= left:
            left -= entry.base_qty
            remove_record(actor=actor, build=build, record=entry)
        else:
            rest, left = entry.base_qty - left, Decimal(0)
            values = {"quantity_text": format_quantity(rest, unit), "base_qty": rest}
            save_values(actor=actor, build=build, record=entry, values=values)


def return_to_stock(
    *, actor: User, component: Component, text: str, quantity: Decimal, on: date
) -> None:
    """What had been taken from stock on hand is on hand again."""
    values = {
        "component": component,
        "noted_on": on,
        "quantity_text": text,
        "base_qty": quantity,
        "fate": Fate.ON_HAND,
    }
    save_values(actor=actor, build=component.build, record=LeftOver(), values=values)


def return_withdrawal(*, actor: User, withdrawn: Withdrawal, on: date | None = None) -> None:
    """Give back what a record had taken, if it had taken anything."""
    if withdrawn.text:
        return_to_stock(
            actor=actor,
            component=withdrawn.component,
            text=withdrawn.text,
            quantity=withdrawn.quantity,
            on=on or withdrawn.on,
        )


def replace_withdrawal(
    *, actor: User, old: Withdrawal | None, wanted: Withdrawal, from_stock: bool
) -> str:
    """Take as much as was on hand that day, once it has back what ``old`` had taken.

    What stock does not cover counts as taken from the building. Returns how much came from stock on
    hand, as a text; empty for nothing.
    """
    part = wanted.component
    is_same = old is not None and old.component == part
    if old is not None and is_same and old.is_on_hand:
        # The entry on hand itself is what goes, or stays as it is.
        return ""
    if old is not None and from_stock and old.text and _is_same_withdrawal(old, wanted):
        return old.text
    if old is not None and not (is_same and wanted.is_on_hand):
        # What was on hand on the one day was on hand on the earlier one of the two.
        return_withdrawal(
            actor=actor, withdrawn=old, on=min(old.on, wanted.on) if is_same else old.on
        )
    if not from_stock or wanted.is_on_hand:
        return ""
    withdrawn = min(on_hand(part, wanted.on), wanted.whole)
    if withdrawn <= 0:
        return ""
    take_from_stock(actor=actor, component=part, quantity=withdrawn, on=wanted.on)
    if withdrawn == wanted.whole:
        return wanted.whole_text
    return format_quantity(withdrawn, base_unit(part))


def _is_same_withdrawal(old: Withdrawal, wanted: Withdrawal) -> bool:
    return (old.component, old.on, old.whole, old.is_on_hand) == (
        wanted.component,
        wanted.on,
        wanted.whole,
        wanted.is_on_hand,
    )


def restore_withdrawal(*, actor: User, old: Withdrawal | None, now: Withdrawal) -> None:
    """Put stock on hand right after a record was put back from ``old`` (None: deleted) to ``now``.

    Raises LedgerError when stock on hand no longer covers what it had taken.
    """
    is_same = old is not None and old.component == now.component
    if old is not None and is_same and (old.is_on_hand or now.is_on_hand):
        return
    if old is not None and is_same and old.quantity == now.quantity:
        return
    if old is not None:
        return_withdrawal(actor=actor, withdrawn=old)
    if now.text:
        take_from_stock(actor=actor, component=now.component, quantity=now.quantity)
