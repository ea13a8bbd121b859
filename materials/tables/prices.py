"""Table of new prices."""

import django_tables2 as tables

from .base import (
    NONE,
    DayColumn,
    LedgerTable,
    RateColumn,
    RecordLink,
    by,
)


class PriceTable(LedgerTable):
    """Dated new prices."""

    chief = "price"
    plain = (
        "priced_on",
        "priced_at",
        "edit",
    )

    component = RecordLink("component", key="component_id", order_by=by("component__name"))
    price = RateColumn(verbose_name="New price", order_by=by("price"))
    per_text = tables.Column(verbose_name="Per", order_by=by("per_text"), empty_values=())
    priced_on = DayColumn(verbose_name="Priced on", order_by=by("priced_on"))
    priced_at = tables.Column(verbose_name="Priced at", order_by=by("priced_at"), default=NONE)
    edit = RecordLink(
        "price_edit", accessor="pk", text="Change", verbose_name="Change", orderable=False
    )

    def render_per_text(self, value, record):
        return value or record.component.unit

    def value_per_text(self, value, record):
        return value or record.component.unit
