"""The one place that writes derived figures, and that checks what a change leaves behind."""

from collections.abc import Iterable
from fractions import Fraction

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.stock import ConversionCircle, Position, work_out_positions
from ..models import Build, Charge, Component, Purchase, PurchaseLine
from ..queries.purchases import PriceBook, derive_purchase, get_price_book
from ..queries.stock import get_stock_inputs
from .errors import LedgerError
from .totals import keep_totals

BATCH = 500
LINE_FIELDS = (
    "base_qty",
    "usable_qty",
    "price_amount",
    "charges_amount",
    "landed_amount",
    "of_build",
    "of_day",
    "of_state",
    "of_supplier",
    "of_payer",
)


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
    for purchase in purchases:
        lines, charges = list(purchase.lines.all()), list(purchase.charges.all())
        try:
            derived = derive_purchase(purchase, lines, charges, book)
        except (CostingError, QuantityError) as error:
            raise LedgerError(f"Purchase {purchase.number}: {error}") from None
        for line, figures in zip(lines, derived.lines, strict=True):
            if any(getattr(line, name) != value for name, value in figures.items()):
                for name, value in figures.items():
                    setattr(line, name, value)
                changed_lines.append(line)
        for charge, amount in zip(charges, derived.charges, strict=True):
            if charge.charged_amount != amount:
                charge.charged_amount = amount
                changed_charges.append(charge)
    PurchaseLine.objects.bulk_update(changed_lines, LINE_FIELDS, batch_size=BATCH)
    Charge.objects.bulk_update(changed_charges, ["charged_amount"], batch_size=BATCH)


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
            raise LedgerError(shortage_text(position))


def shortage_text(position: Position) -> str:
    """What is missing, in a sentence."""
    from ..calc.quantities import format_quantity
    from ..calc.units import find_unit

    part = position.component
    unit = find_unit(part.unit)

    def said(value: Fraction) -> str:
        return format_quantity(value, unit)

    used = position.converted_out + position.left_over
    return (
        f"That is more {part.name} than there is: {said(position.came_in)} usable came in and"
        f" {said(used)} would be used up or left over. Lower the quantity, or record what is"
        " missing first."
    )
