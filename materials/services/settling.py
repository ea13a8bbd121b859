"""Writing shares, and money that went between people."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.money import minor_units, round_half_up
from ..calc.settling import settle_rows
from ..models import Build, HandOver, Share
from ..queries.reports import get_cost_sheet
from .builds import get_or_add_person
from .errors import LedgerError
from .history import save_values, write_record
from .ledger import lock_build

NO_RATE = "Enter an own labour rate under Build details first, then tick this."
GONE = (
    "This payment is no longer needed: the figures changed after you opened the page. "
    "See the payments as they are now."
)


@transaction.atomic
def save_sharing(
    *,
    actor: User,
    build: Build,
    shares: Sequence[tuple[str, Decimal]],
    own_hours_count: bool,
) -> None:
    """State who bears how much, by name; no shares: equally among those who paid.

    ``own_hours_count``: whether own hours at the stated rate count as paid.
    Raises LedgerError without a rate, for a person named twice and for a share not above 0.
    """
    stored = lock_build(build)
    if own_hours_count and stored.own_labour_rate is None:
        raise LedgerError(NO_RATE, "own_hours_count")
    weights: dict[int, Decimal] = {}
    for name, weight in shares:
        person = get_or_add_person(actor=actor, build=build, name=name)
        if person is None or weight <= 0:
            raise LedgerError("A share needs a person's name and a number above zero.")
        if person.pk in weights:
            raise LedgerError(f"{person.name} has two shares here: keep one of them.")
        weights[person.pk] = weight

    def write() -> None:
        build.own_hours_count = own_hours_count
        build.save(update_fields=["own_hours_count"])
        build.shares.exclude(person__in=weights).delete()
        for person_id, weight in weights.items():
            Share.objects.update_or_create(
                build=build, person_id=person_id, defaults={"weight": weight}
            )

    write_record(actor=actor, build=build, record=build, write=write)


@transaction.atomic
def save_payment(
    *, actor: User, build: Build, payment: HandOver, values: dict[str, Any]
) -> HandOver:
    """Record or change a payment; ``giver`` and ``receiver`` are persons of the build.

    Raises LedgerError for an amount that is not above 0 or finer than the currency, and for
    one and the same person on both sides.
    """
    lock_build(build)
    amount, places = values["amount"], minor_units(build.currency)
    if values["giver"] == values["receiver"]:
        raise LedgerError("Nobody pays themselves: name two people.", "receiver")
    if amount <= 0:
        raise LedgerError("Enter an amount above zero.", "amount")
    if round_half_up(amount, places) != amount:
        raise LedgerError(
            f"{build.currency} has {places or 'no'} decimals: round the amount.", "amount"
        )
    payment.build = build
    save_values(actor=actor, build=build, record=payment, values=values)
    return payment


@transaction.atomic
def record_payment(
    *,
    actor: User,
    build: Build,
    giver_id: int,
    receiver_id: int,
    amount: Decimal,
    on: date,
) -> HandOver:
    """Record one of the payments that settle the build as made.

    Only what is still one of them is taken, so a button pressed twice notes it once.
    Raises LedgerError when it no longer is one.
    """
    lock_build(build)
    sheet = get_cost_sheet(build, on)
    wanted = (giver_id, receiver_id, amount)
    for payment in settle_rows(sheet.persons, sheet.build.places).payments:
        if (payment.payer, payment.payee, payment.amount) == wanted:
            break
    else:
        raise LedgerError(GONE)
    persons = build.persons.in_bulk([giver_id, receiver_id])
    values = {
        "handed_on": on,
        "giver": persons[giver_id],
        "receiver": persons[receiver_id],
        "amount": amount,
    }
    return save_payment(actor=actor, build=build, payment=HandOver(), values=values)
