"""Table of a build's elements."""

import django_tables2 as tables

from .base import (
    NONE,
    LedgerTable,
    MoneyColumn,
    RecordLink,
    by,
)


class ElementTable(LedgerTable):
    """Elements with their budgets."""

    chief = "budget_amount"
    plain = ("name",)

    code = RecordLink("element", order_by=by("code"))
    name = tables.Column(order_by=by("name"))
    budget_amount = MoneyColumn(verbose_name="Budget", order_by=by("budget_amount"), default=NONE)
