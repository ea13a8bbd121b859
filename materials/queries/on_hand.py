"""Reading what is noted as on hand, and what was taken from it."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet, Sum

from ..choices import Fate
from ..models import Build, Component, Conversion, LeftOver
from .quantities import base_quantity


def entries_on_hand(component: Component, on: date | None = None) -> QuerySet[LeftOver]:
    """Entries on hand of a component, the newest first; up to a day if given."""
    entries = LeftOver.objects.filter(component=component, fate=Fate.ON_HAND).order_by("-pk")
    return entries if on is None else entries.filter(noted_on__lte=on)


def on_hand(component: Component, on: date | None = None) -> Decimal:
    """How much is on hand, in the base unit."""
    return entries_on_hand(component, on).order_by().aggregate(qty=Sum("base_qty"))[
        "qty"
    ] or Decimal(0)


def sum_on_hand(build: Build) -> dict[int, Decimal]:
    """What is on hand of each component that has some, by its key, in base units."""
    entries = LeftOver.objects.filter(component__build=build, fate=Fate.ON_HAND).order_by()
    return dict(entries.values_list("component_id").annotate(qty=Sum("base_qty")))


def withdrawn_quantity(text: str, component: Component) -> Decimal:
    """How much a stored text says was taken from stock on hand. Raises QuantityError."""
    return base_quantity(text, component) if text else Decimal(0)


@dataclass(frozen=True)
class Withdrawal:
    """Where a record's material was taken from, quantities in the base unit.

    ``whole`` of ``whole_text`` went; ``text`` and ``quantity`` are what of it stock on hand
    gave. ``is_on_hand``: the record is an entry on hand itself.
    """

    component: Component
    on: date
    whole_text: str
    whole: Decimal
    is_on_hand: bool
    text: str
    quantity: Decimal


def withdrawal_of(record: Conversion | LeftOver) -> Withdrawal:
    """Where the material of a conversion or left over was taken from, as it is now."""
    given: tuple[Component, date, str, Decimal, bool]
    if isinstance(record, Conversion):
        given = (record.source, record.converted_on, record.used_text, record.used_qty, False)
    else:
        is_on_hand = record.fate == Fate.ON_HAND
        text = record.quantity_text
        given = (record.component, record.noted_on, text, record.base_qty, is_on_hand)
    return Withdrawal(*given, record.hand_text, withdrawn_quantity(record.hand_text, given[0]))
