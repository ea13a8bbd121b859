"""Moving material from one build to another: written, changed and taken back in both at once.

A ``Move`` belongs to two builds. Whoever writes, deletes or undoes one needs to be an editor of
both, and both are locked in the order of their keys. Its value is fixed when it is moved and is the
same in both; it is worked out again only when asked, for a later entry in one build must not change
the sheet of another. ``queries.transfers`` shows each build its own side, and names the other only
to those who may see it; so do the history and its differences.
"""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction

from .. import access
from ..calc.money import minor_units
from ..calc.quantities import QuantityError
from ..calc.transfers import value_moved
from ..models import Build, Change, Component, Move
from ..models.stated import stated_values
from ..queries.quantities import base_quantity, stored
from ..queries.records import find_named
from ..queries.transfers import arrives_as, builds_of, position_of
from .components import save_component
from .errors import LedgerError
from .history import Snapshot, note_change, put_back, same_facts, take_snapshot
from .ledger import check_stock, lock_build
from .on_hand import return_to_stock, take_from_stock

# What is said of a component as a part of its build; all else holds good of it elsewhere.
_OF_BUILD = frozenset({"element", "required_text", "required_from", "waste_percent", "note"})
_CHANGED = "This was changed again since. Undo the later change first (newest at the top)."


@transaction.atomic
def save_transfer(
    *,
    actor: User,
    build: Build,
    transfer: Move,
    values: dict[str, Any],
    to_build: Build,
    value_again: bool = False,
) -> Move:
    """Move material out of ``build`` into ``to_build``, or change such a transfer.

    ``values``: moved_on, component, quantity_text, was_on_hand, to_component, note; without a
    ``to_component`` it goes to the one of the same name there, which is made if need be. The
    value is worked out when the transfer is new, when its component or quantity changes, and when
    ``value_again`` is asked for.
    Raises NotAllowed unless the actor may edit both builds, LedgerError when it cannot be.
    """
    _require_both(actor, build, to_build)
    _lock(build, to_build)
    _check_pair(build, to_build)
    before = take_snapshot(transfer) if transfer.pk else None
    old = Move.objects.get(pk=transfer.pk) if transfer.pk else None
    if old is not None and old.was_on_hand and old.component is not None:
        _return_to_stock(actor, old)
    component, text = values["component"], values["quantity_text"]
    available = values.get("to_component") or _find_or_make(actor, to_build, component)
    for name, value in {**values, "to_component": available}.items():
        setattr(transfer, name, value)
    quantity = _derive(transfer)
    is_same = old is not None and old.component_id == component.pk and old.quantity_text == text
    if value_again or not is_same:
        average = position_of(component, transfer.moved_on).average
        transfer.value_amount = value_moved(
            Fraction(quantity), average, minor_units(build.currency)
        )
        transfer.moved_by = actor
    if transfer.was_on_hand:
        take_from_stock(actor=actor, component=component, quantity=quantity)
    transfer.save()
    _note(actor, transfer, before, take_snapshot(transfer))
    _check(build, to_build)
    return transfer


def _derive(transfer: Move) -> Decimal:
    """Quantities of both sides from what was typed; returns the one that goes."""
    component, available = transfer.component, transfer.to_component
    assert component is not None
    assert available is not None
    try:
        transfer.base_qty = quantity = base_quantity(transfer.quantity_text, component)
    except QuantityError as error:
        raise LedgerError(str(error), "quantity_text") from None
    try:
        transfer.to_text, arrived = arrives_as(transfer.quantity_text, component, available)
        transfer.to_qty = stored(arrived)
    except QuantityError as error:
        raise LedgerError(f"{available} in {available.build}: {error}", "quantity_text") from None
    return quantity


@transaction.atomic
def delete_transfer(*, actor: User, transfer: Move) -> None:
    """Take a transfer back in both builds; what lay on hand lies there again.

    Raises NotAllowed unless the actor may edit both builds, LedgerError when what was moved in
    is used already.
    """
    builds = builds_of(transfer)
    _require_both(actor, *builds)
    _lock(*builds)
    before, pk = take_snapshot(transfer), transfer.pk
    if transfer.was_on_hand and transfer.component is not None:
        _return_to_stock(actor, transfer)
    transfer.delete()
    transfer.pk = pk
    _note(actor, transfer, before, None)
    _check(*builds)


