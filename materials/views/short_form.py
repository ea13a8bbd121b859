"""Logging in seconds, and judging offers."""

from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db import transaction
from django.forms import MultipleChoiceField
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError, format_quantity
from ..calc.safety.cautions import Caution
from ..choices import State
from ..forms.short_form import LogForm, MadeRows
from ..forms.short_form_values import copied_values, fits_quick_form, folded_words
from ..models import Build, Conversion, ConversionOutput, Purchase
from ..queries.component_names import list_similar_names
from ..queries.conversions import Arriving, ConversionPreview, preview_conversion
from ..queries.drafts import (
    Draft,
    draft_purchase,
    find_likely_double,
    last_logged,
    was_logged_by,
    was_logged_on,
)
from ..queries.kept import get_kept_sheet, keep, stamp_of
from ..queries.members import own_person_name
from ..queries.new_prices import with_new_price
from ..queries.offers import Judgement, judge
from ..queries.preview import Preview, preview_purchase
from ..queries.price_book import get_price_book
from ..queries.purchases import get_purchase
from ..queries.quantities import base_quantity, base_unit, price_per, taught_by
from ..queries.safety import cautions_of
from ..queries.ways import Given, get_known_ways, given_by, list_given
from ..services.got_and_made import log_and_make
from ..services.short_form import log_entry
from .base import build_view, number_of
from .editing import asks_for_row, edit, faults_of, posted, with_rows
from .offers import effects_of, offer_lessons
from .outbox import is_from_outbox
from .photos import after_sorting, of_pile, save_photos, sorting
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
    # What making something of it at once comes to, and what it would give by the ways known.
    made: ConversionPreview | None = None
    given: tuple[Given, ...] = ()


@build_view(edits=True)
def log(request: HttpRequest, build: Build) -> HttpResponse:
    """The short form; htmx asks it for what was understood while one types."""
    into = _purchase(request, build, "into")
    today = timezone.localdate()
    context: dict[str, Any] = of_pile(request, build)
    data = _with_way(posted(request), build)
    outputs = _made_rows(request, build, data)
    if data is not None:
        form = outputs.head = LogForm(data, request.FILES, build=build, into=into)
        if "look" in form.data and not (form.is_valid() and outputs.is_valid()):
            context["faults"] = faults_of(form, [outputs])
    elif asks_for_row(request):
        form = LogForm(build=build, into=into, initial=_typed(request))
    else:
        start = _start(request, build, today) | {"note": context["pile_note"]}
        form = LogForm(build=build, into=into, initial=start)
        context["carried"] = folded_words(start, build)
        if "where" not in request.GET:
            context["carried_from"] = start.get("supplier", "")
    return edit(
        request,
        build,
        form=form,
        formsets=[{"heading": "Made of it", "formset": outputs}],
        look=lambda: {"shown": _show(request, build, form, into, today, outputs.rows())},
        answer="short_form/answer.html",
        save=lambda valid: _save(request, build, valid, into, outputs.rows()),
        template="short_form/log.html",
        section="purchases",
        title=_title(form, into),
        into=into,
        back=reverse("purchase", args=[build.pk, into.pk])
        if into
        else reverse("purchases", args=[build.pk]),
        **context,
    )


def _made_rows(request: HttpRequest, build: Build, data: Any) -> MadeRows:
    """The rows of what was made of it: posted, or (asked for another) as typed and one more."""
    if data is None and asks_for_row(request):
        return with_rows(MadeRows, request, build, "outputs", ())
    return MadeRows(data, build=build, prefix="outputs")


def _typed(request: HttpRequest) -> dict[str, Any]:
    """What was typed, unread, to be shown again."""
    return {
        name: request.POST.getlist(name)
        if isinstance(field, MultipleChoiceField)
        else request.POST.get(name, "")
        for name, field in LogForm.base_fields.items()
    }


def _with_way(data: Any, build: Build) -> Any:
    """What was typed; where a way was tapped, with what it gives in the rows of what was made."""
    code, _, used = data.get("way", "").partition(" ") if data is not None else ("", "", "")
    ways = get_known_ways(build).ways if code else ()
    known = next((one for one in ways if one.code == code), None)
    if known is None:
        return data
    try:
        given = given_by(known, Fraction(base_quantity(used, known.source)), build.currency)
    except QuantityError:
        return data
    return data if given is None else _filled(data, given)


