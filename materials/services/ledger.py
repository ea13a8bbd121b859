"""The one place that writes derived figures, and that checks what a change leaves behind."""

from collections.abc import Iterable, Mapping, Sequence
from fractions import Fraction
from typing import Any, NamedTuple

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.stock import ConversionCircle, Position, work_out_positions
from ..models import Build, Charge, Component, Purchase, PurchaseLine
from ..queries.price_book import PriceBook, get_price_book
from ..queries.purchases import derive_purchase
from ..queries.stock import get_stock_inputs
from .errors import LedgerError
from .totals import keep_totals

BATCH = 500


def lock_build(build: Build) -> Build:
    """Hold the build for the rest of the transaction, so that checks stay true until commit.

    SQLite's IMMEDIATE transactions hold the whole database already.
    """
    return Build.objects.select_for_update().get(pk=build.pk)


def cost_purchases(build: Build, purchase_ids: Iterable[int] | None = None) -> None:
    """Derive prices, charges and landed costs again, for some purchases or for all.

    Raises LedgerError naming the purchase that cannot be costed.
    """
    book = get_price_book(build)
    purchases = Purchase.objects.filter(build=build).order_by("pk")
    if purchase_ids is not None:
        purchases = purchases.filter(pk__in=list(purchase_ids))
    ids = list(purchases.values_list("pk", flat=True))
    for start in range(0, len(ids), BATCH):
        batch = (
            Purchase.objects.filter(pk__in=ids[start : start + BATCH])
            .select_related("build")
            .prefetch_related("lines__component", "charges")
        )
        with keep_totals(build, ids[start : start + BATCH]):
            _cost_batch(batch, book)


def _cost_batch(purchases: Iterable[Purchase], book: PriceBook) -> None:
    changed_lines: list[PurchaseLine] = []
    changed_charges: list[Charge] = []
    due_anew: list[Purchase] = []
    for purchase in purchases:
        lines, charges = list(purchase.lines.all()), list(purchase.charges.all())
        was_due = purchase.due_at
        try:
            changed = put_figures(purchase, lines, charges, book)
        except (CostingError, QuantityError) as error:
            raise LedgerError(f"Purchase {purchase.number}: {error}") from None
        changed_lines += changed.lines
        changed_charges += changed.charges
        if purchase.due_at != was_due:
            due_anew.append(purchase)
    Purchase.objects.bulk_update(due_anew, ["due_at"], batch_size=BATCH)
    PurchaseLine.objects.bulk_update(changed_lines, PurchaseLine.DERIVED, batch_size=BATCH)
    Charge.objects.bulk_update(changed_charges, Charge.DERIVED, batch_size=BATCH)


class Changed(NamedTuple):
    """Rows of a purchase whose derived figures are others than before."""

    lines: list[PurchaseLine]
    charges: list[Charge]


def put_figures(
    purchase: Purchase, lines: Sequence[PurchaseLine], charges: Sequence[Charge], book: PriceBook
) -> Changed:
    """Put the derived figures on a purchase's rows and on itself; saves nothing.

    Raises QuantityError or CostingError.
    """
    derived = derive_purchase(purchase, lines, charges, book)
    for name, value in derived.purchase.items():
        setattr(purchase, name, value)
    return Changed(
        [line for line, own in zip(lines, derived.lines, strict=True) if _put(line, own)],
        [charge for charge, own in zip(charges, derived.charges, strict=True) if _put(charge, own)],
    )


def _put(row: PurchaseLine | Charge, figures: Mapping[str, Any]) -> bool:
    """Whether any figure is another than before."""
    changed = [name for name, value in figures.items() if getattr(row, name) != value]
    for name in changed:
        setattr(row, name, figures[name])
    return bool(changed)


def purchases_with(components: Iterable[Component]) -> list[int]:
    """Purchases that hold a line of any of the components."""
    return list(
        PurchaseLine.objects.filter(component__in=components)
        .order_by()
        .values_list("purchase_id", flat=True)
        .distinct()
    )


def check_stock(build: Build) -> None:
    """Refuse a state in which more was used than there is, or conversions go in a circle.

    Called inside the transaction of every write that touches quantities.
    Raises LedgerError naming the component and how much is missing.
    """
    try:
        positions = work_out_positions(*get_stock_inputs(build))
    except ConversionCircle as circle:
        raise LedgerError(str(circle)) from None
    for position in positions.values():
        if position.in_building < 0:
            raise LedgerError(shortage_text(position), about=position.component.key)


def shortage_text(position: Position) -> str:
    """What is missing, in a sentence."""
    from ..calc.quantities import format_quantity
    from ..calc.units import find_unit

    part = position.component
    unit = find_unit(part.unit)

    def shown(value: Fraction) -> str:
        return format_quantity(value, unit)

    used = position.converted_out + position.left_over
    return (
        f"That is more {part.name} than there is: {shown(position.came_in)} usable came in and"
        f" {shown(used)} would be used up or leave. Lower the quantity, or log what "
        "is missing first."
    )
