"""Tables of elements, components, new prices and suppliers."""

import django_tables2 as tables

from .base import (
    NONE,
    NUM_WIDE,
    WIDE_ONLY,
    LedgerTable,
    PercentColumn,
    QuantityColumn,
    RecordLink,
    by,
)


class ComponentTable(LedgerTable):
    """Components."""

    chief = "required_qty"
    plain = ("element",)

    name = RecordLink("component", verbose_name="Component", order_by=by("name"))
    element = tables.Column(order_by=by("element__code"), default=NONE)
    unit = tables.Column(verbose_name="Base unit", order_by=by("unit"), attrs=WIDE_ONLY)
    required_qty = QuantityColumn(
        verbose_name="Required", component="", order_by=by("required_qty"), default=NONE
    )
    waste_percent = PercentColumn(
        verbose_name="Waste", order_by=by("waste_percent"), attrs=NUM_WIDE
    )
    contents = tables.Column(order_by=by("contents"), default=NONE, attrs=WIDE_ONLY)
