"""The sourcing plan: a question, and what to take, buy and make."""

import math
from collections.abc import Collection, Sequence
from decimal import Decimal
from fractions import Fraction
from itertools import pairwise
from typing import Any
from urllib.parse import urlencode

from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils import timezone

from ..calc.supply.cheapest import draw
from ..calc.supply.costs import (
    by_supplier,
    extra_cost,
    is_taken,
    landed_cost,
    new_cost,
    shared_haulage,
)
from ..calc.supply.pieces import piece_costs
from ..calc.supply.types import Aim, Offer, Plan, Problem, Question
from ..choices import State
from ..models import Build, Purchase
from ..queries.kept import stamp_of
from ..services.long_work import Work, do_value, key_of, look
from ..templatetags.figures import hours, money_text
from ..views.base import build_view, page
from ..views.long_work import AGAIN, begun_anew, going_page, led_on
from ..views.offers import STEPS
from ..views.way_words import asked_of, drawn_words
from .calc.answer import Outcome
from .calc.frontier_picture import draw_frontier
from .forms import SourcingForm
from .queries.offers import OfferItem
from .queries.plan import SECONDS, SourcingInputs, get_sourcing_inputs, solve
from .words import PlanWords


@build_view()
def sourcing(request: HttpRequest, build: Build) -> HttpResponse:
    """Which offers to take, what to buy new, what to make."""
    today = timezone.localdate()
    asked = sorted((name, values) for name, values in request.GET.lists() if name != AGAIN)
    key = key_of(request.user, f"sourcing:{build.pk}", stamp_of(build), today, asked)
    if anew := begun_anew(request, key):
        return anew
    work = look(key)
    if work.is_going or work.state == "stopped":
        return _going(request, build, work)
    if work.state == "done" and (led := led_on(request)):
        return led
    inputs = get_sourcing_inputs(build, today)
    words = PlanWords(inputs, inputs.problem, Question(), build.currency)
    choices = [(known, words.recipe(known)) for known in inputs.ways]
    is_asked = any(name in request.GET for name in SourcingForm.base_fields)
    form = SourcingForm(_asked(request) if is_asked else None, build=build, choices=choices)
    context: dict[str, Any] = {}
    if inputs.is_anything_needed and (not is_asked or form.is_valid()):
        question = form.question() if is_asked else Question()
        allowed = form.allowed() if is_asked else frozenset(known.code for known in inputs.ways)
        work, outcome = do_value(key, lambda: solve(inputs, question, allowed))
        if outcome is None:
            return _going(request, build, work)
        context = _plan_context(inputs, outcome, question, build, allowed) | {
            "outcome": outcome,
            "asked": question,
        }
    return led_on(request) or page(
        request,
        build,
        "sourcing/plan.html",
        section="sourcing",
        inputs=inputs,
        form=form,
        on=today,
        status=422 if is_asked and not form.is_valid() else 200,
        **context,
    )


def _going(request: HttpRequest, build: Build, work: Work) -> HttpResponse:
    """How far a plan is that takes long."""
    return going_page(
        request, build, work, title="Sourcing plan", section="sourcing", limit=SECONDS
    )


def _asked(request: HttpRequest) -> QueryDict:
    """What is typed; an address that names no aim, only a limit, asks for the first aim."""
    typed = request.GET.copy()
    typed.setdefault("aim", Aim.MONEY.value)
    return typed


def _plan_context(
    inputs: SourcingInputs,
    outcome: Outcome,
    question: Question,
    build: Build,
    allowed: Collection[str],
) -> dict[str, Any]:
    words = PlanWords(inputs, outcome.problem, question, build.currency)
    unmet = [words.need(need.component, need.quantity) for need in outcome.unmet]
    plan = outcome.plan
    if plan is None:
        return {"unmet": unmet}
    rate, trips = Fraction(question.rate), _trips(words, plan)
    return {
        "unmet": unmet,
        "plan": plan,
        "trips": trips,
        "taken": sum(len(trip["rows"]) for trip in trips),
        "buys": _buys(words, plan),
        "makes": _makes(words, plan),
        "over": words.over(plan),
        "sensitivities": _sensitivity_rows(words, outcome, plan),
        "hours_worth": plan.hours * rate if question.aim is Aim.BOTH else None,
        "gap": None if plan.gap is None else words.objective(plan.gap),
        "frontier": _frontier(outcome, plan, build.currency, allowed),
    }


