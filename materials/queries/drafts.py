"""A short entry as an unsaved purchase, for showing what it comes to and for saving it."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from django.db.models import Q, QuerySet

from ..calc.quantities import format_quantity
from ..calc.types import PercentOn
from ..choices import ChargeKind
from ..models import Build, Change, Charge, Purchase, PurchaseLine
from ..models.stated import stated_fields
from .quantities import base_unit

# What a typed price is for.
EACH, LINE, LOT, FREE = "each", "line", "lot", "free"
# What a line of the short form says in its own way; all else is asked by the field's name.
PRICED = frozenset({"unit_price", "price_per_text", "line_price_amount"})
# The boxes that make a charge: its kind, the size they hold, and what a percentage is taken on.
# Tax stands before haulage: what is paid for miles is not taxed with the goods.
CHARGED = {
    "premium_percent": (ChargeKind.BUYERS_PREMIUM, "percent", PercentOn.PRICE),
    "tax_percent": (ChargeKind.SALES_TAX, "percent", PercentOn.PRICE_AND_CHARGES),
    "distance_text": (ChargeKind.HAULAGE, "distance_text", PercentOn.PRICE),
    "haulage_amount": (ChargeKind.HAULAGE, "amount", PercentOn.PRICE),
}


NAMED = frozenset({"supplier", "paid_by"})


@dataclass
class Draft:
    """A purchase with all its rows; the new line is the last one."""

    purchase: Purchase
    lines: list[PurchaseLine]
    charges: list[Charge] = field(default_factory=list)


def draft_purchase(build: Build, entry: dict[str, Any], into: Purchase | None) -> Draft:
    """The purchase an entry would make, or ``into`` with one line more. Saves nothing."""
    price, for_what = entry["price"], entry["price_for"]
    said = {name: entry[name] for name in stated_fields(PurchaseLine) if name in entry}
    said |= {
        "unit_price": price if for_what == EACH else None,
        "price_per_text": entry.get("price_per_text", "") if for_what == EACH else "",
        "line_price_amount": price if for_what in (LINE, FREE) else None,
    }
    line = PurchaseLine(**said)
    if into is not None:
        if for_what == LOT and price is not None:
            into.lot_price_amount = price
        return Draft(into, [*into.lines.all(), line], list(into.charges.all()))
    # Who sold and who paid are typed by name, and found or added when it is saved.
    typed = {name: entry[name] for name in of_purchase(entry) if name not in NAMED}
    lot_price = price if for_what == LOT else None
    purchase = Purchase(build=build, lot_price_amount=lot_price, **typed)
    return Draft(purchase, [line], charges_of(entry))


def used_text_of(line: PurchaseLine) -> str:
    """All of a line that is usable: as typed where all of it is. ``line`` is costed."""
    if line.usable_percent == 100:
        return line.quantity_text
    return format_quantity(Fraction(line.usable_qty), base_unit(line.component))


def of_purchase(names: Iterable[str]) -> tuple[str, ...]:
    """Those of the short form's names that are said of the purchase; a note is its line's."""
    own = set(names).difference(stated_fields(PurchaseLine))
    return tuple(name for name in stated_fields(Purchase) if name in own)


def charges_of(entry: dict[str, Any]) -> list[Charge]:
    """Premium on the price, tax on the price and the premium, haulage spread over the lines."""
    filled = [(entry[name], *CHARGED[name]) for name in CHARGED if entry.get(name)]
    return [
        Charge(position=position, kind=kind, percent_on=on, **{size: value})
        for position, (value, kind, size, on) in enumerate(filled)
    ]


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


def find_likely_double(purchase: Purchase, user: Any) -> Purchase | None:
    """What another member logged of the same day with as much of a component of this one."""
    same = Q()
    for line in purchase.lines.all():
        same |= Q(lines__component=line.component_id, lines__base_qty=line.base_qty)
    others = Change.objects.filter(record_type="purchase", action="added").exclude(actor=user)
    return (
        Purchase.objects.filter(same, build=purchase.build_id, bought_on=purchase.bought_on)
        .exclude(pk=purchase.pk)
        .filter(pk__in=others.filter(build=purchase.build_id).values("record_id"))
        .first()
        if same
        else None
    )
