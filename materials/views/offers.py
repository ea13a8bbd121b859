"""Judging an offer, and the steps a purchase takes."""

from collections.abc import Iterable
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST

from ..calc.trace.explain import trace
from ..choices import State
from ..models import Build, Purchase
from ..queries.lessons import lessons_touching
from ..queries.offers import Judgement, judge_purchase
from ..queries.purchases import get_purchase
from ..services.errors import LedgerError
from ..services.short_form import change_state
from .base import build_view
from .editing import save_once
from .lessons import beside
from .outbox import tell, written_at

# The steps open to a purchase in a state, as its page words them.
STEPS: dict[str, dict[str, str]] = {
    State.OFFER: {
        State.RECEIVED: "Take it: received",
        State.ORDERED: "Take it: ordered",
        State.DECLINED: "Decline it",
    },
    State.ORDERED: {State.RECEIVED: "Mark as received", State.DECLINED: "Cancel it"},
    State.DECLINED: {State.OFFER: "Open it as an offer again"},
    State.RECEIVED: {},
}


def offer_context(request: HttpRequest, build: Build, record: Purchase) -> dict[str, Any]:
    """What the page of an offer shows besides its rows; empty for any other purchase."""
    if record.state != State.OFFER:
        return {}
    judgement = judge_purchase(build, record, timezone.localdate())
    names = [line.component.name for line in judgement.preview.lines]
    supplier = record.supplier.name if record.supplier else ""
    return {
        "judgement": judgement,
        "effects": effects_of(judgement),
        "lessons": offer_lessons(request, build, names, supplier),
    }


def offer_lessons(
    request: HttpRequest, build: Build, names: Iterable[str], supplier: str
) -> dict[str, Any]:
    """What was learned of what is offered, and of whom it is from ("" for nobody)."""
    from_whom = [supplier] if supplier else []
    return beside(lessons_touching(request.user, build, component=names, supplier=from_whom))


def effects_of(judgement: Judgement) -> tuple[tuple[Any, ...], ...]:
    """The figures an offer would move: label, now, with it, kind of figure."""
    traced = [(effect, trace(judgement.sheet, effect.name)) for effect in judgement.effects]
    return tuple(
        (figure.label, effect.now, effect.then, figure.kind) for effect, figure in traced if figure
    )


@require_POST
@build_view(edits=True)
def purchase_state(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """Accept, receive or decline."""
    record = get_purchase(build, pk)
    wanted = request.POST.get("state", "")
    address = reverse("purchase", args=[build.pk, pk])

    def take() -> tuple[str, str]:
        if wanted not in STEPS[record.state]:
            raise LedgerError("This purchase cannot take that step. Check its state.")
        on = timezone.localdate(written_at(request))
        change_state(actor=request.user, build=build, purchase=record, state=wanted, on=on)
        return address, f"{record.number} is now: {State(wanted).label.lower()}."

    try:
        return save_once(request, take)
    except LedgerError as error:
        return tell(request, redirect(address), [str(error)])
