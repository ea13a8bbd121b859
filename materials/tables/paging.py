"""Paging through a table."""

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django_tables2.rows import BoundRows

from ..queries.paging import Counts, rows_between


class PageReader(Paginator):
    """Django's paginator over the rows of a table, reading one page by its keys.

    ``known``: how many rows there are, from who knows it already; else they are counted.
    ``counts``: who may know how many of them each component has.
    """

    def __init__(
        self,
        rows: BoundRows,
        per_page: int,
        *,
        known: int | None = None,
        counts: Counts = None,
    ):
        super().__init__(rows, per_page)
        self.counts = counts
        self.rows = rows.data.data
        self.table = rows.table
        # The paginator's own is a cached property: what is set here is what it gives.
        self.count = self._counted() if known is None else known
        rows.data._length = self.count

    def _counted(self) -> int:
        return self.rows.count() if isinstance(self.rows, QuerySet) else len(self.rows)

    def page(self, number: Any) -> Page:
        """A page; a number beyond the last one gives the last one."""
        number = max(1, min(int(number), self.num_pages))
        first = (number - 1) * self.per_page
        if isinstance(self.rows, QuerySet):
            read = rows_between(self.rows, first, first + self.per_page, self.count, self.counts)
        else:
            read = self.rows[first : first + self.per_page]
        return Page(BoundRows(data=read, table=self.table), number, self)
