"""Reading suppliers."""

from dataclasses import dataclass
from fractions import Fraction

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery, Sum

from ..calc.exact import add_up
from ..calc.reports import CostSheet
from ..calc.sources import SourceRow, source_row
from ..calc.types import SourceInput
from ..choices import State
from ..fields import ExactSum
from ..models import Build, Purchase, PurchaseLine, Supplier


def list_suppliers(build: Build) -> QuerySet[Supplier]:
    """Suppliers by name with number of purchases, last date, and landed cost received."""
    purchases = Purchase.objects.filter(supplier=OuterRef("pk")).order_by().values("supplier")
    return Supplier.objects.filter(build=build).annotate(
        purchase_count=Subquery(purchases.annotate(n=Count("pk")).values("n")),
        last_on=Subquery(
            purchases.annotate(
                last=Max("bought_on", filter=~Q(state__in=[State.OFFER, State.DECLINED]))
            ).values("last")
        ),
        landed=Subquery(
            purchases.filter(state=State.RECEIVED)
            .annotate(total=Sum("landed_amount"))
            .values("total")
        ),
    )


def list_supplier_names(build: Build) -> QuerySet[Supplier]:
    """Suppliers by name, to choose from; without figures, which take reading every purchase."""
    return Supplier.objects.filter(build=build)


@dataclass(frozen=True)
class Received:
    """What was received from a supplier. Lines without a known price are in no comparison."""

    landed: Fraction
    unknown_lines: int
    compared: SourceRow


def sum_received(build: Build, supplier: Supplier, sheet: CostSheet) -> Received:
    """What came from a supplier beside the new prices of the cost sheet, in one query."""
    rows = list(
        PurchaseLine.objects.filter(
            of_build=build, of_supplier=supplier.pk, of_state=State.RECEIVED
        )
        .order_by()
        .values_list("component_id")
        .annotate(
            usable=ExactSum("usable_qty", filter=Q(price_amount__isnull=False)),
            known=ExactSum("landed_amount", filter=Q(price_amount__isnull=False)),
            landed=ExactSum("landed_amount"),
            unknown=Count("pk", filter=Q(price_amount=None)),
        )
    )
    entries = [
        SourceInput(supplier.name, component, usable, known)
        for component, usable, known, _, _ in rows
        if usable is not None
    ]
    return Received(
        add_up(landed for _, _, _, landed, _ in rows),
        sum(unknown for *_, unknown in rows),
        source_row(sheet.build, supplier.name, entries),
    )
