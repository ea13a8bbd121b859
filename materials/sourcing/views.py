"""The sourcing plan: a question, and what to take, buy and make."""

import math
from collections.abc import Collection, Sequence
from decimal import Decimal
from fractions import Fraction
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils import timezone

from ..choices import State
from ..models import Build, Purchase
from ..templatetags.figures import hours, money_text
from ..views.base import build_view, page
from ..views.offers import STEPS
from .calc.answer import Outcome
from .calc.costs import (
    by_supplier,
    extra_cost,
    is_taken,
    landed_cost,
    new_cost,
    shared_haulage,
)
from .calc.frontier_picture import draw_edge
from .calc.types import Aim, Offer, Plan, Problem, Question
from .forms import SourcingForm
from .queries.offers import Ware
from .queries.plan import Desk, get_desk, solve
from .words import Teller


@build_view()
def sourcing(request: HttpRequest, build: Build) -> HttpResponse:
    """Which offers to take, what to buy new, what to make."""
    today = timezone.localdate()
    desk = get_desk(build, today)
    teller = Teller(desk, desk.problem, Question(), build.currency)
    choices = [(known, teller.recipe(known)) for known in desk.recipes]
    is_asked = any(name in request.GET for name in SourcingForm.base_fields)
    form = SourcingForm(_asked(request) if is_asked else None, build=build, choices=choices)
    context: dict[str, Any] = {}
    if desk.is_anything_needed and (not is_asked or form.is_valid()):
        question = form.question() if is_asked else Question()
        allowed = form.allowed() if is_asked else frozenset()
        outcome = solve(desk, question, allowed)
        context = _told(desk, outcome, question, build, allowed) | {
            "outcome": outcome,
            "asked": question,
        }
    return page(
        request,
        build,
        "sourcing/plan.html",
        section="sourcing",
        desk=desk,
        form=form,
        on=today,
        status=422 if is_asked and not form.is_valid() else 200,
        **context,
    )


def _asked(request: HttpRequest) -> QueryDict:
    """What is typed; an address that names no aim, only a limit, asks for the first aim."""
    typed = request.GET.copy()
    typed.setdefault("aim", Aim.MONEY.value)
    return typed


def _told(
    desk: Desk, outcome: Outcome, question: Question, build: Build, allowed: Collection[str]
) -> dict[str, Any]:
    teller = Teller(desk, outcome.problem, question, build.currency)
    unmet = [teller.need(need.component, need.quantity) for need in outcome.unmet]
    plan = outcome.plan
    if plan is None:
        return {"unmet": unmet}
    rate, trips = Fraction(question.rate), _trips(teller, plan)
    return {
        "unmet": unmet,
        "plan": plan,
        "trips": trips,
        "taken": sum(len(trip["rows"]) for trip in trips),
        "buys": _buys(teller, plan),
        "makes": _makes(teller, plan),
        "over": teller.over(plan),
        "sides": _sides(teller, outcome, plan),
        "hours_worth": plan.hours * rate if question.aim is Aim.BOTH else None,
        "gap": None if plan.gap is None else teller.worth(plan.gap),
        "edge": _edge(outcome, plan, build.currency, allowed),
    }


def _trips(teller: Teller, plan: Plan) -> list[dict[str, Any]]:
    """What is taken, one entry for each journey."""
    problem, made = teller.problem, []
    for together in by_supplier(problem.offers).values():
        going = [offer for offer in together if is_taken(offer, plan.takes)]
        if not going:
            continue
        rows = [_taken(teller, problem, offer, plan) for offer in going]
        supplier = rows[0]["purchase"].supplier
        shared = shared_haulage(together, plan.takes, problem.places)
        made.append(
            {
                "name": supplier.name if supplier else f"Offer {rows[0]['purchase'].number}",
                "rows": rows,
                "shared": shared,
                "less": -shared,
            }
        )
    return made


def _taken(teller: Teller, problem: Problem, offer: Offer, plan: Plan) -> dict[str, Any]:
    wares = [ware for ware in teller.desk.wares.values() if ware.purchase.pk == offer.key]
    taken = [ware for ware in wares if ware.part.key in plan.takes]
    purchase = wares[0].purchase
    is_whole = _is_whole(purchase, taken, plan)
    return {
        "purchase": purchase,
        "wares": [
            (teller.ware(ware), teller.taken(ware, plan.takes[ware.part.key])) for ware in taken
        ],
        "cost": landed_cost(offer, plan.takes, problem.places),
        "hours": offer.hours,
        "is_whole": is_whole,
        "steps": [
            (state, label)
            for state, label in STEPS[State.OFFER].items()
            if is_whole and state == State.ORDERED
        ],
    }


