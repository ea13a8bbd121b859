"""Tables of elements, components, new prices and suppliers."""

import django_tables2 as tables

from .base import (
    NUM_WIDE,
    WIDE_ONLY,
    DayColumn,
    LedgerTable,
    MoneyColumn,
    NumberColumn,
    PercentColumn,
    QuantityColumn,
    RateColumn,
    RecordLink,
    by,
)


class ElementTable(LedgerTable):
    """Elements with their budgets."""

    code = RecordLink("element_edit", order_by=by("code"))
    name = tables.Column(order_by=by("name"))
    budget_amount = MoneyColumn(verbose_name="Budget", order_by=by("budget_amount"), default="—")


class ComponentTable(LedgerTable):
    """Components."""

    name = RecordLink("component", verbose_name="Component", order_by=by("name"))
    element = tables.Column(order_by=by("element__code"), default="—")
    unit = tables.Column(verbose_name="Base unit", order_by=by("unit"), attrs=WIDE_ONLY)
    required_qty = QuantityColumn(
        verbose_name="Required", component="", order_by=by("required_qty"), default="—"
    )
    waste_percent = PercentColumn(
        verbose_name="Waste", order_by=by("waste_percent"), attrs=NUM_WIDE
    )
    contents = tables.Column(order_by=by("contents"), default="—", attrs=WIDE_ONLY)


class PriceTable(LedgerTable):
    """Dated new prices."""

    component = RecordLink("component", key="component_id", order_by=by("component__name"))
    price = RateColumn(verbose_name="New price", order_by=by("price"))
    per_text = tables.Column(verbose_name="Per", order_by=by("per_text"), empty_values=())
    priced_on = DayColumn(verbose_name="Priced on", order_by=by("priced_on"))
    priced_at = tables.Column(verbose_name="Priced at", order_by=by("priced_at"), default="—")
    edit = RecordLink(
        "price_edit", accessor="pk", text="Change", verbose_name="Change", orderable=False
    )

    def render_per_text(self, value, record):
        return value or record.component.unit

    def value_per_text(self, value, record):
        return value or record.component.unit


class SupplierTable(LedgerTable):
    """Suppliers with what came from them."""

    name = RecordLink("supplier_edit", verbose_name="Supplier", order_by=by("name"))
    place = tables.Column(order_by=by("place"), default="—")
    purchase_count = NumberColumn(
        verbose_name="Purchases", order_by=by("purchase_count"), default="0"
    )
    landed = MoneyColumn(verbose_name="Landed cost received", order_by=by("landed"), default="—")
    last_on = DayColumn(verbose_name="Last purchase", order_by=by("last_on"), default="—")
    is_gone = tables.Column(verbose_name="No longer there", order_by=by("is_gone"))

    def render_is_gone(self, value):
        return "no longer there" if value else "—"

    def value_is_gone(self, value):
        return "yes" if value else "no"
