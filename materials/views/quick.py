"""Logging in seconds, and judging offers."""

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.contrib import messages
from django.db import transaction
from django.http import HttpRequest, HttpResponse, QueryDict
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.safety import Caution
from ..calc.trace import trace
from ..choices import State
from ..forms.quick import LogForm
from ..models import Build, Purchase
from ..queries.alike import list_alike
from ..queries.drafts import draft_purchase, last_logged, was_logged_by, was_logged_on
from ..queries.members import own_person_name
from ..queries.offers import judge_purchase
from ..queries.preview import Preview, preview_purchase
from ..queries.purchases import get_price_book, get_purchase
from ..queries.reports import get_cost_sheet
from ..queries.safety import cautions_of
from ..services.errors import LedgerError
from ..services.photos import add_photos
from ..services.quick import change_state, log_entry
from .base import build_view, page, save_once

# Fields whose refusal may offer another reading.
OFFERED = ("what", "quantity_text", "distance_text", "price")


@dataclass(frozen=True)
class Shown:
    """What the form would come to: a preview, or a sentence why there is none yet."""

    preview: Preview | None = None
    refusal: str = ""
    cautions: tuple[Caution, ...] = ()
    is_new: bool = False
    head: str = ""
    alike: tuple[str, ...] = ()
    told: tuple[str, ...] = ()


@build_view(edits=True)
def log(request: HttpRequest, build: Build) -> HttpResponse:
    """The short form; htmx asks it for what was understood while one types."""
    into = _purchase(request, build, "into")
    today = timezone.localdate()
    if request.method != "POST":
        form = LogForm(build=build, into=into, initial=_start(request, build, today))
        return _page(request, build, form, into)
    data, is_mended = _with_offer(request)
    form = LogForm(data, request.FILES, build=build, into=into)
    is_valid = form.is_valid()
    if request.headers.get("HX-Request"):
        shown = _show(build, form, into, today) if is_valid else Shown()
        faults = _worth_saying(form, request)
        context = {"shown": shown, "build": build, "faults": faults, "form": form}
        return render(request, "quick/answer.html", context)
    if "look" in request.POST or is_mended:
        if is_valid:
            return _page(request, build, form, into, shown=_show(build, form, into, today))
        faults = [f"{form[name].label}: {text}" for name, text in _faults(form)]
        return _page(request, build, form, into, faults=faults, status=422)
    if is_valid:
        try:
            return save_once(request, lambda: _save(request, build, form, into))
        except LedgerError as error:
            form.add_refusal(str(error), error.field)
    return _page(request, build, form, into, status=422)


@transaction.atomic
def _save(
    request: HttpRequest, build: Build, form: LogForm, into: Purchase | None
) -> tuple[str, str]:
    """The purchase with its photo, or neither; where it is, and a sentence."""
    entry = _entry(form)
    files = entry.pop("photo")
    saved = log_entry(actor=request.user, build=build, entry=entry, into=into)
    if files:
        add_photos(actor=request.user, build=build, record=saved, files=files)
    address = reverse("purchase", args=[build.pk, saved.pk])
    return f"{address}?logged=1", f"Logged as {saved.number}."


def _page(
    request: HttpRequest,
    build: Build,
    form: LogForm,
    into: Purchase | None,
    status: int = 200,
    **context: Any,
) -> HttpResponse:
    return page(
        request,
        build,
        "quick/log.html",
        section="purchases",
        title=f"Another line of {into.number}" if into else "Log a purchase",
        form=form,
        into=into,
        status=status,
        **context,
        cancel_url=reverse("purchase", args=[build.pk, into.pk])
        if into
        else reverse("purchases", args=[build.pk]),
    )


def _purchase(request: HttpRequest, build: Build, name: str) -> Purchase | None:
    """The purchase that the address names by a parameter. Raises Purchase.DoesNotExist."""
    number = request.GET.get(name, "")
    if not number.isdecimal() or len(number) > 18:
        return None
    return get_purchase(build, int(number))


def _start(request: HttpRequest, build: Build, today: date) -> dict[str, Any]:
    """Remembered from the last entry; from ``like`` the whole line, from ``what`` a name.

    What is folded away is remembered only where it cannot mislead: the state is received
    unless the address says otherwise, the day is today unless one is still logging a day's
    worth, and how it was obtained is asked anew.
    """
    start: dict[str, Any] = {
        "bought_on": today,
        "state": State.RECEIVED,
        "what": request.GET.get("what", "")[:120],
        "quantity_text": request.GET.get("much", "")[:120],
    }
    like = _purchase(request, build, "like")
    last = like or last_logged(build, request.user)
    if last is not None:
        start["supplier"] = last.supplier.name if last.supplier else ""
        start["paid_by"] = last.paid_by.name if last.paid_by else ""
        if last.bought_on <= today and was_logged_on(last, request.user, today):
            start["bought_on"] = last.bought_on
        line = last.lines.first()
        if line is not None:
            start["source"] = line.source
        if like is not None and line is not None:
            start |= {
                "what": line.component.name,
                "quantity_text": line.quantity_text,
                "price": line.unit_price if line.unit_price is not None else line.line_price_amount,
                "price_for": "each" if line.unit_price is not None else "line",
                "obtained_by": line.obtained_by,
                "usable_percent": line.usable_percent,
                "origin_year": line.origin_year,
            }
    if last is None or (like is None and not was_logged_by(last, request.user)):
        # Nothing is remembered of this user: rather himself than whom somebody else put down.
        start["paid_by"] = own_person_name(build, request.user) or start.get("paid_by", "")
    if "where" in request.GET:
        start["supplier"] = request.GET["where"][:120]
    if request.GET.get("state") == State.OFFER:
        start["state"] = State.OFFER
    return start


