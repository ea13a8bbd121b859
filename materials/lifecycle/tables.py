"""Tables of comparisons of lifetime cost, and of indexes of prices."""

import django_tables2 as tables

from ..tables.base import (
    COUNTED,
    NONE,
    WIDE_ONLY,
    DayColumn,
    LedgerTable,
    NumberColumn,
    RecordLink,
    by,
)


class LifeChoiceTable(LedgerTable):
    """Lifetime cost comparisons."""

    chief = "study_years"
    plain = ("component",)

    name = RecordLink("life_choice", verbose_name="Question", order_by=by("name"))
    component = RecordLink(
        "component", key="component_id", order_by=by("component__name"), default=NONE
    )
    quantity_text = tables.Column(
        verbose_name="For", order_by=by("quantity_text"), default=NONE, attrs=WIDE_ONLY
    )
    study_years = NumberColumn(verbose_name="Years", order_by=by("study_years"), attrs=COUNTED)
    ways = NumberColumn(verbose_name="Ways", order_by=by("ways"))
    noted_on = DayColumn(verbose_name="Prices of", order_by=by("noted_on"))


class CostIndexTable(LedgerTable):
    """Price indexes."""

    chief = "count"
    plain = ("source",)

    name = RecordLink("cost_index_edit", verbose_name="Index", order_by=by("name"))
    source = tables.Column(verbose_name="Published", order_by=by("source"), default=NONE)
    first_on = tables.DateColumn(format="M Y", verbose_name="From", order_by=by("first_on"))
    last_on = tables.DateColumn(format="M Y", verbose_name="To", order_by=by("last_on"))
    count = NumberColumn(verbose_name="Months", order_by=by("count"), attrs=COUNTED)
