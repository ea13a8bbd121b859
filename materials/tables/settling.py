"""The table of payments."""

import django_tables2 as tables

from .base import NONE, WIDE_ONLY, LedgerTable, MoneyColumn, RecordLink, by


class PaymentTable(LedgerTable):
    """Payments."""

    chief = "amount"
    plain = (
        "giver",
        "receiver",
        "note",
    )

    handed_on = RecordLink("hand_over_edit", verbose_name="Date", order_by=by("handed_on"))
    giver = tables.Column(verbose_name="From", order_by=by("giver__name"))
    receiver = tables.Column(verbose_name="To", order_by=by("receiver__name"))
    amount = MoneyColumn(order_by=by("amount"))
    note = tables.Column(order_by=by("note"), default=NONE, attrs=WIDE_ONLY)
