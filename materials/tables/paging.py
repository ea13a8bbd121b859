"""One page of a long list, at the price of one page.

The keys of the page are found first, by as few columns as the order needs, and from that end of
the list which is nearer; only then are the rows of those keys read with all that they show.
"""

from typing import Any

from django.core.paginator import Page, Paginator
from django.db.models import QuerySet
from django_tables2.rows import BoundRows


def rows_between(rows: QuerySet[Any], first: int, last: int, count: int) -> list[Any]:
    """Rows of a totally ordered queryset of ``count`` rows, from ``first`` up to before ``last``."""
    keys = rows.select_related(None).prefetch_related(None).values_list("pk", flat=True)
    last = min(last, count)
    if first + last > count:
        wanted = list(keys.reverse()[count - last : count - first])[::-1]
    else:
        wanted = list(keys[first:last])
    found = {row.pk: row for row in rows.order_by().filter(pk__in=wanted)}
    # A row that was deleted in between is left out.
    return [found[key] for key in wanted if key in found]


class PageReader(Paginator):
    """Django's paginator over the rows of a table, reading one page by its keys.

    ``count`` may be told by who knows it already; else the rows are counted.
    """

    def __init__(self, rows: BoundRows, per_page: int, *, known: int | None = None):
        super().__init__(rows, per_page)
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
            read = rows_between(self.rows, first, first + self.per_page, self.count)
        else:
            read = self.rows[first : first + self.per_page]
        return Page(BoundRows(data=read, table=self.table), number, self)
