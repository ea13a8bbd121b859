"""A short entry as an unsaved purchase, for showing what it comes to and for saving it."""

from dataclasses import dataclass, field
from datetime import date
from typing import Any

from django.db.models import QuerySet

from ..choices import ChargeKind, PercentOn, Split
from ..models import Build, Change, Charge, Purchase, PurchaseLine

EACH, LINE, LOT = "each", "line", "lot"


@dataclass
class Draft:
    """A purchase with all its rows; the new line is the last one."""

    purchase: Purchase
    lines: list[PurchaseLine]
    charges: list[Charge] = field(default_factory=list)


def draft_purchase(build: Build, entry: dict[str, Any], into: Purchase | None) -> Draft:
    """The purchase an entry would make, or ``into`` with one line more. Saves nothing."""
    price, for_what = entry["price"], entry["price_for"]
    line = PurchaseLine(
        component=entry["component"],
        quantity_text=entry["quantity_text"],
        source=entry["source"],
        obtained_by=entry["obtained_by"],
        usable_percent=entry["usable_percent"],
        unit_price=price if for_what == EACH else None,
        price_per_text=entry.get("price_per_text", "") if for_what == EACH else "",
        line_price_amount=price if for_what in (LINE, "free") else None,
        origin_year=entry["origin_year"],
        through_fire=entry["through_fire"],
        note=entry["note"],
    )
    if into is not None:
        if for_what == LOT and price is not None:
            into.lot_price_amount = price
        return Draft(into, [*into.lines.all(), line], list(into.charges.all()))
    purchase = Purchase(
        build=build,
        bought_on=entry["bought_on"],
        state=entry["state"],
        lot_price_amount=price if for_what == LOT else None,
        expected_hours=entry["expected_hours"],
    )
    return Draft(purchase, [line], charges_of(entry))


def charges_of(entry: dict[str, Any]) -> list[Charge]:
    """Premium on the price, haulage spread over the lines, tax on the price and the premium.

    Tax stands before haulage: what is paid for miles is not taxed with the goods.
    """
    made = []
    if entry["premium_percent"]:
        made.append(Charge(kind=ChargeKind.BUYERS_PREMIUM, percent=entry["premium_percent"]))
    if entry["tax_percent"]:
        made.append(
            Charge(
                kind=ChargeKind.SALES_TAX,
                percent=entry["tax_percent"],
                percent_on=PercentOn.PRICE_AND_CHARGES,
            )
        )
    if entry["distance_text"]:
        made.append(Charge(kind=ChargeKind.HAULAGE, distance_text=entry["distance_text"]))
    if entry["haulage_amount"]:
        made.append(Charge(kind=ChargeKind.HAULAGE, amount=entry["haulage_amount"]))
    for position, charge in enumerate(made):
        charge.position = position
        charge.spread_by = charge.spread_by or Split.PRICE
    return made


def last_logged(build: Build, user: Any) -> Purchase | None:
    """The purchase this user logged last on this build, else the build's newest.

    The next one begins like it.
    """
    purchases = Purchase.objects.select_related("supplier", "paid_by").prefetch_related("lines")
    ids = Change.objects.filter(
        build=build, actor=user, record_type="purchase", action="added"
    ).values_list("record_id", flat=True)[:5]
    found = purchases.in_bulk(list(ids))
    own = next((found[pk] for pk in ids if pk in found), None)
    return own or purchases.filter(build=build).order_by("-pk").first()


def was_logged_on(purchase: Purchase, user: Any, day: date) -> bool:
    """Whether this user logged the purchase on that day, whatever its own date."""
    return _logging(purchase, user).filter(at__date=day).exists()


def was_logged_by(purchase: Purchase, user: Any) -> bool:
    """Whether this user logged the purchase."""
    return _logging(purchase, user).exists()


def _logging(purchase: Purchase, user: Any) -> QuerySet[Change]:
    return Change.objects.filter(
        build=purchase.build_id,
        actor=user,
        record_type="purchase",
        record_id=purchase.pk,
        action="added",
    )