@transaction.atomic
def undo_transfer(*, actor: User, change: Change) -> None:
    """Undo one change of a transfer, in both builds.

    Raises NotAllowed unless the actor may edit both, LedgerError when it was changed again.
    """
    key = change.record_id
    transfer = None if key is None else Move.objects.filter(pk=key).first()
    now = None if transfer is None else take_snapshot(transfer)
    if not same_facts(now, change.after):
        raise LedgerError(_CHANGED)
    if change.before is None:
        if transfer is None:
            raise LedgerError(_CHANGED)
        delete_transfer(actor=actor, transfer=transfer)
        return
    builds = [] if transfer is None else builds_of(transfer)
    _require_both(actor, *builds)
    if transfer is not None and transfer.was_on_hand and transfer.component is not None:
        _return_to_stock(actor, transfer)
    record, _ = put_back(change)
    assert isinstance(record, Move)
    builds += [build for build in builds_of(record) if build not in builds]
    _require_both(actor, *builds)
    _lock(*builds)
    if record.component is not None and record.to_component is not None:
        _check_pair(record.component.build, record.to_component.build)
        _derive(record)
        record.save()
    if record.was_on_hand and record.component is not None and record.base_qty is not None:
        take_from_stock(actor=actor, component=record.component, quantity=record.base_qty)
    _note(actor, record, change.after, take_snapshot(record), "undone")
    _check(*builds)


def check_currency(build: Build) -> None:
    """Raises LedgerError when transfers tie the build to one in another currency."""
    tied = (
        Move.objects.filter(component__isnull=False, to_component__isnull=False)
        .filter(models.Q(component__build=build) | models.Q(to_component__build=build))
        .exclude(component__build__currency=models.F("to_component__build__currency"))
    )
    if tied.exists():
        raise LedgerError(
            "Material was moved between this build and another, so both keep one "
            "currency. Leave it as it is, or delete those transfers first.",
            "currency",
        )


def _require_both(actor: User, *builds: Build) -> None:
    if not all(access.may_edit(actor, build) for build in builds):
        raise access.NotAllowed(
            "A transfer belongs to two builds, and you cannot change both. Ask somebody who can."
        )


def _lock(*builds: Build) -> None:
    """Hold the builds in the order of their keys, so that two transfers never wait on each
    other."""
    for build in sorted(builds, key=lambda build: build.pk):
        lock_build(build)


def _check_pair(build: Build, to_build: Build) -> None:
    if build == to_build:
        raise LedgerError("Choose a different build to move material to.")
    if build.currency != to_build.currency:
        raise LedgerError(
            f"{build} is kept in {build.currency} and {to_build} in {to_build.currency}, "
            "and a cost cannot change currency. Log it as sold here and bought there."
        )


def _check(*builds: Build) -> None:
    for build in builds:
        check_stock(build)


def _find_or_make(actor: User, to_build: Build, component: Component) -> Component:
    """The component of the same name over there, made like this one where there is none."""
    found = find_named(Component, to_build, component.name)
    if found is not None:
        return found
    values = stated_values(component, without=_OF_BUILD)
    return save_component(actor=actor, build=to_build, component=Component(), values=values)


def _return_to_stock(actor: User, transfer: Move) -> None:
    """What a transfer had taken from stock on hand is an entry on hand again."""
    assert transfer.component is not None
    assert transfer.base_qty is not None
    return_to_stock(
        actor=actor,
        component=transfer.component,
        text=transfer.quantity_text,
        quantity=transfer.base_qty,
        on=transfer.moved_on,
    )


def _note(
    actor: User,
    transfer: Move,
    before: Snapshot | None,
    after: Snapshot | None,
    action: str = "",
) -> None:
    """The same entry in the history of both builds, each told in its own words."""
    for side, text, way in (
        (transfer.component, transfer.quantity_text, "out"),
        (transfer.to_component, transfer.to_text, "in"),
    ):
        if side is not None:
            note_change(
                actor=actor,
                build=side.build,
                record=transfer,
                before=before,
                after=after,
                action=action,
                summary=f"{text} {side} moved {way}",
            )
