"""Reading indexes of prices."""

from collections.abc import Iterable
from fractions import Fraction

from django.db.models import Count, Max, Min, QuerySet

from ...models import Build, CostIndex
from ..calc.escalation import IndexSeries, IndexValue


def list_cost_indexes(build: Build) -> QuerySet[CostIndex]:
    """Indexes by name, with their first and last month and how many there are."""
    return CostIndex.objects.filter(build=build).annotate(
        first_on=Min("months__month"), last_on=Max("months__month"), count=Count("months")
    )


def list_indexes_of(builds: Iterable[Build]) -> QuerySet[CostIndex]:
    """Indexes of several builds, by name."""
    return CostIndex.objects.filter(build__in=builds).order_by("name", "pk")


def get_cost_index(build: Build, pk: int) -> CostIndex:
    """One index of the build."""
    return CostIndex.objects.get(build=build, pk=pk)


def index_values(index: CostIndex) -> tuple[IndexValue, ...]:
    """The values of an index, by month."""
    # Of an index as it was, read back from the history, the months are a list at hand.
    rows = sorted(index.months.all(), key=lambda row: row.month)
    return tuple(IndexValue(row.month, Fraction(row.value), row.is_preliminary) for row in rows)


def get_series(index: CostIndex) -> IndexSeries:
    """An index as ``calc.escalation`` takes it."""
    return IndexSeries(index.name, index_values(index))
