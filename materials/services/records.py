"""Deleting any record, and undoing any change."""

from django.contrib.auth.models import User
from django.db import models, transaction

from .. import access
from ..models import Build, Change, Component, Conversion, LeftOver, Move, Purchase, RetailPrice
from ..queries.acts import parts_of, whole_of
from ..queries.on_hand import withdrawal_of
from ..tools import MADE_BY_CHANGE
from .acts import as_one
from .components import convert_again
from .errors import LedgerError
from .history import RECORDS, note_change, put_back, remove_record, same_facts, take_snapshot
from .import_undo import NAMES, import_of, list_used, undo_import
from .ledger import check_stock, cost_purchases, lock_build, purchases_with
from .on_hand import restore_withdrawal, return_withdrawal
from .totals import keep_totals
from .transfers import check_currency, delete_transfer, undo_transfer

# What is not undone, and why: an editor could give himself another part by it, or open again
# what was closed.
_NOT_UNDONE = {
    "member": "Undoing does not change members. The owner does that on the members page.",
    "share link": "What was revoked stays revoked. Make a new link instead.",
}


@transaction.atomic
def delete_record(*, actor: User, build: Build, record: models.Model) -> None:
    """Delete a record; it stays in the history and can be brought back.

    Raises LedgerError when others use it or when less would be left than was used.
    """
    if isinstance(record, Move):
        delete_transfer(actor=actor, transfer=record)
        return
    lock_build(build)
    _remove(actor, build, record)
    check_stock(build)


def _remove(actor: User, build: Build, record: models.Model) -> None:
    component = record.component if isinstance(record, RetailPrice) else None
    if isinstance(record, Conversion | LeftOver):
        # As it is stored: it may have been changed since it was read.
        for now in type(record).objects.filter(pk=record.pk):
            return_withdrawal(actor=actor, withdrawn=withdrawal_of(now))
    with keep_totals(build, [record.pk] if isinstance(record, Purchase) else []):
        remove_record(actor=actor, build=build, record=record)
    if component is not None:
        cost_purchases(build, purchases_with([component]))


@transaction.atomic
def undo_change(*, actor: User, build: Build, change: Change) -> list[str]:
    """Undo one change: bring back what was deleted, restore what was changed, drop what was added.

    An import is undone as one, and so is an act of several changes, by any of them. Returns
    sentences worth saying: which names stay because they are used now, which number a record has
    that comes back to find its own taken.

    Raises LedgerError when it was changed again since or leaves the ledger inconsistent.
    """
    if change.build_id == build.pk and import_of(change) is not None:
        lock_build(build)
        kept = undo_import(actor=actor, build=build, change=change)
        return [f"Kept, because they are used: {', '.join(kept[:20])}."] if kept else []
    if change.build_id == build.pk and change.act:
        return _undo_act(actor, build, change)
    if change.build_id != build.pk or (change.before is None and change.after is None):
        raise LedgerError("This entry cannot be undone on its own.")
    said = _undo(actor, build, change)
    check_stock(build)
    return said


def _undo_act(actor: User, build: Build, change: Change) -> list[str]:
    """Undo all changes of an act, the last first; this is one act again."""
    lock_build(build)
    whole = whole_of(change) or change
    kept, said, is_undone = [], [], False
    with as_one(actor=actor, build=build, summary=whole.summary, action="undone"):
        for part in parts_of(whole):
            now = _current(part)
            if same_facts(take_snapshot(now) if now is not None else None, part.before):
                # Somebody has taken this one back already.
                continue
            if now is not None and part.before is None and _is_kept(part, now):
                kept.append(str(now))
                continue
            said += _undo(actor, build, part)
            is_undone = True
    if not is_undone:
        raise LedgerError("This was undone already.")
    check_stock(build)
    return [*said, *([f"Kept, because they are used: {', '.join(kept[:20])}."] if kept else [])]


def _is_kept(change: Change, now: models.Model) -> bool:
    """Whether a name that was added stays, as something else uses it or somebody changed it."""
    if change.record_type not in NAMES:
        return False
    is_changed = not same_facts(take_snapshot(now), change.after)
    return is_changed or bool(list_used(change.record_type, [now.pk]))


def _undo(actor: User, build: Build, change: Change) -> list[str]:
    """Undo one change by itself; whoever calls it checks the stock afterwards."""
    if reason := not_undone(change):
        raise LedgerError(reason)
    if change.record_type == "move":
        undo_transfer(actor=actor, change=change)
        return []
    lock_build(build)
    said: list[str] = []
    if change.before is None:
        _drop(actor, build, change)
    else:
        is_purchase = change.record_type == "purchase"
        current = _current(change)
        old = withdrawal_of(current) if isinstance(current, Conversion | LeftOver) else None
        # Found before the rows that name them are put back.
        made = [record for list_made in MADE_BY_CHANGE for record in list_made(change)]
        with keep_totals(build, [change.record_id] if is_purchase else []):
            record, said = put_back(change)
        if isinstance(record, Build) and record.put_away_on != build.put_away_on:
            # A co-builder may undo what is in a build, but not put it away or bring it back.
            access.require_owner(actor, build)
        for made_by_it in made:
            _remove(actor, build, made_by_it)
        _derive_again(build, record)
        if isinstance(record, Conversion | LeftOver):
            restore_withdrawal(actor=actor, old=old, now=withdrawal_of(record))
        note_change(
            actor=actor,
            build=build,
            record=record,
            before=change.after,
            after=take_snapshot(record),
            action="undone",
        )
    return said


def not_undone(change: Change) -> str:
    """Why a change is never undone; empty when it may be."""
    return _NOT_UNDONE.get(change.record_type, "")


def _current(change: Change) -> models.Model | None:
    """The record of a change as it is now; None when it was deleted."""
    model, _ = RECORDS[change.record_type]
    return model._default_manager.filter(pk=change.record_id).first()


def _drop(actor: User, build: Build, change: Change) -> None:
    record = _current(change)
    if record is None or not same_facts(take_snapshot(record), change.after):
        raise LedgerError(
            "This was changed again since. Undo the later change first (newest at the top)."
        )
    _remove(actor, build, record)


def _derive_again(build: Build, record: models.Model) -> None:
    if isinstance(record, Build):
        check_currency(record)
        cost_purchases(build)
    elif isinstance(record, Purchase):
        cost_purchases(build, [record.pk])
    elif isinstance(record, Component):
        convert_again(build, record)
    elif isinstance(record, RetailPrice | LeftOver):
        convert_again(build, record.component)
    elif isinstance(record, Conversion):
        outputs = record.outputs.select_related("component")
        for component in {record.source, *(output.component for output in outputs)}:
            convert_again(build, component)
