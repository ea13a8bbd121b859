"""The table of lessons."""

import django_tables2 as tables

from .base import NONE, DayColumn, HoursColumn, LedgerTable, MoneyColumn, RecordLink, by


class LessonTable(LedgerTable):
    """Lessons of this build."""

    chief = "amount"
    plain = ("kind", "about", "noted_on")

    text = RecordLink("lesson", verbose_name="Lesson", order_by=by("text"))
    kind = tables.Column(verbose_name="Kind", order_by=by("kind"))
    about = tables.Column(verbose_name="About", orderable=False, default="the whole build")
    amount = MoneyColumn(verbose_name="Money", order_by=by("amount"), default=NONE)
    hours = HoursColumn(verbose_name="Hours", order_by=by("hours"), default=NONE)
    noted_on = DayColumn(verbose_name="Date", order_by=by("noted_on"))
    author = tables.Column(verbose_name="Noted by", order_by=by("author"), default=NONE)