def _is_whole(purchase: Purchase, taken: Sequence[Ware], plan: Plan) -> bool:
    """Whether what is taken is the offer as it is recorded, no more and no less."""
    lines = {line.pk for ware in taken for line in ware.lines}
    as_written = all(
        ware.base is None or ware.base * plan.takes[ware.part.key] == ware.lines[0].base_qty
        for ware in taken
    )
    return as_written and lines == {line.pk for line in purchase.lines.all()}


def _buys(teller: Teller, plan: Plan) -> list[dict[str, Any]]:
    rows = []
    for need in teller.problem.needs:
        steps = plan.new.get(need.component, 0)
        if steps:
            rows.append(
                {
                    "key": need.component,
                    "name": need.name,
                    "much": teller.bought(need, steps),
                    "shop": teller.desk.shops.get(need.component, ""),
                    "cost": new_cost(need, steps, teller.problem.places),
                }
            )
    return rows


def _makes(teller: Teller, plan: Plan) -> list[dict[str, Any]]:
    rows = []
    for recipe in teller.problem.recipes:
        steps = plan.made.get(recipe.key, 0)
        if steps:
            rows.append(
                {
                    "words": teller.made(teller.recipes[str(recipe.key)], steps),
                    "cost": extra_cost(recipe, steps, teller.problem.places),
                    "hours": recipe.hours * steps,
                }
            )
    return rows


def _sides(teller: Teller, outcome: Outcome, plan: Plan) -> list[dict[str, Any]]:
    """Every part of every open offer: in or out, why, and where that turns."""
    sides = {side.part: side for side in outcome.sides}
    planned = {part.key for offer in outcome.problem.offers for part in offer.parts}
    whole = {
        purchase.pk: any(
            ware.part.key in plan.takes
            for ware in teller.desk.wares.values()
            if ware.purchase.pk == purchase.pk
        )
        for purchase in teller.desk.purchases
    }
    rows, seen = [], set()
    for ware in teller.desk.wares.values():
        side, purchase = sides.get(ware.part.key), ware.purchase
        steps = plan.takes.get(ware.part.key, 0)
        if side is not None:
            why, turn = teller.why(side, plan, ware), teller.turn(side, ware)
        elif ware.part.key in planned:
            why = turn = "The time was used up before this could be told."
        else:
            turn = ""
            why = (
                "It only serves a conversion that is not ticked."
                if ware.is_useful
                else "The build needs none of it."
            )
        is_declined = not whole[purchase.pk] and purchase.pk not in seen
        seen.add(purchase.pk)
        rows.append(
            {
                "name": teller.ware(ware),
                "purchase": purchase,
                "is_in": bool(steps),
                "much": teller.taken(ware, steps) if steps else "",
                "why": why,
                "turn": turn,
                "now": teller.now(ware),
                "steps": [(State.DECLINED, "Decline it")] if is_declined else [],
            }
        )
    return rows


def _edge(
    outcome: Outcome, plan: Plan, currency: str, allowed: Collection[str]
) -> dict[str, Any] | None:
    """Money against hours, as a picture and as rows."""
    if outcome.frontier is None or len(outcome.frontier.plans) < 2:
        return None
    here = (plan.money, plan.hours)
    pairs = [(one.money, one.hours) for one in outcome.frontier.plans]
    rows = []
    before: tuple[Fraction, Fraction] | None = None
    for money, worked in pairs:
        saved = None
        if before is not None and before[1] > worked:
            saved = (money - before[0]) / (before[1] - worked)
        asked = {"aim": Aim.MONEY.value, "most_hours": hours_typed(worked)}
        rows.append(
            {
                "money": money,
                "hours": worked,
                "each": saved,
                "is_here": (money, worked) == here,
                "address": "?" + urlencode(asked | {"recipe": sorted(allowed)}, doseq=True),
            }
        )
        before = (money, worked)
    words = [f"{money_text(money, currency)} and {hours(worked)}." for money, worked in pairs]
    return {
        "picture": draw_edge(pairs, here),
        "rows": rows,
        "words": words,
        "first": money_text(pairs[0][0], currency),
        "last": money_text(pairs[-1][0], currency),
        "is_whole": outcome.frontier.is_whole,
    }


def hours_typed(worked: Fraction) -> str:
    """Hours as a limit that the form reads: up to its four places, and never below them."""
    return f"{Decimal(math.ceil(worked * 10**4)).scaleb(-4).normalize():f}"
