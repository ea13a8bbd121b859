"""Reading suppliers."""

from django.db.models import Count, Max, OuterRef, Q, QuerySet, Subquery, Sum

from ..choices import State
from ..models import Build, Purchase, Supplier


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
