"""Table of transfers between builds."""

from typing import Any

import django_tables2 as tables

from .base import LedgerTable, MoneyColumn, NumberColumn, RecordLink, by, in_unit


class TransferTable(LedgerTable):
    """Transfers between builds, as this one sees them."""

    chief = "qty"
    plain = (
        "is_out",
        "part_name",
        "other",
    )

    moved_on = RecordLink("move", verbose_name="Date", order_by=by("moved_on"))
    is_out = tables.Column(verbose_name="Way", order_by=by("is_out"))
    part_name = RecordLink(
        "component", key="part_id", verbose_name="Component", order_by=by("part_name")
    )
    qty = NumberColumn(verbose_name="Quantity", order_by=by("qty"))
    other = tables.Column(verbose_name="Other build", order_by=by("other"))
    value_amount = MoneyColumn(verbose_name="Value", order_by=by("value_amount"))

    def render_is_out(self, value: Any) -> str:
        return "Out" if value else "In"

    def value_is_out(self, value: Any) -> str:
        return self.render_is_out(value)

    def render_qty(self, value: Any, record: Any) -> str:
        return in_unit(value, record.part_unit)

    def value_qty(self, value: Any) -> Any:
        return value
