"""Columns shared by all tables. Ties in a sort are broken by the primary key."""

from datetime import date
from typing import Any

import django_tables2 as tables
from django.urls import reverse
from django.utils.html import format_html
from django.utils.safestring import mark_safe

from ..calc.quantities import format_quantity
from ..calc.units import find_unit
from ..models import Build
from ..templatetags.figures import UNKNOWN, hours, money_text, rate_text, stated_percent

# Nothing stated: on a phone the cell is left out.
NONE = mark_safe('<span class="unknown">—</span>')


class LedgerTable(tables.Table):
    """A table of one build's records; ``build`` gives the currency and the addresses.

    On a phone a row has two lines: its first cell and the ``chief`` figure, and what else is
    known in grey, with the column's name but for those in ``plain``, which speak for themselves.
    """

    chief = ""
    plain: tuple[str, ...] = ()

    def __init__(self, *args: Any, build: Build, **kwargs: Any):
        self.build = build
        # Only columns there are: the library takes whatever else an address says for a path.
        order = kwargs.pop("order_by", None) or ()
        kwargs["order_by"] = [n for n in order if n.removeprefix("-") in self.base_columns]
        super().__init__(*args, **kwargs)
        # Names the table and its scrolling region for those who do not see it.
        self.caption = kwargs.get("caption") or (type(self).__doc__ or "Rows").strip(" .")


# Left out on a phone, where a row is a card: the record's own page has it.
WIDE_ONLY = {"td": {"class": "wide-only"}, "th": {"class": "wide-only"}}
# A bare count: on a phone, where no head stands over it, what it counts stands behind it.
COUNTED = {"td": {"class": "num counted"}, "th": {"class": "num"}}
NUM_WIDE = {"td": {"class": "num wide-only"}, "th": {"class": "num wide-only"}}


class NumberColumn(tables.Column):
    """A right-aligned figure. ``value`` keeps the plain Decimal, ``render`` writes it."""

    attrs = {"td": {"class": "num"}, "th": {"class": "num"}, "tf": {"class": "num"}}

    def __init__(self, *args: Any, **kwargs: Any):
        kwargs.setdefault("default", UNKNOWN)
        super().__init__(*args, **kwargs)

    def value(self, **kwargs: Any) -> Any:
        return kwargs["value"]


class DayColumn(tables.DateColumn):
    """A day, kept on one line."""

    attrs = {"td": {"class": "date"}, "th": {"class": "date"}}

    def __init__(self, *args: Any, **kwargs: Any):
        super().__init__(*args, format="j M Y", **kwargs)


class MoneyColumn(NumberColumn):
    """Money in the build's currency."""

    def render(self, value: Any, table: Any) -> str:
        return money_text(value, table.build.currency)


class RateColumn(NumberColumn):
    """A price per unit."""

    def render(self, value: Any, table: Any) -> str:
        return rate_text(value, table.build.currency)


class HoursColumn(NumberColumn):
    """Hours."""

    def render(self, value: Any) -> str:
        return hours(value)


class PercentColumn(NumberColumn):
    """Per cent, as stated."""

    def render(self, value: Any) -> str:
        return stated_percent(value)


class QuantityColumn(NumberColumn):
    """A quantity in the base unit of the row's component."""

    def __init__(self, *args: Any, component: str = "component", **kwargs: Any):
        self.component = component
        super().__init__(*args, **kwargs)

    def render(self, value: Any, record: Any) -> str:
        part = getattr(record, self.component) if self.component else record
        return in_unit(value, part.unit)


class RecordLink(tables.Column):
    """A link to a page of the row's record: ``to`` is the address's name, ``text`` a fixed text."""

    def __init__(self, to: str, *args: Any, key: str = "pk", text: str = "", **kwargs: Any):
        self.to, self.key, self.text = to, key, text
        if text:
            # Nothing to press on paper.
            kwargs.setdefault("attrs", {"td": {"class": "no-print"}, "th": {"class": "no-print"}})
        super().__init__(*args, **kwargs)

    def render(self, value: Any, record: Any, table: Any) -> str:
        address = reverse(self.to, args=[table.build.pk, getattr(record, self.key)])
        shown = f"{value:%-d %b %Y}" if isinstance(value, date) else value
        return format_html('<a href="{}">{}</a>', address, self.text or shown)

    def value(self, **kwargs: Any) -> Any:
        return kwargs["value"]


def by(*fields: str) -> tuple[str, ...]:
    """Order of a column, made total by the primary key."""
    return (*fields, "pk")


def in_unit(value: Any, symbol: str) -> str:
    """A base quantity in words."""
    return format_quantity(value, find_unit(symbol), 3)
