"""Tables of tasks and hours."""

import django_tables2 as tables

from .base import NONE, HoursColumn, LedgerTable, MoneyColumn, PercentColumn, RecordLink, by


class TaskTable(LedgerTable):
    """Tasks, planned against recorded."""

    chief = "hours"
    plain = ("element",)

    name = RecordLink("task", verbose_name="Task", order_by=by("name"))
    element = tables.Column(order_by=by("element__code"), default=NONE)
    planned_hours = HoursColumn(verbose_name="Planned", order_by=by("planned_hours"), default=NONE)
    hours = HoursColumn(verbose_name="Recorded", order_by=by("hours"), default=NONE)
    done_percent = PercentColumn(verbose_name="Done", order_by=by("done_percent"), default=NONE)


class LabourTable(LedgerTable):
    """Hours."""

    chief = "hours"
    plain = (
        "person",
        "task",
        "kind",
    )

    worked_on = RecordLink("labour_edit", verbose_name="Date", order_by=by("worked_on"))
    person = tables.Column(order_by=by("person__name"))
    task = tables.Column(order_by=by("task__name"), default=NONE)
    kind = tables.Column(order_by=by("kind"))
    hours = HoursColumn(order_by=by("hours"))
    paid_amount = MoneyColumn(verbose_name="Paid", order_by=by("paid_amount"), default=NONE)
