"""Reading purchases, and what their derived figures must be."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import Count, Q, QuerySet, Sum

from ..calc.costing import CostingError, PurchaseCost, check_purchase, cost_purchase
from ..calc.deadlines import instant
from ..calc.money import MAX_AMOUNT, minor_units
from ..calc.types import Basis, ChargeInput, LineInput, PercentOn, PurchaseInput
from ..choices import SPLITS
from ..models import (
    Build,
    Charge,
    Purchase,
    PurchaseLine,
)
from .numbers import is_number_taken, number_after
from .price_book import PriceBook, distance_in
from .quantities import base_quantity, priced_units, stored


def line_input(line: PurchaseLine, on: date, book: PriceBook) -> LineInput:
    """A line as the costing engine takes it. Raises QuantityError."""
    component = line.component
    units = Fraction(0)
    if line.unit_price is not None:
        units = priced_units(line.quantity_text, line.price_per_text, component)
    return LineInput(
        key=line.pk,
        base_qty=Fraction(base_quantity(line.quantity_text, component)),
        usable_share=Fraction(line.usable_percent) / 100,
        unit_price=line.unit_price,
        priced_units=units,
        line_price=line.line_price_amount,
        lot_weight=line.lot_weight,
        retail_price=book.new_price_near(component, on),
        would_buy_new=component.would_buy_new,
    )


def charge_input(charge: Charge, build: Build, on: date, book: PriceBook) -> ChargeInput:
    """A charge as the costing engine takes it. Raises QuantityError."""
    distance = None
    if charge.distance_text:
        distance = distance_in(charge.distance_text, build.distance_unit)
    return ChargeInput(
        key=charge.pk,
        kind=charge.kind,
        amount=charge.amount,
        percent=charge.percent,
        percent_on=PercentOn(charge.percent_on),
        distance=distance,
        distance_rate=book.distance_rate(on),
        spread_by=Basis(charge.spread_by),
    )


def purchase_input(
    purchase: Purchase, lines: Iterable[PurchaseLine], charges: Iterable[Charge], book: PriceBook
) -> PurchaseInput:
    """A purchase as the costing engine takes it. Raises QuantityError."""
    build = purchase.build
    return PurchaseInput(
        places=minor_units(build.currency),
        lines=tuple(line_input(line, purchase.bought_on, book) for line in lines),
        charges=tuple(charge_input(c, build, purchase.bought_on, book) for c in charges),
        lot_price=purchase.lot_price_amount,
        lot_split=Basis(purchase.lot_split) if purchase.lot_split else None,
    )


@dataclass(frozen=True)
class Derived:
    """What the derived fields of one purchase must hold, in the order of its rows."""

    purchase: dict[str, Any]
    lines: tuple[dict[str, Any], ...]
    charges: tuple[dict[str, Any], ...]
    cost: PurchaseCost


def derive_purchase(
    purchase: Purchase, lines: Sequence[PurchaseLine], charges: Sequence[Charge], book: PriceBook
) -> Derived:
    """Work the derived fields out again. Raises QuantityError or CostingError."""
    given = purchase_input(purchase, lines, charges, book)
    cost = cost_purchase(given)
    check_purchase(given, cost)
    _check_amounts(cost)
    figures = {
        "of_build_id": purchase.build_id,
        "of_day": purchase.bought_on,
        "of_state": str(purchase.state),
        "of_supplier_id": purchase.supplier_id,
        "of_payer_id": purchase.paid_by_id,
    }
    rows: list[dict[str, Any]] = [
        {
            **figures,
            "base_qty": stored(line.base_qty),
            "usable_qty": stored(line.usable_qty),
            "price_amount": line_cost.price,
            "charges_amount": line_cost.charges,
            "landed_amount": line_cost.landed,
        }
        for line, line_cost in zip(given.lines, cost.lines, strict=True)
    ]
    own = {
        "landed_amount": cost.total,
        "line_count": len(lines),
        "unknown_count": cost.unknown_lines,
        "due_at": due_at(purchase),
    }
    charged = tuple({"charged_amount": charge.amount} for charge in cost.charges)
    return Derived(own, tuple(rows), charged, cost)


def due_at(purchase: Purchase) -> datetime | None:
    """The moment of the deadline that counts now; None without one."""
    if purchase.deadline is None:
        return None
    _, day, at = purchase.deadline
    return instant(day, at, purchase.build.zone)


def _check_amounts(cost: PurchaseCost) -> None:
    amounts = [cost.price, cost.total, *(charge.amount for charge in cost.charges)]
    amounts += [line.landed for line in cost.lines]
    if any(abs(amount) > MAX_AMOUNT for amount in amounts):
        raise CostingError(
            f"The cost is too large: the most that can be kept is {MAX_AMOUNT:,}. Check the"
            " quantities, prices and charges."
        )


def list_purchases(build: Build) -> QuerySet[Purchase]:
    """Purchases, newest first."""
    return Purchase.objects.filter(build=build).select_related("supplier", "paid_by")


def list_lines(build: Build) -> QuerySet[PurchaseLine]:
    """Purchase lines with all that a table shows, newest first."""
    return (
        PurchaseLine.objects.filter(of_build=build)
        .select_related("purchase", "purchase__supplier", "component", "component__element")
        .order_by("-of_day", "-purchase_id", "position", "pk")
    )


def sum_lines(lines: QuerySet[PurchaseLine]) -> dict[str, Decimal | int | None]:
    """Landed total, number of lines, and lines of no known price."""
    return lines.order_by().aggregate(
        landed=Sum("landed_amount"),
        lines=Count("pk"),
        unknown=Count("pk", filter=Q(price_amount=None)),
    )


def get_purchase(build: Build, pk: int) -> Purchase:
    """One purchase of the build. Raises Purchase.DoesNotExist."""
    return (
        Purchase.objects.select_related("supplier", "paid_by", "build")
        .prefetch_related("lines__component", "charges")
        .get(build=build, pk=pk)
    )


# The next number follows the latest so many purchases, so that it takes as long in a long ledger.
LATEST = 500


def next_number(build: Build, prefix: str = "P") -> str:
    """The purchase number after the highest of the series there is, in its width.

    The highest of the latest ones; of all, where the number after it is taken.
    """
    numbers = Purchase.objects.filter(build=build).order_by("-pk").values_list("number", flat=True)
    latest = list(numbers[:LATEST])
    number = number_after(latest, prefix)
    if len(latest) == LATEST and is_number_taken(Purchase, build, number):
        return number_after(numbers.iterator(), prefix)
    return number


def split_words(purchase: Purchase, cost: PurchaseCost) -> str:
    """One sentence on how the lot price was split, or an empty text."""
    if cost.lot_basis is None:
        return ""
    how = SPLITS[cost.lot_basis].lower()
    if purchase.lot_split and purchase.lot_split != cost.lot_basis.value:
        return (
            f"The lot price is split {how}: it was to be split"
            f" {SPLITS[purchase.lot_split].lower()}, but the figures for that are"
            " missing or all zero."
        )
    return f"The lot price is split {how}."
