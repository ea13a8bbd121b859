"""What did not go into the building, and what came from or went to other builds, summed in SQL.

The one place that sums left over and transfers.
"""

from collections import defaultdict
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, Q, Sum

from ..choices import Fate
from ..models import LeftOver, Move

# By component, then by field of ``calc.types.ComponentInput``.
StockSums = dict[int, dict[str, Decimal]]


def as_figures(sums: dict[str, Decimal]) -> dict[str, Any]:
    """One component's sums as keywords of ``ComponentInput``."""
    return {what: Fraction(value) for what, value in sums.items()}


def sum_stock(builds: Iterable[int]) -> tuple[StockSums, dict[int, int]]:
    """Left over and transfers of some builds by component, in three queries.

    The second part counts what was moved in at a cost that is not known. Decimals are exact for
    stored figures and far quicker to add up than Fractions.
    """
    keys = list(builds)
    sums: StockSums = defaultdict(lambda: defaultdict(Decimal))
    left = LeftOver.objects.filter(component__build__in=keys).order_by()
    for component, fate, qty, proceeds in (
        left.values("component_id", "fate")
        .annotate(qty=Sum("base_qty"), proceeds=Sum("proceeds_amount"))
        .values_list("component_id", "fate", "qty", "proceeds")
    ):
        sums[component][Fate(fate).name.lower()] += qty
        sums[component]["proceeds"] += proceeds or 0
    is_valued = Q(value_amount__isnull=False)
    out = Move.objects.filter(component__build__in=keys).order_by().values_list("component_id")
    for component, qty, fixed, value in out.annotate(
        qty=Sum("base_qty"), fixed=Sum("base_qty", filter=is_valued), value=Sum("value_amount")
    ):
        # A value that was not known then is worked out from the average, as soon as there is one.
        sums[component]["moved"] += qty - (fixed or 0)
        sums[component]["moved_out"] += fixed or 0
        sums[component]["moved_out_cost"] += value or 0
    unknown: dict[int, int] = defaultdict(int)
    into = (
        Move.objects.filter(to_component__build__in=keys).order_by().values_list("to_component_id")
    )
    for component, qty, value, lacking in into.annotate(
        qty=Sum("to_qty"), value=Sum("value_amount"), lacking=Count("pk", filter=~is_valued)
    ):
        sums[component]["moved_in"] += qty
        sums[component]["moved_in_cost"] += value or 0
        unknown[component] += lacking
    return sums, unknown
