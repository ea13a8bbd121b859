"""Tables of conversions and left over."""

import django_tables2 as tables

from .base import (
    NONE,
    DayColumn,
    HoursColumn,
    LedgerTable,
    MoneyColumn,
    QuantityColumn,
    RecordLink,
    by,
)


class ConversionTable(LedgerTable):
    """Conversions with what they used and made."""

    chief = "used_text"
    plain = (
        "converted_on",
        "source",
    )

    number = RecordLink("conversion_edit", verbose_name="Conversion", order_by=by("number"))
    converted_on = DayColumn(verbose_name="Date", order_by=by("converted_on"))
    source = RecordLink(
        "component", key="source_id", verbose_name="From", order_by=by("source__name")
    )
    used_text = tables.Column(verbose_name="Quantity used", order_by=by("used_qty"))
    made = tables.Column(verbose_name="Made", empty_values=(), orderable=False)
    extra_cost_amount = MoneyColumn(verbose_name="Extra cost", order_by=by("extra_cost_amount"))
    hours = HoursColumn(order_by=by("hours"))

    def render_made(self, record):
        return "; ".join(str(output) for output in record.outputs.all())

    def value_made(self, record):
        return self.render_made(record)


class LeftOverTable(LedgerTable):
    """Leftovers."""

    chief = "base_qty"
    plain = (
        "component",
        "fate",
    )

    noted_on = RecordLink("left_over_edit", verbose_name="Date", order_by=by("noted_on"))
    component = RecordLink("component", key="component_id", order_by=by("component__name"))
    quantity_text = tables.Column(verbose_name="As typed", order_by=by("base_qty"))
    base_qty = QuantityColumn(verbose_name="Quantity", order_by=by("base_qty"))
    fate = tables.Column(verbose_name="What became of it", order_by=by("fate"))
    proceeds_amount = MoneyColumn(
        verbose_name="Proceeds", order_by=by("proceeds_amount"), default=NONE
    )
