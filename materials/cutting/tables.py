"""Table of cutting plans."""

from ..tables.base import COUNTED, DayColumn, LedgerTable, NumberColumn, RecordLink, by


class CuttingPlanTable(LedgerTable):
    """Cutting plans and what became of them."""

    chief = "pieces"
    plain = (
        "planned_on",
        "component",
    )

    name = RecordLink("cutting_plan", verbose_name="Plan", order_by=by("name"))
    planned_on = DayColumn(verbose_name="Date", order_by=by("planned_on"))
    component = RecordLink(
        "component", key="component_id", verbose_name="Cut from", order_by=by("component__name")
    )
    pieces = NumberColumn(verbose_name="Pieces", order_by=by("pieces"), attrs=COUNTED)
    taken_on = DayColumn(verbose_name="Cut", order_by=by("taken_on"), default="not yet")