def _trips(words: PlanWords, plan: Plan) -> list[dict[str, Any]]:
    """What is taken, one entry for each journey."""
    problem, made = words.problem, []
    for offers_together in by_supplier(problem.offers).values():
        going = [offer for offer in offers_together if is_taken(offer, plan.takes)]
        if not going:
            continue
        rows = [_taken(words, problem, offer, plan) for offer in going]
        supplier = rows[0]["purchase"].supplier
        shared = shared_haulage(offers_together, plan.takes, problem.places)
        made.append(
            {
                "name": supplier.name if supplier else f"Offer {rows[0]['purchase'].number}",
                "rows": rows,
                "shared": shared,
                "less": -shared,
            }
        )
    return made


def _taken(words: PlanWords, problem: Problem, offer: Offer, plan: Plan) -> dict[str, Any]:
    items = [item for item in words.inputs.items.values() if item.purchase.pk == offer.key]
    taken = [item for item in items if item.part.key in plan.takes]
    purchase = items[0].purchase
    is_whole = _is_whole(purchase, taken, plan)
    return {
        "purchase": purchase,
        "offer_items": [
            (words.item(item), words.taken(item, plan.takes[item.part.key])) for item in taken
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


def _is_whole(purchase: Purchase, taken: Sequence[OfferItem], plan: Plan) -> bool:
    """Whether what is taken is the offer as it is recorded, no more and no less."""
    lines = {line.pk for item in taken for line in item.lines}
    as_written = all(
        item.base is None or item.base * plan.takes[item.part.key] == item.lines[0].base_qty
        for item in taken
    )
    return as_written and lines == {line.pk for line in purchase.lines.all()}


def _buys(words: PlanWords, plan: Plan) -> list[dict[str, Any]]:
    rows = []
    for need in words.problem.needs:
        steps = plan.new.get(need.component, 0)
        if steps:
            rows.append(
                {
                    "key": need.component,
                    "name": need.name,
                    "much": words.bought(need, steps),
                    "shop": words.inputs.shops.get(need.component, ""),
                    "cost": new_cost(need, steps, words.problem.places),
                }
            )
    return rows


def _makes(words: PlanWords, plan: Plan) -> list[dict[str, Any]]:
    rows = []
    unknown = {code for code, known in words.ways.items() if known.way.extra is None}
    drawn = draw(words.problem, plan)
    pieces = piece_costs(words.problem, plan, unknown)
    for recipe in words.problem.recipes:
        steps = plan.made.get(recipe.key, 0)
        if steps:
            known, hand = words.ways[str(recipe.key)], drawn[recipe.key].hand
            rows.append(
                {
                    "known": known,
                    "asked": asked_of(known, hand) if hand else "",
                    "words": words.made(known, steps),
                    "of": drawn_words(known, drawn[recipe.key]),
                    "pieces": [words.piece(part, pieces) for part in known.makes],
                    "cost": extra_cost(recipe, steps, words.problem.places),
                    "hours": recipe.hours * steps,
                    "unknown": known.unknown,
                }
            )
    return rows


def _sensitivity_rows(words: PlanWords, outcome: Outcome, plan: Plan) -> list[dict[str, Any]]:
    """Every part of every open offer: in or out, why, and its break-even price."""
    sensitivities = {sensitivity.part: sensitivity for sensitivity in outcome.sensitivities}
    planned = {part.key for offer in outcome.problem.offers for part in offer.parts}
    whole = {
        purchase.pk: any(
            item.part.key in plan.takes
            for item in words.inputs.items.values()
            if item.purchase.pk == purchase.pk
        )
        for purchase in words.inputs.purchases
    }
    rows, seen = [], set()
    for item in words.inputs.items.values():
        sensitivity, purchase = sensitivities.get(item.part.key), item.purchase
        steps = plan.takes.get(item.part.key, 0)
        if sensitivity is not None:
            why, break_even = (
                words.why(sensitivity, plan, item),
                words.break_even(sensitivity, item),
            )
        elif item.part.key in planned:
            why = break_even = "Time ran out before this was worked out."
        else:
            break_even = ""
            why = (
                "It is only useful to make something that is not ticked."
                if item.is_useful
                else "The build needs none of it, and nothing known that can be made of it."
            )
        is_declined = not whole[purchase.pk] and purchase.pk not in seen
        seen.add(purchase.pk)
        rows.append(
            {
                "name": words.item(item),
                "purchase": purchase,
                "is_in": bool(steps),
                "much": words.taken(item, steps) if steps else "",
                "why": why,
                "break_even": break_even,
                "now": words.now(item),
                "steps": [(State.DECLINED, "Decline it")] if is_declined else [],
            }
        )
    return rows


def _frontier(
    outcome: Outcome, plan: Plan, currency: str, allowed: Collection[str]
) -> dict[str, Any] | None:
    """Money against hours, as a picture and as rows."""
    if outcome.frontier is None or len(outcome.frontier.plans) < 2:
        return None
    here = (plan.money, plan.hours)
    pairs = [(one.money, one.hours) for one in outcome.frontier.plans]
    saved = [None, *(_each(before, after) for before, after in pairwise(pairs))]
    rows = []
    for place, (money, worked) in enumerate(pairs):
        asked = {"aim": Aim.MONEY.value, "most_hours": hours_typed(worked)}
        if outcome.frontier.count:
            # Without a limit each offer is asked about by itself, which is much quicker.
            asked = asked_by_rate(saved, place) or asked
        rows.append(
            {
                "money": money,
                "hours": worked,
                "each": saved[place],
                "is_here": (money, worked) == here,
                "address": "?" + urlencode(asked | {"recipe": sorted(allowed)}, doseq=True),
            }
        )
    words = [f"{money_text(money, currency)} and {hours(worked)}." for money, worked in pairs]
    return {
        "picture": draw_frontier(pairs, here),
        "rows": rows,
        "words": words,
        "first": money_text(pairs[0][0], currency),
        "last": money_text(pairs[-1][0], currency),
        "is_whole": outcome.frontier.is_whole,
        "count": outcome.frontier.count,
    }


def _each(before: tuple[Fraction, Fraction], after: tuple[Fraction, Fraction]) -> Fraction:
    """What an hour saved costs from one plan to the next."""
    return (after[0] - before[0]) / (before[1] - after[1])


def asked_by_rate(saved: Sequence[Fraction | None], place: int) -> dict[str, str] | None:
    """The question that a plan is the one answer to, by a value of an hour.

    ``saved``: what each plan pays for an hour saved, more and more. None where no value of four
    places lies between its own and the next one's.
    """
    if place == 0:
        return {"aim": Aim.MONEY.value}
    if place == len(saved) - 1:
        return {"aim": Aim.HOURS.value}
    low, high = saved[place], saved[place + 1]
    assert low is not None
    assert high is not None
    for places in range(5):
        rate = Fraction(math.floor(low * 10**places) + 1, 10**places)
        if rate < high:
            typed = Decimal(int(rate * 10**places)).scaleb(-places)
            return {"aim": Aim.BOTH.value, "rate": f"{typed:f}"}
    return None


def hours_typed(worked: Fraction) -> str:
    """Hours as a limit that the form reads: up to its four places, and never below them."""
    return f"{Decimal(math.ceil(worked * 10**4)).scaleb(-4).normalize():f}"
