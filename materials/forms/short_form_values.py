"""What the short form takes over from elsewhere, and what it hands on to the long one.

Boxes carry neither ``maxlength``, which cuts silently (``forms.base`` refuses with a sentence),
nor ``autocomplete=off``: the browser would bring them back empty.
"""

from collections.abc import Callable, Iterable
from typing import Any

from django.forms import BooleanField

from ..calc.deadlines import clock
from ..calc.types import Basis, PercentOn
from ..choices import ObtainedBy, State
from ..models import Build, Charge, Purchase, PurchaseLine
from ..models.stated import stated_fields, stated_values
from ..queries.components import find_component, list_components
from ..queries.drafts import (
    CHARGED,
    EACH,
    FREE,
    LINE,
    LOT,
    NAMED,
    PRICED,
    charges_of,
    of_purchase,
)
from ..templatetags.figures import money_text, plain, rate_text, stated_percent
from .rows import MAX_ROWS, posted_count
from .short_form import LogForm

# Fields of a line that the short form has no box for.
_UNASKED = (set(stated_fields(PurchaseLine)) - PRICED - {"component"}).difference(
    LogForm.base_fields
)
# A copy of what is not made yet, or was declined, is to be judged anew.
COPIED_STATE = {State.DECLINED: State.OFFER}


def fits_quick_form(purchase: Purchase, lines: list[PurchaseLine], charges: list[Charge]) -> bool:
    """Whether the short form holds all of a purchase that a copy of it should keep."""
    if len(lines) != 1 or any(
        getattr(lines[0], name) != PurchaseLine._meta.get_field(name).get_default()
        for name in _UNASKED | {"price_per_text"}
    ):
        return False
    own = lines[0].unit_price is not None or lines[0].line_price_amount is not None
    if own and purchase.lot_price_amount is not None:
        return False
    copied = charges_of(_boxes(charges))
    return [_stated(charge) for charge in charges] == [_stated(charge) for charge in copied]


def _stated(charge: Charge) -> tuple[Any, ...]:
    """What a charge is; the first one has none before it that it could be taken on."""
    on = PercentOn.PRICE
    if charge.percent is not None and charge.position:
        on = PercentOn(charge.percent_on)
    size = (charge.amount, charge.percent, charge.distance_text)
    return charge.kind, size, on, charge.spread_by


def _boxes(charges: Iterable[Charge]) -> dict[str, Any]:
    """The boxes of the short form that write such charges."""
    return {
        name: getattr(charge, size)
        for charge in charges
        for name, (kind, size, _) in CHARGED.items()
        if charge.kind == kind and getattr(charge, size)
    }


def copied_values(purchase: Purchase) -> dict[str, Any]:
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
    # The day, who sold and who paid are remembered whether it is a copy or not.
    asked = set(of_purchase(LogForm.base_fields)) - NAMED - {"bought_on"}
    return {
        **stated_values(line, without=PRICED | {"component", "note"}),
        **{name: getattr(purchase, name) for name in asked},
        **_boxes(purchase.charges.all()),
        "what": line.component.name,
        "price": price,
        "price_for": price_for,
        "state": COPIED_STATE.get(State(purchase.state), purchase.state),
    }


def folded_words(values: dict[str, Any], build: Build) -> str:
    """What stands folded away in the short form, in one sentence; empty when it is nothing.

    ``values``: cleaned ones, or those a form begins with.
    """
    cur = build.currency

    def haulage(text: str) -> str:
        unit = f" {build.distance_unit}" if text.replace(".", "").isdecimal() else ""
        return f"{text}{unit} of haulage"

    words: dict[str, Callable[[Any], str]] = {
        "premium_percent": lambda stated: f"buyer's premium {stated_percent(stated)}",
        "tax_percent": lambda stated: f"sales tax {stated_percent(stated)}",
        "distance_text": haulage,
        "haulage_amount": lambda stated: f"haulage {money_text(stated, cur)}",
        "expected_hours": lambda stated: f"{plain(stated, 2, trim=True)} h expected",
        "ends_on": lambda stated: f"ends on {stated.day} {stated:%b %Y}",
        "ends_time": lambda stated: f"ends at {clock(stated)}",
        "fetch_on": lambda stated: f"fetch by {stated.day} {stated:%b %Y}",
        "fetch_time": lambda stated: f"fetch by {clock(stated)}",
        "obtained_by": lambda stated: f"obtained by: {ObtainedBy(stated).label.lower()}",
        "origin_year": lambda stated: f"taken from something built in {stated}",
        "through_fire": lambda stated: "been through a fire",
    }
    parts = [say(values[name]) for name, say in words.items() if values.get(name)]
    if values.get("usable_percent") not in (None, "", 100):
        parts.insert(0, f"{stated_percent(values['usable_percent'])} of it usable")
    if values.get("new_price") is not None:
        per = values.get("new_per_text") or values["component"].unit
        per = per.replace("1 @", "one of").replace(" @", " of")
        price = rate_text(values["new_price"], cur)
        parts.append(f"{price} per {per} saved as its new price of that day")
    return f"With {', '.join(parts)}." if parts else ""


def _made_words(post: Any, build: Build) -> str:
    """What was typed as made of it, for a note: the long form has no boxes for it."""
    names = {str(pk): name for pk, name in list_components(build).values_list("pk", "name")}
    made = []
    for place in range(min(posted_count(post, "outputs"), MAX_ROWS)):
        row = {
            name: str(post.get(f"outputs-{place}-{name}", "")).strip()
            for name in ("component", "new_name", "made_text")
        }
        what = names.get(row["component"], "") or row["new_name"]
        made.append(" ".join(filter(None, (row["made_text"], what))))
    rows = "; ".join(filter(None, made))
    return f"Made of it: {rows}." if rows else ""


def for_long_form(
    post: Any, build: Build
) -> tuple[dict[str, Any], list[dict[str, Any]], list[dict[str, Any]]]:
    """What was typed into the short form, unread, for the long one: head, lines, charges."""

    asked = LogForm.base_fields

    def typed(name: str) -> Any:
        text = str(post.get(name, "")).strip()
        return bool(text) if isinstance(asked[name], BooleanField) else text

    price, price_for = typed("price"), typed("price_for")
    head = {name: typed(name) for name in of_purchase(asked)}
    head["lot_price_amount"] = price if price_for == LOT else ""
    what, notes = typed("what"), [typed("note")]
    component = find_component(build, " ".join(what.split())) if what else None
    if typed("new_price"):
        per = typed("new_per_text")
        notes.insert(0, f"New: {typed('new_price')}{f' per {per}' if per else ''}.")
    if made := _made_words(post, build):
        notes.append(made)
    row = {name: typed(name) for name in stated_fields(PurchaseLine) if name in asked} | {
        "component": component.pk if component else "",
        "new_name": "" if component else what,
        "unit_price": price if price_for == EACH else "",
        "line_price_amount": price if price_for == LINE else "0" if price_for == FREE else "",
        "note": " ".join(note for note in notes if note),
    }
    rows = [row] if what or row["quantity_text"] or price or row["note"] else []
    listed = [
        {"kind": kind, size: typed(name), "percent_on": on, "spread_by": Basis.PRICE}
        for name, (kind, size, on) in CHARGED.items()
        if typed(name)
    ]
    return head, rows, listed
