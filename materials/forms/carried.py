"""What the short form takes over from elsewhere, and what it hands on to the long one.

Boxes carry neither ``maxlength``, which cuts silently (``forms.base`` refuses with a sentence),
nor ``autocomplete=off``: the browser would bring them back empty.
"""

from collections.abc import Callable, Iterable
from typing import Any

from ..choices import ChargeKind, ObtainedBy, PercentOn, Split, State
from ..models import Build, Charge, Purchase, PurchaseLine
from ..queries.components import find_component
from ..queries.drafts import charges_of
from ..queries.terms import has_terms
from ..templatetags.figures import money_text, percent, plain, rate_text

EACH, LINE, LOT, FREE = "each", "line", "lot", "free"
# A copy of what is not made yet, or was declined, is to be judged anew.
CHARGED = ("premium_percent", "tax_percent", "distance_text", "haulage_amount")
COPIED_STATE = {State.DECLINED: State.OFFER}


def fits_short(purchase: Purchase, lines: list[PurchaseLine], charges: list[Charge]) -> bool:
    """Whether the short form holds all of a purchase that a copy of it should keep."""
    if len(lines) != 1 or lines[0].price_per_text or has_terms(lines[0]):
        return False
    own = lines[0].unit_price is not None or lines[0].line_price_amount is not None
    if own and purchase.lot_price_amount is not None:
        return False
    copied = charges_of(dict.fromkeys(CHARGED) | _boxes(charges))
    return [_says(charge) for charge in charges] == [_says(charge) for charge in copied]


def _says(charge: Charge) -> tuple[Any, ...]:
    """What a charge is; the first one has none before it that it could be taken on."""
    on = PercentOn.PRICE
    if charge.percent is not None and charge.position:
        on = PercentOn(charge.percent_on)
    size = (charge.amount, charge.percent, charge.distance_text)
    return charge.kind, size, on, charge.spread_by


def _boxes(charges: Iterable[Charge]) -> dict[str, Any]:
    """The boxes of the short form that write such charges."""
    found: dict[str, Any] = {}
    for charge in charges:
        if charge.kind == ChargeKind.BUYERS_PREMIUM:
            found["premium_percent"] = charge.percent
        elif charge.kind == ChargeKind.SALES_TAX:
            found["tax_percent"] = charge.percent
        elif charge.kind == ChargeKind.HAULAGE and charge.distance_text:
            found["distance_text"] = charge.distance_text
        elif charge.kind == ChargeKind.HAULAGE:
            found["haulage_amount"] = charge.amount
    return found


def like(purchase: Purchase) -> dict[str, Any]:
    """Values of the short form that log another purchase like one."""
    line = purchase.lines.all()[0]
    price, price_for = line.line_price_amount, LINE
    if line.unit_price is not None:
        price, price_for = line.unit_price, EACH
    elif price is None and purchase.lot_price_amount is not None:
        price, price_for = purchase.lot_price_amount, LOT
    elif price is None:
        price_for = EACH
    if price is not None and not price:
        price, price_for = None, FREE
    return {
        "what": line.component.name,
        "quantity_text": line.quantity_text,
        "price": price,
        "price_for": price_for,
        "source": line.source,
        "state": COPIED_STATE.get(State(purchase.state), purchase.state),
        "expected_hours": purchase.expected_hours,
        "obtained_by": line.obtained_by,
        "usable_percent": line.usable_percent,
        "origin_year": line.origin_year,
        "through_fire": line.through_fire,
    } | _boxes(purchase.charges.all())


def told(values: dict[str, Any], build: Build) -> str:
    """What stands folded away in the short form, in one sentence; empty when it is nothing.

    ``values``: cleaned ones, or those a form begins with.
    """
    cur = build.currency

    def haulage(text: str) -> str:
        unit = f" {build.distance_unit}" if text.replace(".", "").isdecimal() else ""
        return f"{text}{unit} of haulage"

    words: dict[str, Callable[[Any], str]] = {
        "premium_percent": lambda stated: f"buyer's premium {percent(stated)}",
        "tax_percent": lambda stated: f"sales tax {percent(stated)}",
        "distance_text": haulage,
        "haulage_amount": lambda stated: f"haulage {money_text(stated, cur)}",
        "expected_hours": lambda stated: f"{plain(stated, 2, trim=True)} h expected",
        "obtained_by": lambda stated: f"obtained by: {ObtainedBy(stated).label.lower()}",
        "origin_year": lambda stated: f"taken from something built in {stated}",
        "through_fire": lambda stated: "been through a fire",
    }
    parts = [say(values[name]) for name, say in words.items() if values.get(name)]
    if values.get("usable_percent") not in (None, "", 100):
        parts.insert(0, f"{percent(values['usable_percent'])} of it usable")
    if values.get("new_price") is not None:
        per = values.get("new_per_text") or values["component"].unit
        per = per.replace("1 @", "one of").replace(" @", " of")
        price = rate_text(values["new_price"], cur)
        parts.append(f"{price} per {per} saved as its new price of today")
    return f"With {', '.join(parts)}." if parts else ""


def for_long_form(
    post: Any, build: Build
) -> tuple[dict[str, Any], list[dict[str, Any]], list[dict[str, Any]]]:
    """What was typed into the short form, unread, for the long one: head, lines, charges."""

    def typed(name: str) -> str:
        return str(post.get(name, "")).strip()

    price, price_for = typed("price"), typed("price_for")
    names = ("bought_on", "supplier", "state", "paid_by", "expected_hours")
    head = {name: typed(name) for name in names}
    head["lot_price_amount"] = price if price_for == LOT else ""
    what, notes = typed("what"), [typed("note")]
    component = find_component(build, " ".join(what.split())) if what else None
    if typed("new_price"):
        per = typed("new_per_text")
        notes.insert(0, f"New: {typed('new_price')}{f' per {per}' if per else ''}.")
    if what and component is None:
        notes.insert(0, f"What: {what}.")
    row = {
        "component": component.pk if component else "",
        "quantity_text": typed("quantity_text"),
        "source": typed("source"),
        "unit_price": price if price_for == EACH else "",
        "line_price_amount": price if price_for == LINE else "0" if price_for == FREE else "",
        "usable_percent": typed("usable_percent"),
        "obtained_by": typed("obtained_by"),
        "origin_year": typed("origin_year"),
        "through_fire": bool(typed("through_fire")),
        "note": " ".join(note for note in notes if note),
    }
    rows = [row] if what or row["quantity_text"] or price or row["note"] else []
    charges = [
        ("premium_percent", ChargeKind.BUYERS_PREMIUM, "percent", PercentOn.PRICE),
        ("tax_percent", ChargeKind.SALES_TAX, "percent", PercentOn.PRICE_AND_CHARGES),
        ("distance_text", ChargeKind.HAULAGE, "distance_text", PercentOn.PRICE),
        ("haulage_amount", ChargeKind.HAULAGE, "amount", PercentOn.PRICE),
    ]
    listed = [
        {"kind": kind, size: typed(name), "percent_on": on, "spread_by": Split.PRICE}
        for name, kind, size, on in charges
        if typed(name)
    ]
    return head, rows, listed
