"""Tables of purchases and their lines."""

import django_tables2 as tables
from django.db.models import F
from django.utils.html import format_html

from ..templatetags.deadlines import deadline
from ..templatetags.figures import UNKNOWN
from .base import (
    NONE,
    NUM_WIDE,
    WIDE_ONLY,
    DayColumn,
    LedgerTable,
    MoneyColumn,
    NumberColumn,
    QuantityColumn,
    RecordLink,
    by,
)


class PurchaseTable(LedgerTable):
    """Purchases."""

    chief = "landed_amount"
    plain = (
        "bought_on",
        "supplier",
        "state",
    )

    number = RecordLink("purchase", verbose_name="Purchase", order_by=by("number"))
    bought_on = DayColumn(verbose_name="Date", order_by=by("bought_on"))
    supplier = tables.Column(order_by=by("supplier__name"), default=NONE)
    state = tables.Column(order_by=by("state"))
    # Stands under the state, and is sorted by through links of the page.
    due_at = tables.Column(verbose_name="Deadline", visible=False)
    paid_by = tables.Column(
        verbose_name="Paid by", order_by=by("paid_by__name"), default=NONE, attrs=WIDE_ONLY
    )
    line_count = NumberColumn(verbose_name="Lines", order_by=by("line_count"), attrs=NUM_WIDE)
    landed_amount = MoneyColumn(verbose_name="Landed cost", order_by=by("landed_amount"))

    def order_due_at(self, rows, is_descending):
        """The first deadline first and what has none at the end, on every database; or reversed."""
        due = F("due_at")
        if is_descending:
            return rows.order_by(due.desc(nulls_first=True), "-pk"), True
        return rows.order_by(due.asc(nulls_last=True), "pk"), True

    def render_state(self, value, record):
        due = deadline(record, self.build)
        return format_html('{}<span class="under">{}</span>', value, due) if due else value

    def value_state(self, value):
        return value

    def render_landed_amount(self, value, record, column):
        text = column.render(value, self)
        return f"{text} and not known" if record.unknown_count else text

    def value_landed_amount(self, value):
        return value


class LineTable(LedgerTable):
    """Purchase lines."""

    chief = "landed_amount"
    plain = (
        "bought_on",
        "component",
        "quantity_text",
        "source",
        "state",
    )

    purchase = RecordLink(
        "purchase", key="purchase_id", order_by=("of_day", "purchase_id", "-position", "-pk")
    )
    bought_on = DayColumn(
        accessor="purchase__bought_on",
        verbose_name="Date",
        order_by=("of_day", "purchase_id", "-position", "-pk"),
    )
    component = RecordLink("component", key="component_id", order_by=by("component__name"))
    quantity_text = tables.Column(verbose_name="As typed", order_by=by("base_qty"))
    usable_qty = QuantityColumn(verbose_name="Usable", order_by=by("usable_qty"))
    source = tables.Column(order_by=by("source"))
    state = tables.Column(
        accessor="purchase__get_state_display",
        verbose_name="State",
        order_by=by("of_state"),
    )
    landed_amount = MoneyColumn(verbose_name="Landed cost", order_by=by("landed_amount"))

    def render_landed_amount(self, value, record, column):
        if record.price_amount is None and not record.landed_amount:
            return UNKNOWN
        text = column.render(value, self)
        return f"{text} and not known" if record.price_amount is None else text

    def value_landed_amount(self, value):
        return value


class TickedLineTable(LineTable):
    """Purchase lines."""

    def render_purchase(self, value, record, column):
        """Its number behind a box that chooses the line, for the form of the page."""
        link = column.render(value=value, record=record, table=self)
        box = format_html('<input type="checkbox" name="line" value="{}" form="ticked">', record.pk)
        words = format_html('<span class="unseen">Choose {}, {}</span>', value, record)
        label = format_html('<label class="tick">{}{}</label>', box, words)
        return format_html('<span class="ticked">{}<span>{}</span></span>', label, link)

    def value_purchase(self, value):
        return value
