"""The one place that writes running totals of purchase lines.

A write hands the difference it makes to the totals, so that logging a purchase costs the
same however long the ledger is. ``check_ledger`` sums the lines again and compares.
"""

from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from decimal import Decimal
from typing import Any

from django.db.models import Count, F, Field, OuterRef, Q, Subquery, Sum, Value
from django.db.models.functions import Coalesce

from ..models import Build, LineTotal, Purchase, PurchaseLine
from ..queries.totals import NOTHING, Sums, TotalKey, sum_by_key

BATCH = 500
# Up to so many totals are shifted one by one, more of them together.
FEW = 8


@contextmanager
def keep_totals(build: Build, purchase_ids: Iterable[int | None] = ()) -> Iterator[list[int]]:
    """Carry what happens to some purchases inside the block into the running totals.

    Yields the list of purchase ids; a purchase that is made inside is appended to it, with its
    own sums on it already (``put_figures``). Blocks must not be nested, and the build must be
    locked.
    """
    ids = [pk for pk in purchase_ids if pk is not None]
    there = list(ids)
    before = _sums(ids)
    yield ids
    after = _sums(ids)
    differences = {
        key: difference
        for key in before.keys() | after.keys()
        if (difference := after.get(key, NOTHING).minus(before.get(key, NOTHING))) != NOTHING
    }
    if len(differences) > FEW:
        _shift_many(build, differences)
    else:
        for key, difference in differences.items():
            _shift(build, key, difference)
    if there:
        sum_purchases(there)


def _sums(ids: list[int]) -> dict[TotalKey, Sums]:
    return sum_by_key(PurchaseLine.objects.filter(purchase__in=ids)) if ids else {}


def _shift(build: Build, key: TotalKey, by: Sums) -> None:
    changed = LineTotal.objects.filter(
        build=build, component=key.component, source=key.source, state=key.state
    ).update(**{name: F(name) + _scaled(name, value) for name, value in _figures(by).items()})
    if not changed:
        LineTotal.objects.create(**_fields(build, key, by))


def _shift_many(build: Build, differences: dict[TotalKey, Sums]) -> None:
    """The same for many totals at once: nobody else writes them while the build is locked."""
    parts = {key.component for key in differences}
    rows = LineTotal.objects.filter(build=build, component__in=parts)
    there = {TotalKey(row.component_id, row.source, row.state): row for row in rows}
    LineTotal.objects.bulk_create(
        (
            LineTotal(
                **_fields(build, key, by.plus(_sums_of(there[key]) if key in there else NOTHING))
            )
            for key, by in differences.items()
        ),
        batch_size=BATCH,
        update_conflicts=True,
        unique_fields=["build", "state", "component", "source"],
        update_fields=list(_figures(NOTHING)),
    )


def _sums_of(row: LineTotal) -> Sums:
    return Sums(row.usable_qty, row.landed_amount, row.line_count, row.unknown_count)


def _scaled(name: str, value: Decimal | int) -> Value:
    """A figure as the field stores it; a bare Decimal beside F() would be added unscaled."""
    field = LineTotal._meta.get_field(name)
    assert isinstance(field, Field)
    return Value(value, output_field=field)


def _figures(sums: Sums) -> dict[str, Decimal | int]:
    return {
        "usable_qty": sums.usable,
        "landed_amount": sums.landed,
        "line_count": sums.lines,
        "unknown_count": sums.unknown,
    }


def _fields(build: Build, key: TotalKey, sums: Sums) -> dict[str, Any]:
    return {
        "build": build,
        "component_id": key.component,
        "source": key.source,
        "state": key.state,
        **_figures(sums),
    }


def sum_purchases(ids: Iterable[int]) -> None:
    """Write the sums that purchases hold of their own lines."""
    _write_sums(Q(pk__in=list(ids)))


def rebuild_totals(build: Build) -> None:
    """Work all of a build's running totals out anew."""
    LineTotal.objects.filter(build=build).delete()
    sums = sum_by_key(PurchaseLine.objects.filter(purchase__build=build))
    LineTotal.objects.bulk_create(
        (LineTotal(**_fields(build, key, figures)) for key, figures in sums.items()),
        batch_size=BATCH,
    )
    _write_sums(Q(build=build))


def _write_sums(which: Q) -> None:
    own = PurchaseLine.objects.filter(purchase=OuterRef("pk")).order_by().values("purchase")
    Purchase.objects.filter(which).update(
        landed_amount=Coalesce(Subquery(own.annotate(n=Sum("landed_amount")).values("n")), 0),
        line_count=Coalesce(Subquery(own.annotate(n=Count("pk")).values("n")), 0),
        unknown_count=Coalesce(
            Subquery(own.annotate(n=Count("pk", filter=Q(price_amount=None))).values("n")), 0
        ),
    )
