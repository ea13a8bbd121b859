"""The rows of one page of a long list, at the price of one page."""

from collections.abc import Callable
from typing import Any

from django.db.models import BigIntegerField, Count, F, Func, QuerySet
from django.db.models.lookups import Exact, In, IsNull
from django.db.models.sql.where import WhereNode

# From so many rows on, an order by the name of what is linked goes name by name.
MANY = 2000
Counts = Callable[[], dict[int, int] | None] | None


class Unindexed(Func):
    """A column as it is, by which SQLite is not to look rows up.

    A filter that a third of the rows pass is better checked while walking the index that has the
    rows in order: looked up by the filter, they would have to be sorted. PostgreSQL knows by its
    statistics.
    """

    template = "%(expressions)s"
    arity = 1

    def as_sqlite(self, compiler: Any, connection: Any, **context: Any) -> Any:
        """The plus sign keeps SQLite from using an index for it."""
        return self.as_sql(compiler, connection, template="+%(expressions)s", **context)


def filter_unindexed(rows: QuerySet[Any], column: str, value: Any) -> QuerySet[Any]:
    """Rows whose column holds a value (a record stands for its key), one of a list, or NULL."""
    field = rows.model._meta.get_field(column.removesuffix("_id"))
    kind = BigIntegerField() if field.is_relation else field
    told = Unindexed(F(column), output_field=kind)
    if value == "null":
        return rows.filter(IsNull(told, True))
    if isinstance(value, list):
        return rows.filter(In(told, value)) if value else rows.none()
    return rows.filter(Exact(told, getattr(value, "pk", value)))


def rows_between(
    rows: QuerySet[Any], first: int, last: int, count: int, counts: Counts = None
) -> list[Any]:
    """Rows of a totally ordered queryset of ``count`` rows, from ``first`` up to before ``last``.

    The keys are found first, by as few columns as the order needs, and from that end of the list
    which is nearer; only then are the rows of those keys read with all that they show.
    ``counts`` may know how many rows each component has, so that they need not be counted.
    """
    last = min(last, count)
    link = _link_named(rows) if count > MANY else None
    if link:
        wanted = _keys_by_link(rows, link, first, last, counts() if counts else None)
    else:
        wanted = _keys(rows, first, last, count)
    found = {row.pk: row for row in _by_keys(rows, wanted)}
    # A row that was deleted in between is left out.
    return [found[key] for key in wanted if key in found]


def _by_keys(rows: QuerySet[Any], keys: list[int]) -> QuerySet[Any]:
    read = rows.order_by()
    # The keys were found by all that was asked: beside it, SQLite may look rows up by the build
    # rather than by their keys, and walk all of its rows.
    read.query.where = WhereNode()
    return read.filter(pk__in=keys)


def _keys(rows: QuerySet[Any], first: int, last: int, count: int) -> list[int]:
    keys = rows.select_related(None).prefetch_related(None).values_list("pk", flat=True)
    if first + last > count:
        return list(keys.reverse()[count - last : count - first])[::-1]
    return list(keys[first:last])


def _link_named(rows: QuerySet[Any]) -> str | None:
    """The link by whose name rows are sorted, where names are all different and each row has one.

    Only components: a build has each name once.
    """
    order = list(rows.query.order_by)
    if len(order) == 2 and order[0].lstrip("-") == "component__name" and order[1][-2:] == "pk":
        return "component"
    return None


def _keys_by_link(
    rows: QuerySet[Any], link: str, first: int, last: int, counts: dict[int, int] | None
) -> list[int]:
    """Keys in the order of what they link to: whole names are passed over by their number."""
    order = list(rows.query.order_by)
    bare = rows.select_related(None).prefetch_related(None).order_by()
    if counts is None:
        counts = dict(bare.values_list(f"{link}_id").annotate(n=Count("pk")))
    model = rows.model._meta.get_field(link).related_model
    names = model._default_manager.filter(pk__in=list(counts))
    descending = order[0].startswith("-")
    keys: list[int] = []
    passed = 0
    for pk in names.order_by(F("name").desc() if descending else "name").values_list(
        "pk", flat=True
    ):
        size = counts[pk]
        start, end = max(first - passed, 0), min(last - passed, size)
        if start < end:
            own = bare.filter(**{link: pk}).order_by(order[1])
            keys += _keys(own, start, end, size)
        passed += size
    return keys