def _entry(form: LogForm) -> dict[str, Any]:
    """Cleaned values with every field the draft asks for."""
    missing = dict.fromkeys(("supplier", "paid_by", "distance_text"), "") | dict.fromkeys(
        ("haulage_amount", "premium_percent", "tax_percent", "expected_hours")
    )
    return {**missing, **form.values()}


def _show(build: Build, form: LogForm, into: Purchase | None, today: date) -> Shown:
    entry = _entry(form)
    draft = draft_purchase(build, entry, into)
    try:
        preview = preview_purchase(
            draft.purchase,
            draft.lines,
            draft.charges,
            get_price_book(build),
            get_cost_sheet(build, today),
        )
    except (CostingError, QuantityError) as error:
        return Shown(refusal=str(error))
    return Shown(
        preview=preview,
        cautions=tuple(cautions_of(draft.lines[-1:])),
        is_new=entry["component"].pk is None,
        head=_head(draft.purchase, entry),
        alike=() if entry["component"].pk else tuple(list_alike(build, entry["what"])),
        told=tuple(form.price_told),
    )


def _with_offer(request: HttpRequest) -> tuple[QueryDict, bool]:
    """What was typed, with the reading that was tapped in its field's place; and whether one was.

    A tapped offer is only looked at: it is seen before it is saved.
    """
    data = request.POST.copy()
    for name in OFFERED:
        if chosen := request.POST.get(f"use_{name}"):
            data[name] = chosen
            return data, True
    return data, False


def _head(purchase: Purchase, entry: dict[str, Any]) -> str:
    """State, day and payer in words: they stand folded away in the form."""
    payer = purchase.paid_by.name if purchase.paid_by else entry["paid_by"]
    told = f"{State(purchase.state).label}, {purchase.bought_on:%-d %b %Y}"
    return f"{told}, paid by {payer}." if payer else f"{told}, nobody stated as payer."


def _worth_saying(form: LogForm, request: HttpRequest) -> list[str]:
    """Faults of fields in which something was typed; an empty one is not a fault yet."""
    return [text for name, text in _faults(form) if request.POST.get(name)]


def _faults(form: LogForm) -> list[tuple[str, str]]:
    """Faults of the fields: (field, sentence)."""
    return [
        (name, str(error))
        for name, errors in form.errors.items()
        if name in form.fields
        for error in errors
    ]


# The steps open to a purchase in a state, as its page words them.
STEPS: dict[str, dict[str, str]] = {
    State.OFFER: {
        State.RECEIVED: "Take it: it is here",
        State.ORDERED: "Take it: ordered",
        State.DECLINED: "Decline it",
    },
    State.ORDERED: {State.RECEIVED: "It is here", State.DECLINED: "Cancel it"},
    State.DECLINED: {State.OFFER: "Look at it again"},
    State.RECEIVED: {},
}


def offer_context(build: Build, record: Purchase) -> dict[str, Any]:
    """What the page of an offer shows besides its rows; empty for any other purchase."""
    if record.state != State.OFFER:
        return {}
    judgement = judge_purchase(build, record, timezone.localdate())
    effects = []
    for effect in judgement.effects:
        told = trace(judgement.sheet, effect.name)
        if told is not None:
            effects.append((told.label, effect.now, effect.then, told.kind))
    return {"judgement": judgement, "effects": effects}


@require_POST
@build_view(edits=True)
def purchase_state(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Accept, receive or decline."""
    record = get_purchase(build, pk)
    wanted = request.POST.get("state", "")
    address = reverse("purchase", args=[build.pk, pk])

    def take() -> tuple[str, str]:
        if wanted not in STEPS[record.state]:
            raise LedgerError("That step is not open to this purchase: look at its state.")
        today = timezone.localdate()
        change_state(actor=request.user, build=build, purchase=record, state=wanted, on=today)
        return address, f"{record.number} is now: {State(wanted).label.lower()}."

    try:
        return save_once(request, take)
    except LedgerError as error:
        messages.error(request, str(error))
        return redirect(address)