def _filled(data: Any, given: Given) -> Any:
    data = data.copy()
    for name in [name for name in data if name.startswith("outputs-")]:
        del data[name]
    data["outputs-TOTAL_FORMS"], data["outputs-INITIAL_FORMS"] = str(len(given.rows)), "0"
    for place, (part, text) in enumerate(given.rows):
        data[f"outputs-{place}-component"] = str(part.pk)
        data[f"outputs-{place}-made_text"] = text
    for name, value in (("made_hours", given.hours), ("made_extra", given.extra)):
        if value and not data.get(name):
            data[name] = f"{value:f}"
    return data


@transaction.atomic
def _save(
    request: HttpRequest, build: Build, form: LogForm, into: Purchase | None, outputs: Any
) -> tuple[str, str]:
    """The purchase with its photo and what was made of it, or nothing; where it is, a sentence."""
    entry, today = form.values(), timezone.localdate()
    entry["priced_on"] = _priced_on(entry, into, today)
    by = {"actor": request.user, "build": build}
    with sorting(request, build):
        if outputs:
            saved, made = log_and_make(**by, entry=entry, outputs=outputs, on=today, into=into)
        else:
            saved = log_entry(**by, entry=entry, into=into)
        save_photos(request, build, saved, form)
    double = find_likely_double(saved, request.user) if is_from_outbox(request) else None
    said = (
        f"{double.number} may be the same: somebody else logged it. Check both." if double else ""
    )
    if outputs:
        said = f"{said} Made into {made.outputs_text}, as {made}.".strip()
    address = after_sorting(request, build, reverse("purchase", args=[build.pk, saved.pk]))
    return saved_at(address, "purchase", saved), said


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
    request: HttpRequest,
    build: Build,
    form: LogForm,
    into: Purchase | None,
    today: date,
    outputs: Any = (),
) -> Shown:
    entry = form.values()
    draft = draft_purchase(build, entry, into)
    component, priced = entry["component"], entry["new_price"]
    if priced is not None:
        priced = Fraction(priced) / price_per(entry["new_per_text"], component)
    stamp = stamp_of(build)
    book, sheet = with_new_price(
        get_price_book(build),
        get_kept_sheet(build, today, stamp),
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
        made = _preview_made(build, draft, preview, entry, outputs, today) if outputs else None
    except (CostingError, QuantityError) as error:
        return Shown(refusal=str(error))
    given = []
    if form.is_received and not outputs:
        ways = keep("ways", stamp, today, lambda: get_known_ways(build))
        given = list_given(ways, component, Fraction(preview.last.usable_qty), build.currency)
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
            draft.purchase.supplier.name if draft.purchase.supplier else entry.get("supplier", ""),
        )
        if judgement
        else {},
        similar_names=()
        if entry["component"].pk
        else tuple(list_similar_names(build, entry["what"])),
        price_notes=tuple(form.price_notes),
        made=made,
        given=tuple(given),
    )


def _preview_made(
    build: Build, draft: Draft, preview: Preview, entry: dict[str, Any], outputs: Any, today: date
) -> ConversionPreview:
    """What making something of the line at once comes to. Raises QuantityError."""
    line = draft.lines[-1]
    own = [
        (row, shown)
        for row, shown in zip(draft.lines, preview.lines, strict=True)
        if row.component == line.component
    ]
    # A line more shifts the charges of those of its purchase that are in the ledger already.
    known = all(row.pk or shown.price is not None for row, shown in own)
    stored = sum((row.landed_amount for row, _ in own if row.pk), Decimal(0))
    cost = sum((shown.landed for _, shown in own), Decimal(0)) - stored
    usable = Fraction(preview.last.usable_qty)
    used = entry.get("made_used") or format_quantity(usable, base_unit(line.component))
    typed = Conversion(
        build=build,
        source=line.component,
        converted_on=entry.get("made_on") or today,
        used_text=used,
        extra_cost_amount=entry.get("made_extra") or Decimal(0),
        hours=entry.get("made_hours") or Decimal(0),
    )
    rows = [ConversionOutput(component=r["component"], made_text=r["made_text"]) for r in outputs]
    arriving = Arriving(usable, Fraction(cost) if known else None)
    return preview_conversion(build, typed, rows, today, arriving=arriving)


def _head(purchase: Purchase, entry: dict[str, Any]) -> str:
    """State, day, place and payer in words: what was carried over or stands folded away."""
    payer = purchase.paid_by.name if purchase.paid_by else entry.get("paid_by")
    text = f"{State(purchase.state).label}, {purchase.bought_on:%-d %b %Y}"
    if supplier := purchase.supplier.name if purchase.supplier else entry.get("supplier"):
        text += f", at {supplier}"
    return f"{text}, paid by {payer}." if payer else f"{text}, no payer stated."
