"""The sourcing plan of a build: its needs, open offers, new prices and known ways to make."""

import time
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from ...calc.money import minor_units
from ...calc.shopping import Pack, held_pack
from ...calc.stock import Position, spare_of
from ...calc.supply.steps import step_as_paid, step_at_new_price
from ...calc.supply.types import Need, New, Problem, Question
from ...calc.types import Key
from ...models import Build, Purchase
from ...queries.needed import list_shops
from ...queries.quantities import contents_of
from ...queries.reports import get_cost_sheet
from ...queries.ways import KnownWay, KnownWays, get_known_ways
from ..calc.answer import Outcome, answer
from .offers import LeftOut, OfferItem, get_open_offers

ONE, ZERO = Fraction(1), Fraction(0)
SECONDS = 8
AS_BOUGHT = "At what you paid for it new, since no new price is known."


@dataclass(frozen=True)
class SourcingInputs:
    """All there is to plan with; ``ways`` are those that lead to something needed.

    ``stated`` and ``unstated`` count components that do and do not say what the build requires.
    """

    problem: Problem
    items: dict[Key, OfferItem]
    purchases: tuple[Purchase, ...]
    ways: tuple[KnownWay, ...]
    left_out: tuple[LeftOut, ...]
    shops: dict[Key, str] = field(default_factory=dict)
    stated: int = 0
    unstated: int = 0

    @property
    def is_anything_needed(self) -> bool:
        """Whether a stated requirement is still open."""
        return any(need.quantity > 0 for need in self.problem.needs)


def get_sourcing_inputs(build: Build, on: date) -> SourcingInputs:
    """Gather it, in a fixed number of queries."""
    sheet = get_cost_sheet(build, on)
    positions = {row.position.component.key: row.position for row in sheet.components}
    shops = list_shops(build, list(positions), on)
    tax = sheet.build.retail_tax_share
    needs = {
        key: _need(position, shops.get(key, ("", None))[1], tax)
        for key, position in positions.items()
    }
    wanted = {key: need.quantity for key, need in needs.items() if need.quantity > 0}
    ways = get_known_ways(build).making(wanted).leading_to(wanted)
    useful = wanted.keys() | {known.way.source for known in ways}
    found = get_open_offers(build, useful)
    made_of = {known.way.source for known in ways}
    made_of |= {out.component for known in ways for out in known.way.makes}
    unstated = sum(position.still_needed is None for position in positions.values())
    return SourcingInputs(
        problem=Problem(
            minor_units(build.currency),
            tuple(needs[key] for key in needs if key in wanted or key in made_of),
            found.offers,
            tuple(known.as_recipe() for known in ways),
        ),
        items=found.items,
        purchases=found.purchases,
        ways=ways,
        left_out=found.left_out,
        shops={key: name for key, (name, _) in shops.items() if name}
        | {
            key: AS_BOUGHT
            for key, position in positions.items()
            if position.component.is_priced_as_bought
        },
        stated=len(positions) - unstated,
        unstated=unstated,
    )


def solve(
    inputs: SourcingInputs, question: Question, allowed: Collection[str], seconds: int | None = None
) -> Outcome:
    """Answer a question with the ways to make allowed (by code), within some seconds."""
    end = time.monotonic_ns() + (SECONDS if seconds is None else seconds) * 10**9

    def left() -> Fraction:
        return Fraction(end - time.monotonic_ns(), 10**9)

    wanted = {need.component for need in inputs.problem.needs if need.quantity > 0}
    ways = KnownWays(tuple(known for known in inputs.ways if known.code in allowed)).leading_to(
        wanted
    )
    serving = wanted | {known.way.source for known in ways}
    touched = serving | {out.component for known in ways for out in known.way.makes}
    offers = []
    for offer in inputs.problem.offers:
        parts = tuple(
            replace(part, brings=kept)
            for part in offer.parts
            if (kept := tuple(pair for pair in part.brings if pair[0] in serving))
        )
        if parts:
            offers.append(replace(offer, parts=parts))
    problem = replace(
        inputs.problem,
        needs=tuple(need for need in inputs.problem.needs if need.component in touched),
        offers=tuple(offers),
        recipes=tuple(known.as_recipe() for known in ways),
    )
    return answer(problem, question, left)


def _need(position: Position, pack: Pack | None, tax: Fraction) -> Need:
    part = position.component
    quantity = position.still_needed or ZERO
    spare = ZERO if quantity else spare_of(position)
    return Need(
        part.key, part.name, part.unit, quantity, _new(position, quantity, pack, tax), spare
    )


def _new(position: Position, quantity: Fraction, pack: Pack | None, tax: Fraction) -> New | None:
    """What one step in a shop is: a pack, a piece, or a unit of what is measured.

    Without a new price it is one of what was bought new, at what that cost.
    """
    part = position.component
    held = held_pack(part.unit, contents_of(part))
    if part.is_priced_as_bought and part.bought_new is not None:
        return step_as_paid(part.bought_new, held or Pack(part.unit, ONE), quantity)
    if part.retail_price is None or not part.would_buy_new:
        return None
    own = pack or held or Pack(part.unit, ONE)
    return step_at_new_price(part, part.retail_price, own, quantity, tax)
