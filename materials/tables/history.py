"""Table of changes."""

import django_tables2 as tables

from ..models.history import kind_words
from .base import NONE, LedgerTable, RecordLink, by


class ChangeTable(LedgerTable):
    """History."""

    plain = (
        "who",
        "action",
        "record_type",
        "summary",
    )

    at = tables.DateTimeColumn(
        verbose_name="When",
        format="j M Y, H:i",
        order_by=("pk",),
        attrs={"td": {"class": "date"}},
    )
    who = tables.Column(verbose_name="Who", order_by=by("actor_name"), default=NONE)
    action = tables.Column(verbose_name="What", order_by=by("action"))
    record_type = tables.Column(verbose_name="Of", order_by=by("record_type"))
    summary = RecordLink("change", verbose_name="Record", order_by=by("summary"))

    def render_record_type(self, value: str) -> str:
        return kind_words(value)

    def value_record_type(self, value: str) -> str:
        return kind_words(value)
