"""Reading the heaps noted as on hand, and what was taken from them."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal

from django.db.models import QuerySet, Sum

from ..choices import Fate
from ..models import Build, Component, Conversion, LeftOver
from .quantities import base_quantity


def heaps_of(component: Component, on: date | None = None) -> QuerySet[LeftOver]:
    """Heaps of a component, the newest first; those noted up to a day where it is given."""
    heaps = LeftOver.objects.filter(component=component, fate=Fate.ON_HAND).order_by("-pk")
    return heaps if on is None else heaps.filter(noted_on__lte=on)


def on_hand(component: Component, on: date | None = None) -> Decimal:
    """How much the heaps hold, in the base unit."""
    return heaps_of(component, on).order_by().aggregate(qty=Sum("base_qty"))["qty"] or Decimal(0)


def sum_heaps(build: Build) -> dict[int, Decimal]:
    """What is on hand of each component that has a heap, by its key, in base units."""
    heaps = LeftOver.objects.filter(component__build=build, fate=Fate.ON_HAND).order_by()
    return dict(heaps.values_list("component_id").annotate(qty=Sum("base_qty")))


def hand_quantity(text: str, component: Component) -> Decimal:
    """How much a stored text says was taken from the heaps. Raises QuantityError."""
    return base_quantity(text, component) if text else Decimal(0)


@dataclass(frozen=True)
class Taken:
    """Where a record's material was taken from, quantities in the base unit.

    ``whole`` of ``whole_text`` went; ``text`` and ``quantity`` are what of it the heaps on hand
    gave. ``is_heap``: the record is a heap itself.
    """

    component: Component
    on: date
    whole_text: str
    whole: Decimal
    is_heap: bool
    text: str
    quantity: Decimal


def taken_by(record: Conversion | LeftOver) -> Taken:
    """Where the material of a conversion or left over was taken from, as it is now."""
    given: tuple[Component, date, str, Decimal, bool]
    if isinstance(record, Conversion):
        given = (record.source, record.converted_on, record.used_text, record.used_qty, False)
    else:
        is_heap = record.fate == Fate.ON_HAND
        text = record.quantity_text
        given = (record.component, record.noted_on, text, record.base_qty, is_heap)
    return Taken(*given, record.hand_text, hand_quantity(record.hand_text, given[0]))
