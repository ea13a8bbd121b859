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
from ..queries.hand import Taken, heaps_of, on_hand
from ..queries.quantities import base_unit
from .errors import LedgerError
from .history import remove_record, save_values


def take_from_hand(
    *, actor: User, component: Component, quantity: Decimal, on: date | None = None
) -> None:
    """Lower what is noted as on hand, the newest heap first; only heaps up to a day if given.

    Raises LedgerError when there is not that much.
    """
    unit, left, build = base_unit(component), quantity, component.build
    there = on_hand(component, on)
    if there < quantity:
        raise LedgerError(
            f"Only {format_quantity(there, unit)} of {component} "
            f"{'is' if there == 1 else 'are'} on hand, not {format_quantity(quantity, unit)}:"
            " lower the quantity, or take it from what counts as built in.",
            "quantity_text",
        )
    for heap in heaps_of(component, on):
        if left <= 0:
            break
        if heap.base_qty <= left:
            left -= heap.base_qty
            remove_record(actor=actor, build=build, record=heap)
        else:
            rest, left = heap.base_qty - left, Decimal(0)
            values = {"quantity_text": format_quantity(rest, unit), "base_qty": rest}
            save_values(actor=actor, build=build, record=heap, values=values)


def give_back(*, actor: User, component: Component, text: str, quantity: Decimal, on: date) -> None:
    """What had been taken from the heaps is a heap again."""
    values = {
        "component": component,
        "noted_on": on,
        "quantity_text": text,
        "base_qty": quantity,
        "fate": Fate.ON_HAND,
    }
    save_values(actor=actor, build=component.build, record=LeftOver(), values=values)


def give_back_taken(*, actor: User, taken: Taken, on: date | None = None) -> None:
    """Give back what a record had taken, if it had taken anything."""
    if taken.text:
        give_back(
            actor=actor,
            component=taken.component,
            text=taken.text,
            quantity=taken.quantity,
            on=on or taken.on,
        )


def take_what_is_there(*, actor: User, old: Taken | None, wanted: Taken, takes: bool) -> str:
    """Take as much as the heaps of that day hold, once they have back what ``old`` had taken.

    What they do not hold counts as taken from the building. Returns how much the heaps gave, as
    a text; empty for nothing.
    """
    part = wanted.component
    is_same = old is not None and old.component == part
    if old is not None and is_same and old.is_heap:
        # The heap itself is what goes, or what goes on lying there.
        return ""
    if old is not None and takes and old.text and _is_as_before(old, wanted):
        return old.text
    if old is not None and not (is_same and wanted.is_heap):
        # A heap that was there on the one day was there on the earlier one of the two.
        give_back_taken(actor=actor, taken=old, on=min(old.on, wanted.on) if is_same else old.on)
    if not takes or wanted.is_heap:
        return ""
    taken = min(on_hand(part, wanted.on), wanted.whole)
    if taken <= 0:
        return ""
    take_from_hand(actor=actor, component=part, quantity=taken, on=wanted.on)
    if taken == wanted.whole:
        return wanted.whole_text
    return format_quantity(taken, base_unit(part))


def _is_as_before(old: Taken, wanted: Taken) -> bool:
    return (old.component, old.on, old.whole, old.is_heap) == (
        wanted.component,
        wanted.on,
        wanted.whole,
        wanted.is_heap,
    )


def take_again(*, actor: User, old: Taken | None, now: Taken) -> None:
    """Put the heaps right after a record was put back from ``old`` (None: deleted) to ``now``.

    Raises LedgerError when the heaps no longer hold what it had taken.
    """
    is_same = old is not None and old.component == now.component
    if old is not None and is_same and (old.is_heap or now.is_heap):
        return
    if old is not None and is_same and old.quantity == now.quantity:
        return
    if old is not None:
        give_back_taken(actor=actor, taken=old)
    if now.text:
        take_from_hand(actor=actor, component=now.component, quantity=now.quantity)
