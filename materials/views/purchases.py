"""Purchases with lines and charges on one page."""

from fractions import Fraction
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from .. import access
from ..calc.quantities import format_quantity
from ..calc.reports import per
from ..choices import SPLITS, State
from ..forms.deadlines import PAIRS
from ..forms.filters import LineFilter, PurchaseFilter
from ..forms.purchases import ChargeForm, LineForm, PurchaseForm
from ..forms.rows import rows_of
from ..forms.short_form_values import COPIED_STATE, fits_quick_form, for_long_form
from ..models import Build, Purchase
from ..queries.members import own_person_name
from ..queries.price_book import get_price_book
from ..queries.purchases import (
    derive_purchase,
    get_purchase,
    list_lines,
    list_purchases,
    next_number,
    split_words,
)
from ..queries.quantities import base_unit, says_base, unit_price_of
from ..queries.safety import cautions_of
from ..services.builds import get_or_add_person
from ..services.errors import LedgerError
from ..services.purchases import save_purchase
from ..services.suppliers import get_or_add_supplier
from ..tables.purchases import LineTable, PurchaseTable, TickedLineTable
from ..templatetags.deadlines import full_words
from ..templatetags.figures import count, money_text
from .base import build_view, may_edit, number_of, page, record_urls, show_list
from .editing import edit, form_over, with_rows
from .offers import STEPS, offer_context
from .photos import after_sorting, of_pile, photo_block, save_photos, sorting
from .saved import saved_at

# Boxes of deadlines, which a copy takes over: lots of one auction end together.
DEADLINES = tuple(name for pair in PAIRS.items() for name in pair)
Lines, Charges = rows_of(LineForm), rows_of(ChargeForm)


@build_view()
def purchases(request: HttpRequest, build: Build) -> HttpResponse:
    """Purchases."""
    judge = ("Judge offer", reverse("log", args=[build.pk]) + "?state=offer")
    deadlines = ("Deadlines", reverse("deadlines", args=[build.pk]))
    pile = ("Photos to sort", reverse("pile", args=[build.pk]))
    return show_list(
        request,
        build,
        table_class=PurchaseTable,
        rows=list_purchases(build),
        filter_class=PurchaseFilter,
        section="purchases",
        title="Purchases",
        add_url=reverse("log", args=[build.pk]),
        add_label="Log purchase",
        links=[judge, deadlines, pile] if access.may_edit(request.user, build) else [deadlines],
    )


@build_view()
def purchase_lines(request: HttpRequest, build: Build) -> HttpResponse:
    """Purchase lines: the rows behind most figures."""

    def totals(rows: Any, chosen: Any) -> list[tuple[str, str]]:
        sums = chosen.sums
        listed = [
            ("Landed cost of these lines", money_text(sums["landed"] or 0, build.currency)),
            ("Lines", count(sums["lines"])),
        ]
        if sums["unknown"]:
            listed.append(("Of these without a known price", count(sums["unknown"])))
        return listed

    edits = may_edit(request, build)
    return show_list(
        request,
        build,
        template="purchases/lines.html" if edits else "page_list.html",
        table_class=TickedLineTable if edits else LineTable,
        rows=list_lines(build),
        filter_class=LineFilter,
        totals=totals,
        section="purchases",
        title="Purchase lines",
    )


