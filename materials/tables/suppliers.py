"""Table of suppliers."""

import django_tables2 as tables

from .base import (
    NONE,
    DayColumn,
    LedgerTable,
    MoneyColumn,
    NumberColumn,
    RecordLink,
    by,
)


class SupplierTable(LedgerTable):
    """Suppliers with what came from them."""

    chief = "landed"
    plain = (
        "place",
        "is_gone",
    )

    name = RecordLink("supplier", verbose_name="Supplier", order_by=by("name"))
    place = tables.Column(order_by=by("place"), default=NONE)
    purchase_count = NumberColumn(
        verbose_name="Purchases", order_by=by("purchase_count"), default="0"
    )
    landed = MoneyColumn(verbose_name="Landed cost received", order_by=by("landed"), default=NONE)
    last_on = DayColumn(verbose_name="Last purchase", order_by=by("last_on"), default=NONE)
    is_gone = tables.Column(verbose_name="No longer there", order_by=by("is_gone"))

    def render_is_gone(self, value):
        return "no longer there" if value else NONE

    def value_is_gone(self, value):
        return "yes" if value else "no"
