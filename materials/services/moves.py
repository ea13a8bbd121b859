"""Moving material from one build to another: written, changed and taken back in both at once.

A ``Move`` belongs to two builds. Whoever writes, deletes or undoes one needs to be an editor of
both, and both are locked in the order of their keys. Its value is fixed when it is moved and is
the same in both; it is worked out again only when asked, for a later entry in one build must not
change the sheet of another. ``queries.moves`` shows each build its own side, and names the other
only to those who may see it; so do the history and its differences.
"""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.contrib.auth.models import User
from django.db import models, transaction

from .. import access
from ..calc.money import minor_units
from ..calc.moves import value_moved
from ..calc.quantities import QuantityError
from ..models import Build, Change, Component, Move
from ..models.stated import stated_values
from ..queries.moves import arrives_as, builds_of, position_of
from ..queries.quantities import base_quantity, stored
from ..queries.records import find_named
from .components import save_component
from .errors import LedgerError
from .hand import give_back, take_from_hand
from .history import Snapshot, note_change, put_back, same_facts, take_snapshot
from .ledger import check_stock, lock_build

# What is said of a component as a part of its build; all else holds good of it elsewhere.
_OF_BUILD = frozenset({"element", "required_text", "required_from", "waste_percent", "note"})
_CHANGED = "This was changed again since: undo the later change first (newest at the top)."


@transaction.atomic
def save_move(
    *,
    actor: User,
    build: Build,
    move: Move,
    values: dict[str, Any],
    to_build: Build,
    value_again: bool = False,
) -> Move:
    """Move material out of ``build`` into ``to_build``, or change such a move.

    ``values``: moved_on, component, quantity_text, was_on_hand, to_component, note; without a
    ``to_component`` it goes to the one of the same name there, which is made if need be. The
    value is worked out when the move is new, when its component or quantity changes, and when
    ``value_again`` is asked for.
    Raises NotAllowed unless the actor may edit both builds, LedgerError when it cannot be.
    """
    _require_both(actor, build, to_build)
    _lock(build, to_build)
    _check_pair(build, to_build)
    before = take_snapshot(move) if move.pk else None
    old = Move.objects.get(pk=move.pk) if move.pk else None
    if old is not None and old.was_on_hand and old.component is not None:
        _give_back(actor, old)
    component, text = values["component"], values["quantity_text"]
    there = values.get("to_component") or _find_or_make(actor, to_build, component)
    for name, value in {**values, "to_component": there}.items():
        setattr(move, name, value)
    quantity = _derive(move)
    is_same = old is not None and old.component_id == component.pk and old.quantity_text == text
    if value_again or not is_same:
        average = position_of(component, move.moved_on).average
        move.value_amount = value_moved(Fraction(quantity), average, minor_units(build.currency))
        move.moved_by = actor
    if move.was_on_hand:
        take_from_hand(actor=actor, component=component, quantity=quantity)
    move.save()
    _note(actor, move, before, take_snapshot(move))
    _check(build, to_build)
    return move


def _derive(move: Move) -> Decimal:
    """Quantities of both sides from what was typed; returns the one that goes."""
    component, there = move.component, move.to_component
    assert component is not None
    assert there is not None
    try:
        move.base_qty = quantity = base_quantity(move.quantity_text, component)
    except QuantityError as error:
        raise LedgerError(str(error), "quantity_text") from None
    try:
        move.to_text, arrived = arrives_as(move.quantity_text, component, there)
        move.to_qty = stored(arrived)
    except QuantityError as error:
        raise LedgerError(f"{there} in {there.build}: {error}", "quantity_text") from None
    return quantity


@transaction.atomic
def delete_move(*, actor: User, move: Move) -> None:
    """Take a move back in both builds; what lay on hand lies there again.

    Raises NotAllowed unless the actor may edit both builds, LedgerError when what was moved in
    is used already.
    """
    builds = builds_of(move)
    _require_both(actor, *builds)
    _lock(*builds)
    before, pk = take_snapshot(move), move.pk
    if move.was_on_hand and move.component is not None:
        _give_back(actor, move)
    move.delete()
    move.pk = pk
    _note(actor, move, before, None)
    _check(*builds)


@transaction.atomic
def undo_move(*, actor: User, change: Change) -> None:
    """Undo one change of a move, in both builds.

    Raises NotAllowed unless the actor may edit both, LedgerError when it was changed again.
    """
    key = change.record_id
    move = None if key is None else Move.objects.filter(pk=key).first()
    now = None if move is None else take_snapshot(move)
    if not same_facts(now, change.after):
        raise LedgerError(_CHANGED)
    if change.before is None:
        if move is None:
            raise LedgerError(_CHANGED)
        delete_move(actor=actor, move=move)
        return
    builds = [] if move is None else builds_of(move)
    _require_both(actor, *builds)
    if move is not None and move.was_on_hand and move.component is not None:
        _give_back(actor, move)
    record = put_back(change)
    assert isinstance(record, Move)
    builds += [build for build in builds_of(record) if build not in builds]
    _require_both(actor, *builds)
    _lock(*builds)
    if record.component is not None and record.to_component is not None:
        _check_pair(record.component.build, record.to_component.build)
        _derive(record)
        record.save()
    if record.was_on_hand and record.component is not None and record.base_qty is not None:
        take_from_hand(actor=actor, component=record.component, quantity=record.base_qty)
    _note(actor, record, change.after, take_snapshot(record), "undone")
    _check(*builds)


def check_currency(build: Build) -> None:
    """Raises LedgerError when moves tie the build to one in another currency."""
    tied = (
        Move.objects.filter(component__isnull=False, to_component__isnull=False)
        .filter(models.Q(component__build=build) | models.Q(to_component__build=build))
        .exclude(component__build__currency=models.F("to_component__build__currency"))
    )
    if tied.exists():
        raise LedgerError(
            "Material was moved between this build and another one, so both keep one currency:"
            " leave it as it is, or delete those moves first.",
            "currency",
        )


def _require_both(actor: User, *builds: Build) -> None:
    if not all(access.may_edit(actor, build) for build in builds):
        raise access.NotAllowed(
            "A move stands in two builds, and you may not change both of them: ask somebody who"
            " may."
        )


def _lock(*builds: Build) -> None:
    """Hold the builds in the order of their keys, so that two moves never wait on each other."""
    for build in sorted(builds, key=lambda build: build.pk):
        lock_build(build)


def _check_pair(build: Build, to_build: Build) -> None:
    if build == to_build:
        raise LedgerError("Material is moved to another build: choose a different one.")
    if build.currency != to_build.currency:
        raise LedgerError(
            f"{build} is kept in {build.currency} and {to_build} in {to_build.currency}, and a cost"
            " cannot go from one currency to another: write it as sold here and bought there."
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


def _give_back(actor: User, move: Move) -> None:
    """What a move had taken from the heaps is a heap again."""
    assert move.component is not None
    assert move.base_qty is not None
    give_back(
        actor=actor,
        component=move.component,
        text=move.quantity_text,
        quantity=move.base_qty,
        on=move.moved_on,
    )


def _note(
    actor: User,
    move: Move,
    before: Snapshot | None,
    after: Snapshot | None,
    action: str = "",
) -> None:
    """The same entry in the history of both builds, each told in its own words."""
    for side, text, way in (
        (move.component, move.quantity_text, "out"),
        (move.to_component, move.to_text, "in"),
    ):
        if side is not None:
            note_change(
                actor=actor,
                build=side.build,
                record=move,
                before=before,
                after=after,
                action=action,
                summary=f"{text} {side} moved {way}",
            )
