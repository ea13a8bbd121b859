"""The table of takeoffs."""

import re
from decimal import Decimal

import django_tables2 as tables

from ..tables.base import NONE, DayColumn, LedgerTable, NumberColumn, RecordLink, by
from ..templatetags.figures import plain
from .queries import kept_figures, title_of

# More places than anybody measures to; kept so that the quantity is read again as it was.
_LONG = re.compile(r"\d+\.\d{4,}")


class TakeoffTable(LedgerTable):
    """Takeoffs."""

    chief = "chief_figure"
    plain = ("shape",)

    name = RecordLink("takeoff", verbose_name="Takeoff", order_by=by("name"))
    shape = tables.Column(order_by=by("shape"))
    chief_figure = NumberColumn(verbose_name="Comes to", empty_values=(), orderable=False)
    figures = tables.Column(verbose_name="Also", orderable=False)
    uses = tables.Column(verbose_name="Part of", empty_values=(), orderable=False)
    created_at = DayColumn(verbose_name="Saved on", order_by=by("created_at"))

    def render_shape(self, record):
        return title_of(record)

    def value_shape(self, record):
        return title_of(record)

    def render_chief_figure(self, record):
        typed = next((row["typed"] for row in kept_figures(record)), None)
        return NONE if typed is None else self._rounded(typed)

    def value_chief_figure(self, record):
        return next((row["typed"] for row in kept_figures(record)), "")

    def render_figures(self, record):
        return self._rounded(
            "; ".join(f"{row['label']} {row['typed']}" for row in kept_figures(record)[1:2])
        )

    @staticmethod
    def _rounded(text):
        return _LONG.sub(lambda found: plain(Decimal(found[0]), 3, trim=True), text)

    def value_figures(self, record):
        return "; ".join(f"{row['label']} {row['typed']}" for row in kept_figures(record)[:2])

    def render_uses(self, record):
        return self.value_uses(record) or NONE

    def value_uses(self, record):
        names = [
            use.component.name if use.component else use.area_label for use in record.uses.all()
        ]
        return "; ".join(dict.fromkeys(names))
