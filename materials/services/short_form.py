"""Logging one line in one step, with whatever it needs made on the spot."""

from datetime import date
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..choices import State
from ..models import (
    Build,
    Charge,
    Purchase,
    PurchaseLine,
    RetailPrice,
)
from ..models.stated import stated_values
from ..queries.components import get_component
from ..queries.days import has_begun
from ..queries.drafts import draft_purchase
from ..queries.purchases import get_purchase, next_number
from .builds import get_or_add_person
from .components import get_or_add_component, save_component
from .errors import LedgerError
from .ledger import lock_build
from .prices import save_price
from .purchases import save_purchase
from .suppliers import get_or_add_supplier


@transaction.atomic
def log_entry(
    *,
    actor: User,
    build: Build,
    entry: dict[str, Any],
    into: Purchase | None = None,
) -> Purchase:
    """Log a short entry as a purchase of its own, or as one more line of ``into``.

    A component, supplier or payer that is not there yet is added; what was said of one that is
    there (``of_component``, by field) is kept with it, and a new price that was typed
    (``new_price`` for ``new_per_text``) is saved as of ``priced_on``. Raises LedgerError.
    """
    lock_build(build)
    if into is not None:
        # Anew, now that nobody else can add a line to it.
        into = get_purchase(build, into.pk)
    component = entry["component"]
    if component.pk is None:
        component = get_or_add_component(actor=actor, build=build, values=stated_values(component))
    elif (values := entry.get("of_component")) and (stored := get_component(build, component.pk)):
        component = save_component(actor=actor, build=build, component=stored, values=values)
    if entry.get("new_price") is not None:
        names = {"price": "new_price", "per_text": "new_per_text", "priced_on": "priced_on"}
        values = {name: entry[typed] for name, typed in names.items()}
        values["component"] = component
        save_price(actor=actor, build=build, price=RetailPrice(), values=values)
    draft = draft_purchase(build, {**entry, "component": component}, into)
    purchase = draft.purchase
    if into is None:
        purchase.number = next_number(build)
        purchase.supplier = get_or_add_supplier(actor=actor, build=build, name=entry["supplier"])
        purchase.paid_by = get_or_add_person(actor=actor, build=build, name=entry["paid_by"])
    return write_draft(
        actor=actor, build=build, purchase=purchase, lines=draft.lines, charges=draft.charges
    )


def write_draft(
    *,
    actor: User,
    build: Build,
    purchase: Purchase,
    lines: list[PurchaseLine],
    charges: list[Charge],
) -> Purchase:
    """Save a purchase held in memory with its rows. Raises LedgerError."""
    target = Purchase.objects.get(pk=purchase.pk) if purchase.pk else Purchase()
    return save_purchase(
        actor=actor,
        build=build,
        purchase=target,
        values=stated_values(purchase),
        lines=[{"pk": line.pk, **stated_values(line)} for line in lines],
        charges=[{"pk": charge.pk, **stated_values(charge)} for charge in charges],
    )


@transaction.atomic
def change_state(
    *, actor: User, build: Build, purchase: Purchase, state: str, on: date
) -> Purchase:
    """Accept, receive or decline an offer or order; its lines and charges stay as they are.

    An offer that is taken becomes a purchase of the day ``on``; so does an order that is
    here before the day written on it.
    Raises LedgerError when material that was used would no longer be there.
    """
    lock_build(build)
    seen, purchase = purchase.state, get_purchase(build, purchase.pk)
    if purchase.state != seen:
        raise LedgerError(
            f"{purchase.number} was changed meanwhile and is now:"
            f" {State(purchase.state).label.lower()}. Check it again."
        )
    take_state(purchase, state, on)
    return write_draft(
        actor=actor,
        build=build,
        purchase=purchase,
        lines=list(purchase.lines.all()),
        charges=list(purchase.charges.all()),
    )


def take_state(purchase: Purchase, state: str, on: date) -> None:
    """Put a state on a purchase, and ``on`` as its day where it becomes one of then."""
    if purchase.state == State.OFFER and state in (State.ORDERED, State.RECEIVED):
        purchase.bought_on = on
    if state == State.RECEIVED and not has_begun(purchase.bought_on):
        purchase.bought_on = on
    purchase.state = state