@build_view()
def purchase(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """One purchase, costed."""
    record = get_purchase(build, pk)
    lines, charges = list(record.lines.all()), list(record.charges.all())
    cost = derive_purchase(record, lines, charges, get_price_book(build)).cost
    words = split_words(record, cost)
    notes = [words] if words else []
    if cost.unknown_lines:
        notes.append("An unknown price is left out of the sums. It does not count as free.")
    return page(
        request,
        build,
        "purchases/detail.html",
        section="purchases",
        purchase=record,
        lines=[
            {
                "line": line,
                "per_usable": _per_usable(line),
                "unit_price": unit_price_of(line, line.price_amount),
                "usable_text": format_quantity(
                    Fraction(line.usable_qty), base_unit(line.component)
                ),
                "is_converted": not says_base(line.quantity_text, line.base_qty, line.component),
            }
            for line in lines
        ],
        charges=[
            {"charge": charge, "spread": SPLITS[figures.basis].lower()}
            for charge, figures in zip(charges, cost.charges, strict=True)
        ],
        price=cost.price,
        total=cost.total,
        notes=notes,
        photos=photo_block(request, build, record),
        facts=_deadlines(build, record),
        edit_url=reverse("purchase_edit", args=[build.pk, pk]),
        **record_urls(build, "purchase", pk),
        # What the short form does not hold is copied by the long one.
        copy_url=reverse(
            "log" if fits_quick_form(record, lines, charges) else "purchase_add", args=[build.pk]
        )
        + f"?like={pk}",
        into_url=reverse("log", args=[build.pk]) + f"?into={pk}",
        steps=list(STEPS[record.state].items()),
        cautions=cautions_of(lines, record),
        **offer_context(request, build, record),
    )


def _deadlines(build: Build, record: Purchase) -> list[tuple[str, str]]:
    """Its deadlines as stated: the end of what is no offer any more is past interest."""
    stated = [("Fetch by", record.fetch_on, record.fetch_time)]
    if record.state in (State.OFFER, State.DECLINED):
        stated.insert(0, ("Ends", record.ends_on, record.ends_time))
    return [(label, full_words(day, at, build)) for label, day, at in stated if day is not None]


def _per_usable(line: Any) -> Any:
    if line.price_amount is None:
        return None
    return per(Fraction(line.landed_amount), Fraction(line.usable_qty))


@build_view(edits=True)
def purchase_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Log or change a purchase."""
    record = get_purchase(build, pk) if pk is not None else Purchase(build=build)
    if request.method == "POST" and "from_short" in request.POST:
        form, lines, charges = _from_short(request, build)
    else:
        form = form_over(PurchaseForm, request, build, record, _start(request, build, pk))
        lines, charges = (
            with_rows(rows, request, build, prefix, _old(request, build, record, prefix))
            for rows, prefix in ((Lines, "lines"), (Charges, "charges"))
        )
    return edit(
        request,
        build,
        form=form,
        formsets=[
            {
                "heading": "Lines",
                "help": "What you got. Empty lines are skipped.",
                "formset": lines,
            },
            {
                "heading": "Charges",
                "help": "Tax, premium, haulage and the like, in the order they apply.",
                "formset": charges,
            },
        ],
        save=lambda valid: _save(request, build, record, valid, lines.rows(), charges.rows()),
        section="purchases",
        title=f"Change purchase {record.number}" if pk is not None else "Log purchase",
        back=reverse("purchase", args=[build.pk, pk])
        if pk is not None
        else reverse("purchases", args=[build.pk]),
        **record_urls(build, "purchase", pk),
        **of_pile(request, build),
    )


def _from_short(request: HttpRequest, build: Build) -> tuple[Any, Any, Any]:
    """The long form with what was typed into the short one; nothing is saved."""
    head, rows, charged = for_long_form(request.POST, build)
    return (
        PurchaseForm(build=build, initial={"number": next_number(build), **head}),
        Lines(build=build, prefix="lines", initial=rows),
        Charges(build=build, prefix="charges", initial=charged),
    )


def _ask_how_to_split(build: Build, form: Any, lines: Any) -> None:
    """Raises LedgerError where a lot would be split equally and nobody chose that."""
    values = form.values()
    if values["lot_price_amount"] is None or values["lot_split"]:
        return
    prices = ((row["component"], row["unit_price"], row["line_price_amount"]) for row in lines)
    if missing := get_price_book(build).lot_unpriced(prices, values["bought_on"]):
        names = "; ".join(dict.fromkeys(part.name for part in missing))
        raise LedgerError(
            f"These have no new price yet: {names}. So choose how to split the lot price, or add"
            " their new prices first.",
            "lot_split",
        )


@transaction.atomic
def _save(
    request: HttpRequest, build: Build, record: Purchase, form: Any, lines: Any, charges: Any
) -> tuple[str, str]:
    """Where the saved purchase is, and a sentence."""
    _ask_how_to_split(build, form, lines)
    values = form.values()
    actor = request.user
    with sorting(request, build):
        values["supplier"] = get_or_add_supplier(actor=actor, build=build, name=values["supplier"])
        values["paid_by"] = get_or_add_person(actor=actor, build=build, name=values["paid_by"])
        saved = save_purchase(
            actor=actor,
            build=build,
            purchase=record,
            values=values,
            lines=lines,
            charges=charges,
            is_suggested=form.is_suggested,
        )
        save_photos(request, build, saved, form)
    address = after_sorting(request, build, reverse("purchase", args=[build.pk, saved.pk]))
    return saved_at(address, "purchase", saved), form.number_note(saved.number).strip()


def _start(request: HttpRequest, build: Build, pk: int | None) -> dict[str, Any]:
    if pk is not None:
        return {}
    start = {"number": next_number(build), "bought_on": timezone.localdate()}
    start["paid_by"] = own_person_name(build, request.user)
    original = _purchase_to_copy(request, build)
    if original is not None:
        start["supplier"] = original.supplier.name if original.supplier else ""
        start["paid_by"] = original.paid_by.name if original.paid_by else ""
        start["state"] = COPIED_STATE.get(State(original.state), original.state)
        for name in ("lot_price_amount", "lot_split", "expected_hours", *DEADLINES):
            start[name] = getattr(original, name)
    return start


def _purchase_to_copy(request: HttpRequest, build: Build) -> Purchase | None:
    number = number_of(request.GET.get("like"))
    return get_purchase(build, number) if number is not None else None


def _old(request: HttpRequest, build: Build, record: Purchase, rows: str) -> Any:
    """Stored lines or charges; for a new purchase those of one to log another like, as new."""
    if record.pk is not None:
        return getattr(record, rows).all()
    like = _purchase_to_copy(request, build)
    copied = list(getattr(like, rows).all()) if like else []
    for row in copied:
        row.pk = None
    return copied
