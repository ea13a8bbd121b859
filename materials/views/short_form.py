"""Logging in seconds, and judging offers."""

from dataclasses import dataclass, field
from datetime import date
from fractions import Fraction
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.safety.cautions import Caution
from ..choices import State
from ..forms.short_form import LogForm
from ..forms.short_form_values import copied_values, fits_quick_form, folded_words
from ..models import Build, Purchase
from ..queries.component_names import list_similar_names
from ..queries.drafts import (
    draft_purchase,
    find_likely_double,
    last_logged,
    was_logged_by,
    was_logged_on,
)
from ..queries.kept import get_kept_sheet
from ..queries.members import own_person_name
from ..queries.new_prices import with_new_price
from ..queries.offers import Judgement, judge
from ..queries.preview import Preview, preview_purchase
from ..queries.price_book import get_price_book
from ..queries.purchases import get_purchase
from ..queries.quantities import price_per, taught_by
from ..queries.safety import cautions_of
from ..services.short_form import log_entry
from .base import build_view, number_of
from .editing import edit, faults_of, posted
from .offers import effects_of, offer_lessons
from .outbox import is_from_outbox
from .photos import save_photos
from .saved import saved_at


@dataclass(frozen=True)
class Shown:
    """What the form would come to: a preview, or a sentence why there is none yet."""

    preview: Preview | None = None
    refusal: str = ""
    cautions: tuple[Caution, ...] = ()
    is_new: bool = False
    head: str = ""
    folded: str = ""
    judgement: Judgement | None = None
    effects: tuple[tuple[Any, ...], ...] = ()
    lessons: dict[str, Any] = field(default_factory=dict)
    similar_names: tuple[str, ...] = ()
    price_notes: tuple[str, ...] = ()
    # What the size that was typed says of each, and the contents box with it.
    teaches: str = ""
    contents: str = ""


@build_view(edits=True)
def log(request: HttpRequest, build: Build) -> HttpResponse:
    """The short form; htmx asks it for what was understood while one types."""
    into = _purchase(request, build, "into")
    today = timezone.localdate()
    context: dict[str, Any] = {}
    if request.method == "POST":
        form = LogForm(posted(request), request.FILES, build=build, into=into)
        if "look" in form.data and not form.is_valid():
            context["faults"] = faults_of(form)
    else:
        start = _start(request, build, today)
        form = LogForm(build=build, into=into, initial=start)
        context["carried"] = folded_words(start, build)
        if "where" not in request.GET:
            context["carried_from"] = start.get("supplier", "")
    return edit(
        request,
        build,
        form=form,
        look=lambda: {"shown": _show(request, build, form, into, today)},
        answer="short_form/answer.html",
        save=lambda valid: _save(request, build, valid, into),
        template="short_form/log.html",
        section="purchases",
        title=_title(form, into),
        into=into,
        back=reverse("purchase", args=[build.pk, into.pk])
        if into
        else reverse("purchases", args=[build.pk]),
        **context,
    )


@transaction.atomic
def _save(
    request: HttpRequest, build: Build, form: LogForm, into: Purchase | None
) -> tuple[str, str]:
    """The purchase with its photo, or neither; where it is, and a sentence."""
    entry = form.values()
    entry["priced_on"] = _priced_on(entry, into, timezone.localdate())
    saved = log_entry(actor=request.user, build=build, entry=entry, into=into)
    save_photos(request, build, saved, form)
    double = find_likely_double(saved, request.user) if is_from_outbox(request) else None
    said = (
        f"{double.number} may be the same: somebody else logged it. Check both." if double else ""
    )
    return saved_at(reverse("purchase", args=[build.pk, saved.pk]), "purchase", saved), said


def _priced_on(entry: dict[str, Any], into: Purchase | None, today: date) -> date:
    """The day of a new price that is typed with a purchase: the purchase's, if that has come."""
    bought_on: date = into.bought_on if into else entry["bought_on"]
    return min(bought_on, today)


def _title(form: LogForm, into: Purchase | None) -> str:
    if into is not None:
        return f"Another line of {into.number}"
    return "Judge offer" if form.is_offer else "Log purchase"


