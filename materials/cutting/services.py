"""Keeping a cutting plan, and taking it: what was cut is logged as conversions."""

from datetime import date
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import User
from django.db import transaction

from ..calc.measures import QuantityError
from ..choices import Fate
from ..models import (
    Build,
    Change,
    Component,
    Conversion,
    CuttingBuy,
    CuttingHand,
    CuttingNeed,
    CuttingPlan,
    CuttingTaken,
    LeftOver,
)
from ..queries.days import NOT_YET_CONVERTED
from ..queries.on_hand import on_hand
from ..queries.quantities import base_quantity
from ..queries.stock import next_conversion_number
from ..services.errors import LedgerError, refuse_early
from ..services.history import note_change, save_values, take_snapshot, write_record
from ..services.ledger import lock_build
from ..services.on_hand import take_from_stock
from ..services.purchases import Rows, replace_rows
from ..services.stock import save_conversion
from .queries.uses import Use, read_any, uses_of

TAKEN = "You took this plan already, and its cuts are logged. Undo that in the history first."


@transaction.atomic
def save_plan(
    *,
    actor: User,
    build: Build,
    plan: CuttingPlan,
    values: dict[str, Any],
    hand: Rows,
    buy: Rows,
    needs: Rows,
    result: dict[str, Any],
) -> CuttingPlan:
    """Keep a plan with its rows and what was found for them (``calc.store``).

    Raises LedgerError for one that was taken, or a name that is in use.
    """
    lock_build(build)
    if plan.pk and CuttingPlan.objects.filter(pk=plan.pk, taken_on__isnull=False).exists():
        raise LedgerError(TAKEN)
    plan.build = build
    for name, value in values.items():
        setattr(plan, name, value)
    plan.result = result
    parts = (("hand", CuttingHand, hand), ("buy", CuttingBuy, buy), ("needs", CuttingNeed, needs))

    def write() -> None:
        plan.save()
        for related, model, rows in parts:
            made = [model(**row, position=i) for i, row in enumerate(rows)]
            replace_rows(plan, "plan", getattr(plan, related), made)

    write_record(actor=actor, build=build, record=plan, write=write)
    return plan


@transaction.atomic
def take_plan(*, actor: User, build: Build, plan: CuttingPlan, taken_on: date) -> list[Conversion]:
    """Log what a plan cuts: a conversion for each kind of board, off-cuts that stay on hand.

    All of it or nothing, and once only. Raises LedgerError when it was taken already, a piece has
    no component, or there are not that many boards.
    """
    lock_build(build)
    refuse_early(taken_on, NOT_YET_CONVERTED, "taken_on")
    plan = CuttingPlan.objects.get(pk=plan.pk, build=build)
    if plan.taken_on is not None:
        raise LedgerError(TAKEN)
    needs = list(plan.needs.select_related("component"))
    bare = [need.length_text for need in needs if need.component is None]
    if bare:
        raise LedgerError(
            f"First say what pieces of {' and '.join(bare)} become: change the plan and choose a"
            " component for each."
        )
    shown = read_any(plan, str)
    if shown is None:
        raise LedgerError("Work this plan out again: change it and save it.")
    try:
        uses = uses_of(plan, shown, needs)
    except QuantityError as error:
        raise LedgerError(str(error)) from None
    before = take_snapshot(plan)
    taken = _PlanLog(actor, build, plan, taken_on)
    rows: list[CuttingTaken] = []
    conversions = [taken.log(use, needs) for use in uses]
    rows += [CuttingTaken(logged_conversion=conversion) for conversion in conversions]
    # Off-cuts kept on hand come last: the newest entry is taken from first, and these are to stay.
    rows += [CuttingTaken(kept_off_cut=entry) for entry in taken.keep(uses)]
    plan.taken_on = taken_on
    plan.save()
    for position, row in enumerate(rows):
        row.plan, row.position = plan, position
        row.save()
    after = take_snapshot(plan)
    note_change(actor=actor, build=build, record=plan, before=before, after=after, action="taken")
    return conversions


class _PlanLog:
    """One plan while it is logged."""

    def __init__(self, actor: User, build: Build, plan: CuttingPlan, on: date):
        self.actor, self.build, self.plan, self.on = actor, build, plan, on

    def log(self, use: Use, needs: list[CuttingNeed]) -> Conversion:
        """The conversion of one kind of board or sheet."""
        return save_conversion(
            actor=self.actor,
            build=self.build,
            conversion=Conversion(),
            values={
                "number": next_conversion_number(self.build),
                "converted_on": self.on,
                "source": self.plan.component,
                "used_text": use.used_text,
                "extra_cost_amount": Decimal(0),
                "hours": Decimal(0),
                "note": f"{self.plan.name}: {use.count} × {use.name}"[:500],
            },
            outputs=[
                {"component": needs[need].component, "made_text": text} for need, text in use.made
            ],
            from_stock=use.is_on_hand,
        )

    def keep(self, uses: list[Use]) -> list[LeftOver]:
        """Off-cuts as entries on hand of their own; returns those that were on hand in no entry
        before.

        What was on hand leaves its entry, and stays on hand when this is undone.
        """
        source = self.plan.component
        found = [(text, use.is_on_hand) for use in uses for text in use.kept]
        for text, was_on_hand in found:
            available = min(on_hand(source, self.on), base_quantity(text, source))
            if was_on_hand and available > 0:
                take_from_stock(actor=self.actor, component=source, quantity=available, on=self.on)
        entries = [(self._entry_on_hand(source, text), was_on_hand) for text, was_on_hand in found]
        return [entry for entry, was_on_hand in entries if not was_on_hand]

    def _entry_on_hand(self, source: Component, text: str) -> LeftOver:
        values = {
            "component": source,
            "noted_on": self.on,
            "quantity_text": text,
            "base_qty": base_quantity(text, source),
            "fate": Fate.ON_HAND,
            "note": f"Off-cuts of {self.plan.name}"[:500],
        }
        entry = LeftOver()
        save_values(actor=self.actor, build=self.build, record=entry, values=values)
        return entry


def list_logged(change: Change) -> list[Conversion | LeftOver]:
    """What a change made if it took a plan: off-cuts on hand first, then conversions."""
    if (change.record_type, change.action) != ("cutting plan", "taken"):
        return []
    rows = CuttingTaken.objects.filter(plan_id=change.record_id).select_related(
        "logged_conversion", "kept_off_cut"
    )
    entries = [row.kept_off_cut for row in rows if row.kept_off_cut is not None]
    conversions = [row.logged_conversion for row in rows if row.logged_conversion is not None]
    return [*entries, *conversions]
