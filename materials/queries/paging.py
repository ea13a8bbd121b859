"""The rows of one page of a long list, at the price of one page."""

from collections.abc import Callable
from typing import Any

from django.db.models import BigIntegerField, Count, F, Func, QuerySet
from django.db.models.lookups import BuiltinLookup, Exact, In, IsNull
from django.db.models.sql.where import WhereNode

# From so many rows on, an order by what has few values goes value by value.
MANY = 2000
# Orders by the name of what a row links to, each name there once in a build; columns with few
# values.
_NAMED = {"component__name": "component_id", "person__name": "person_id"}
_FEW_VALUES = ("kind", "action", "record_type")
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


def filter_unindexed(
    rows: QuerySet[Any], column: str, value: Any, compare: "type[BuiltinLookup[Any]]" = Exact
) -> QuerySet[Any]:
    """Rows whose column holds a value (a record stands for its key), one of a list, or NULL.

    ``compare``: how a single value is compared with the column's.
    """
    field = rows.model._meta.get_field(column.removesuffix("_id"))
    kind = BigIntegerField() if field.is_relation else field
    expression = Unindexed(F(column), output_field=kind)
    if value == "null":
        return rows.filter(IsNull(expression, True))
    if isinstance(value, list):
        return rows.filter(In(expression, value)) if value else rows.none()
    return rows.filter(compare(expression, getattr(value, "pk", value)))


def rows_between(
    rows: QuerySet[Any], first: int, last: int, count: int, counts: Counts = None
) -> list[Any]:
    """Rows of a totally ordered queryset of ``count`` rows, from ``first`` up to before ``last``.

    The keys are found first, by as few columns as the order needs, and from that end of the list
    which is nearer; only then are the rows of those keys read with all that they show.
    ``counts`` may know how many rows each component has, so that they need not be counted.
    """
    last = min(last, count)
    group = _group_of(rows) if count > MANY else None
    if group:
        wanted = _keys_by_group(rows, group, first, last, counts() if counts else None)
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


def _group_of(rows: QuerySet[Any]) -> str | None:
    """What the rows are sorted by before their keys, if each has one of few values of it."""
    order = list(rows.query.order_by)
    if len(order) != 2 or order[1] not in ("pk", "-pk") or not isinstance(order[0], str):
        return None
    column = order[0].lstrip("-")
    if column not in (*_NAMED, *_FEW_VALUES):
        return None
    field = rows.model._meta.get_field(column.removesuffix("__name"))
    return None if field.null else column


def _keys_by_group(
    rows: QuerySet[Any], group: str, first: int, last: int, counts: dict[Any, int] | None
) -> list[int]:
    """Keys of rows that are sorted by a group: whole groups are passed over by their number."""
    order = list(rows.query.order_by)
    bare = rows.select_related(None).prefetch_related(None).order_by()
    column = _NAMED.get(group, group)
    if counts is None or group != "component__name":
        grouped = bare.values_list(column).annotate(n=Count("pk"))
        counts = dict(grouped if group in _NAMED else grouped.order_by(order[0]))
    keys: list[int] = []
    passed = 0
    for value in _sorted(rows, group, list(counts)):
        size = counts[value]
        start, end = max(first - passed, 0), min(last - passed, size)
        if start < end:
            own = bare.filter(**{column: value}).order_by(order[1])
            keys += _keys(own, start, end, size)
        passed += size
    return keys


def _sorted(rows: QuerySet[Any], group: str, values: list[Any]) -> list[Any]:
    """Groups in the order of the rows: as they were read, or by the names they lead to."""
    if group not in _NAMED:
        return values
    model = rows.model._meta.get_field(group.removesuffix("__name")).related_model
    is_last_first = str(rows.query.order_by[0]).startswith("-")
    names = model._default_manager.filter(pk__in=values)
    return list(names.order_by("-name" if is_last_first else "name").values_list("pk", flat=True))