def _purchase(request: HttpRequest, build: Build, name: str) -> Purchase | None:
    """The purchase that the address names by a parameter. Raises Purchase.DoesNotExist."""
    number = number_of(request.GET.get(name))
    return get_purchase(build, number) if number is not None else None


def _start(request: HttpRequest, build: Build, today: date) -> dict[str, Any]:
    """Remembered from the last entry; from ``copied_values`` the whole line, from ``what`` a name.

    What is folded away is remembered only where it cannot mislead: the state is received
    unless the address says otherwise, the day is today unless one is still logging a day's
    worth, and how it was obtained is asked anew. Where it was got is remembered through one day's
    run, never into an offer, and told beside the box.
    """
    start: dict[str, Any] = {
        "bought_on": today,
        "state": State.RECEIVED,
        "what": request.GET.get("what", "")[:120],
        "quantity_text": request.GET.get("much", "")[:120],
    }
    copied = _purchase(request, build, "like")
    last = copied or last_logged(build, request.user)
    is_offer = request.GET.get("state") == State.OFFER
    if last is not None:
        is_run = not is_offer and was_logged_on(last, request.user, today)
        if last.supplier and (copied is not None or is_run):
            start["supplier"] = last.supplier.name
        start["paid_by"] = last.paid_by.name if last.paid_by else ""
        if last.bought_on <= today and was_logged_on(last, request.user, today):
            start["bought_on"] = last.bought_on
        lines = list(last.lines.all())
        if lines:
            start["source"] = lines[0].source
        if copied is not None and fits_quick_form(copied, lines, list(copied.charges.all())):
            start |= copied_values(copied)
    if last is None or (copied is None and not was_logged_by(last, request.user)):
        # Nothing is remembered of this user: rather himself than whom somebody else put down.
        start["paid_by"] = own_person_name(build, request.user) or start.get("paid_by", "")
    if "where" in request.GET:
        start["supplier"] = request.GET["where"][:120]
    if is_offer:
        start["state"] = State.OFFER
    return start


def _show(
    request: HttpRequest, build: Build, form: LogForm, into: Purchase | None, today: date
) -> Shown:
    entry = form.values()
    draft = draft_purchase(build, entry, into)
    component, priced = entry["component"], entry["new_price"]
    if priced is not None:
        priced = Fraction(priced) / price_per(entry["new_per_text"], component)
    book, sheet = with_new_price(
        get_price_book(build),
        get_kept_sheet(build, today),
        component,
        priced,
        _priced_on(entry, into, today),
        today,
    )
    judgement = None
    try:
        if draft.purchase.state == State.OFFER:
            judgement = judge(build, draft, book, sheet, today)
            preview = judgement.preview
        else:
            preview = preview_purchase(draft.purchase, draft.lines, draft.charges, book, sheet)
    except (CostingError, QuantityError) as error:
        return Shown(refusal=str(error))
    teaches = taught_by(entry["quantity_text"], component)
    return Shown(
        preview=preview,
        teaches=teaches,
        contents="; ".join(filter(None, (entry["contents"], teaches))),
        cautions=tuple(cautions_of(draft.lines[-1:], draft.purchase)),
        is_new=component.pk is None,
        head=_head(draft.purchase, entry),
        folded=folded_words(entry, build),
        judgement=judgement,
        effects=effects_of(judgement) if judgement else (),
        lessons=offer_lessons(
            request,
            build,
            [line.component.name for line in preview.lines],
            draft.purchase.supplier.name if draft.purchase.supplier else entry["supplier"],
        )
        if judgement
        else {},
        similar_names=()
        if entry["component"].pk
        else tuple(list_similar_names(build, entry["what"])),
        price_notes=tuple(form.price_notes),
    )


def _head(purchase: Purchase, entry: dict[str, Any]) -> str:
    """State, day, place and payer in words: what was carried over or stands folded away."""
    payer = purchase.paid_by.name if purchase.paid_by else entry.get("paid_by")
    text = f"{State(purchase.state).label}, {purchase.bought_on:%-d %b %Y}"
    if supplier := purchase.supplier.name if purchase.supplier else entry.get("supplier"):
        text += f", at {supplier}"
    return f"{text}, paid by {payer}." if payer else f"{text}, no payer stated."
