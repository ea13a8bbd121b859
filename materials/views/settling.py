"""Settling up: who paid, who bears what, and who hands how much to whom."""

from decimal import Decimal, InvalidOperation
from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from ..calc.settling import MOST_PROVED, PersonRow, settle_rows
from ..calc.trace.parts import nameless_hours
from ..calc.trace.settling import BALANCE, SHARE, paid_in, to_spent
from ..forms.filters import PaymentFilter
from ..forms.settling import PaymentForm, SharesForm
from ..models import Build, HandOver
from ..queries.reports import get_cost_sheet
from ..queries.settling import (
    count_unknown_paid,
    list_payerless,
    list_payments,
    sum_payments,
)
from ..services.builds import get_or_add_person
from ..services.errors import LedgerError
from ..services.settling import GONE, record_payment, save_payment, save_sharing
from ..tables.settling import PaymentTable
from ..templatetags.figures import Number, money_text, plain, rate_text
from .base import build_view, number_of, page, record_urls, show_list
from .builds import part_rows
from .editing import edit, posted, press

# The page names so many; the lists have all of them.
SHOWN = 12


@build_view()
def settling_up(request: HttpRequest, build: Build) -> HttpResponse:
    """Balances in words, and the fewest payments that settle them."""
    sheet = get_cost_sheet(build, timezone.localdate())
    settlement = settle_rows(sheet.persons, sheet.build.places)
    persons = {row.share.person.key: row.share.person for row in sheet.persons}
    handed = list_payments(build)
    payerless = list(list_payerless(build)[: SHOWN + 1])
    return page(
        request,
        build,
        "settling/settling_up.html",
        section="settling",
        sheet=sheet,
        rows=[
            {
                "share": row.share,
                "person": row.share.person,
                "hours": row.hours,
                "parts": row.share.part * 100,
                "weight": _weight(row.share.person.weight),
                "share_url": _figure(build, SHARE, row),
                "balance_url": _figure(build, BALANCE, row),
            }
            for row in sheet.persons
        ],
        weights=_weight(sum(person.weight or 0 for person in persons.values())),
        shared=paid_in(sheet.persons),
        is_stated=any(person.weight is not None for person in persons.values()),
        is_handed=any(
            person.payments_made or person.payments_received for person in persons.values()
        ),
        payments=[
            {
                "payer": persons[payment.payer],
                "payee": persons[payment.payee],
                "amount": payment.amount,
                "sent": f"{payment.amount:f}",
            }
            for payment in settlement.payments
        ],
        is_proved=settlement.is_proved,
        most_proved=MOST_PROVED,
        parts=part_rows(build, to_spent(sheet), ["settling_up"]),
        nameless_hours=nameless_hours(sheet),
        unknown_paid=count_unknown_paid(build),
        payerless=payerless[:SHOWN],
        more_payerless=len(payerless) > SHOWN,
        handed=list(handed[:SHOWN]),
        handed_count=handed.count(),
    )


def _weight(weight: Number | None) -> str:
    return "" if weight is None else plain(weight, 6, trim=True)


def _figure(build: Build, kind: str, row: PersonRow) -> str:
    return reverse("figure", args=[build.pk, f"{kind}{row.share.person.key}"])


@build_view(edits=True)
def shares_edit(request: HttpRequest, build: Build) -> HttpResponse:
    """State who bears how much, and whether own hours count."""
    form = SharesForm(posted(request), build=build)
    rate = build.own_labour_rate
    form.fields["own_hours_count"].help_text += (
        " The build states no own labour rate yet."
        if rate is None
        else f" The build's rate is {rate_text(rate, build.currency)} an hour."
    )

    def save(valid: Any) -> None:
        save_sharing(
            actor=request.user,
            build=build,
            shares=valid.shares(),
            own_hours_count=valid.cleaned_data["own_hours_count"],
        )

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Shares",
        section="settling",
        back=reverse("settling_up", args=[build.pk]),
        done="Saved.",
        intro=(
            "How what was paid is shared: 2 and 1, or 60% and 40%. An empty box is no "
            "share. If all boxes are empty, everybody who paid for something shares equally."
        ),
    )


@build_view()
def payments(request: HttpRequest, build: Build) -> HttpResponse:
    """Payments."""

    def totals(rows: Any, chosen: Any) -> list[tuple[str, str]]:
        return [("Payments in these", money_text(sum_payments(rows) or 0, build.currency))]

    return show_list(
        request,
        build,
        table_class=PaymentTable,
        rows=list_payments(build),
        filter_class=PaymentFilter,
        totals=totals,
        section="settling",
        title="Payments",
        intro="What people of this build paid each other, to settle up or in advance.",
        add_url=reverse("hand_over_add", args=[build.pk]),
        add_label="Record payment",
        links=[("Settling up", reverse("settling_up", args=[build.pk]))],
    )


@build_view(edits=True)
def payment_edit(request: HttpRequest, build: Build, pk: int | None = None) -> HttpResponse:
    """Record or change a payment."""
    record = list_payments(build).get(pk=pk) if pk is not None else HandOver(build=build)
    start = {} if pk is not None else {"handed_on": timezone.localdate()}
    form = PaymentForm(posted(request), build=build, record=record, initial=start)

    @transaction.atomic
    def save(valid: Any) -> None:
        values = valid.values()
        for side in ("giver", "receiver"):
            values[side] = get_or_add_person(actor=request.user, build=build, name=values[side])
        save_payment(actor=request.user, build=build, payment=record, values=values)

    return edit(
        request,
        build,
        form=form,
        save=save,
        title="Change payment" if pk is not None else "Record payment",
        section="settling",
        back=reverse("settling_up", args=[build.pk]),
        done="Saved.",
        **record_urls(build, "hand-over", pk),
    )


@require_POST
@build_view(edits=True)
def payment_record(request: HttpRequest, build: Build) -> HttpResponse:
    """Record one of the proposed payments as made today."""

    def note() -> str:
        noted = record_payment(
            actor=request.user,
            build=build,
            giver_id=_number(request.POST.get("giver", "")),
            receiver_id=_number(request.POST.get("receiver", "")),
            amount=_amount(request.POST.get("amount", "")),
            on=timezone.localdate(),
        )
        amount = money_text(noted.amount, build.currency)
        return (
            f"Recorded: {noted.giver} paid {amount} to {noted.receiver} today. Change the date in"
            " the list below."
        )

    return press(request, note, reverse("settling_up", args=[build.pk]))


def _number(text: str) -> int:
    """A key as the page sent it. Raises LedgerError for anything else."""
    number = number_of(text)
    if number is None:
        raise LedgerError(GONE)
    return number


def _amount(text: str) -> Decimal:
    """An amount as the page sent it. Raises LedgerError for anything else."""
    try:
        amount = Decimal(text) if len(text) <= 30 else None
    except InvalidOperation:
        amount = None
    if amount is None or not amount.is_finite():
        raise LedgerError(GONE)
    return amount
