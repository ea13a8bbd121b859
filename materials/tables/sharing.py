"""Table of share links."""

import django_tables2 as tables
from django.utils import timezone

from ..queries.sharing import parts_of
from .base import NONE, WIDE_ONLY, DayColumn, LedgerTable, NumberColumn, RecordLink, by


class ShareLinkTable(LedgerTable):
    """Share links."""

    chief = "revoked_at"
    plain = ("shows", "edit", "revoke")

    label = tables.Column(verbose_name="For whom", order_by=by("label"))
    shows = tables.Column(
        accessor="pk", verbose_name="Shows", order_by=by("shows_prices", "shows_suppliers")
    )
    expires_on = DayColumn(verbose_name="Opens until", order_by=by("expires_on"), default="no end")
    revoked_at = tables.Column(verbose_name="State", order_by=by("revoked_at"), empty_values=())
    last_opened_at = tables.DateTimeColumn(
        verbose_name="Last opened",
        format="j M Y, H:i",
        order_by=by("last_opened_at"),
        default="never",
    )
    opened_count = NumberColumn(verbose_name="Times opened", order_by=by("opened_count"))
    created_by = tables.Column(
        verbose_name="Made by", order_by=by("created_by__username"), default=NONE, attrs=WIDE_ONLY
    )
    edit = RecordLink(
        "share_edit", accessor="pk", text="Change", verbose_name="Change", orderable=False
    )
    revoke = RecordLink(
        "share_revoke", accessor="pk", text="Revoke", verbose_name="Revoke", orderable=False
    )

    def __init__(self, *args, may_change: bool = True, **kwargs):
        self.may_change = may_change
        super().__init__(*args, **kwargs)
        if not may_change:
            self.columns.hide("edit")

    def render_shows(self, record):
        return self.value_shows(record)

    def value_shows(self, record):
        shown = [name for name, is_shown in parts_of(record)._asdict().items() if is_shown]
        return ", ".join(shown) or "quantities alone"

    def render_revoked_at(self, record):
        return self.value_revoked_at(record)

    def value_revoked_at(self, record):
        if record.revoked_at is not None:
            return f"revoked {timezone.localtime(record.revoked_at):%-d %b %Y}"
        if record.expires_on is not None and record.expires_on < timezone.localdate():
            return "expired"
        return "open"

    def render_opened_count(self, value):
        return f"{value:,}"

    def value_opened_count(self, value):
        return value

    def render_edit(self, record, value, column, table):
        return NONE if record.revoked_at else column.render(value, record, table)

    def value_edit(self, value):
        return value

    def render_revoke(self, record, value, column, table):
        return NONE if record.revoked_at else column.render(value, record, table)

    def value_revoke(self, value):
        return value
