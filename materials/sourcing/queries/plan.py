"""The sourcing plan of a build: its needs, open offers, new prices and known conversions."""

import time
from collections import defaultdict
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from datetime import date
from fractions import Fraction

from ...calc.money import minor_units
from ...calc.shopping import Pack, comes_whole, held_pack, is_counted
from ...calc.stock import Position
from ...calc.types import Key
from ...models import Build, Conversion, Purchase
from ...queries.needed import list_shops
from ...queries.quantities import contents_of
from ...queries.reports import get_cost_sheet
from ...queries.stock import list_conversions
from ..calc.answer import Outcome, answer
from ..calc.types import Made, Need, New, Problem, Question, Recipe
from .offers import LeftOut, OfferItem, get_open_offers

# What is measured is bought by one unit, or by a tenth where few are needed.
FEW, TENTH, ONE, ZERO = 10, Fraction(1, 10), Fraction(1), Fraction(0)
SECONDS = 8
AS_BOUGHT = "At what you paid for it new, since no new price is known."


@dataclass(frozen=True)
class KnownRecipe:
    """A conversion done before, as a way to make what is needed.

    ``code`` names it in a form; ``times``: the steps of it done so far.
    """

    code: str
    recipe: Recipe
    source: str
    source_unit: str
    makes: tuple[tuple[str, str], ...]
    times: Fraction


@dataclass(frozen=True)
class SourcingInputs:
    """All there is to plan with; ``recipes`` are those that lead to something needed.

    ``stated`` and ``unstated`` count components that do and do not say what the build requires.
    """

    problem: Problem
    items: dict[Key, OfferItem]
    purchases: tuple[Purchase, ...]
    recipes: tuple[KnownRecipe, ...]
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
    wanted = {key for key, need in needs.items() if need.quantity > 0}
    recipes = _leading_to(wanted, _recipes(list(list_conversions(build).order_by("pk")), needs))
    useful = wanted | {known.recipe.source for known in recipes}
    found = get_open_offers(build, useful)
    made_of = {known.recipe.source for known in recipes}
    made_of |= {out.component for known in recipes for out in known.recipe.makes}
    unstated = sum(position.still_needed is None for position in positions.values())
    return SourcingInputs(
        problem=Problem(
            minor_units(build.currency),
            tuple(needs[key] for key in needs if key in wanted or key in made_of),
            found.offers,
            tuple(known.recipe for known in recipes),
        ),
        items=found.items,
        purchases=found.purchases,
        recipes=recipes,
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
    """Answer a question with the conversions allowed (by code), within some seconds."""
    end = time.monotonic_ns() + (SECONDS if seconds is None else seconds) * 10**9

    def left() -> Fraction:
        return Fraction(end - time.monotonic_ns(), 10**9)

    recipes = _leading_to(
        {need.component for need in inputs.problem.needs if need.quantity > 0},
        tuple(known for known in inputs.recipes if known.code in allowed),
    )
    serving = {known.recipe.source for known in recipes}
    serving |= {need.component for need in inputs.problem.needs if need.quantity > 0}
    touched = serving | {out.component for known in recipes for out in known.recipe.makes}
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
        recipes=tuple(known.recipe for known in recipes),
    )
    return answer(problem, question, left)


def _need(position: Position, pack: Pack | None, tax: Fraction) -> Need:
    part = position.component
    quantity = position.still_needed or ZERO
    spare = ZERO
    if part.wanted is not None and not quantity:
        beyond = position.usable_on_site + part.ordered - part.wanted
        spare = max(ZERO, min(part.on_hand, beyond))
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
        own = held or Pack(part.unit, ONE)
        size = ONE if comes_whole(own.unit) else step_of(quantity)
        base = own.size * size
        return New(base, base * part.bought_new, own.unit, size)
    if part.retail_price is None or not part.would_buy_new:
        return None
    if pack is None:
        pack = held or Pack(part.unit, ONE)
    size = ONE
    if not comes_whole(pack.unit):
        size = step_of(quantity * part.new_per_one)
    base = pack.size * size
    return New(base / part.new_per_one, base * part.retail_price * (1 + tax), pack.unit, size)


def step_of(quantity: Fraction) -> Fraction:
    """The smallest step in which a measured quantity is planned."""
    return ONE if quantity > FEW or not quantity else TENTH


def _recipes(conversions: list[Conversion], needs: dict[Key, Need]) -> tuple[KnownRecipe, ...]:
    """One recipe for each pair of source and outputs, with all its conversions together."""
    groups: dict[str, list[Conversion]] = defaultdict(list)
    for conversion in conversions:
        outputs = sorted(output.component_id for output in conversion.outputs.all())
        groups[f"{conversion.source_id}-{'+'.join(map(str, outputs))}"].append(conversion)
    return tuple(_recipe(code, done, needs) for code, done in groups.items())


def _recipe(code: str, done: list[Conversion], needs: dict[Key, Need]) -> KnownRecipe:
    source = needs[done[0].source_id]
    used = sum((Fraction(one.used_qty) for one in done), ZERO)
    made: dict[Key, Fraction] = defaultdict(Fraction)
    for one in done:
        for output in one.outputs.all():
            made[output.component_id] += Fraction(output.made_qty)
    step = ONE if is_counted(source.unit) else step_of(used)
    share = step / used
    recipe = Recipe(
        key=code,
        source=source.component,
        uses=step,
        makes=tuple(
            Made(key, quantity * share, is_counted(needs[key].unit))
            for key, quantity in made.items()
        ),
        extra=share * sum((Fraction(one.extra_cost_amount) for one in done), ZERO),
        hours=share * sum((Fraction(one.hours) for one in done), ZERO),
    )
    makes = tuple((needs[key].name, needs[key].unit) for key in made)
    return KnownRecipe(code, recipe, source.name, source.unit, makes, used / step)


def _leading_to(wanted: set[Key], recipes: tuple[KnownRecipe, ...]) -> tuple[KnownRecipe, ...]:
    """Those that make something wanted, or something another of them works up."""
    serves, kept = set(wanted), set()
    while True:
        more = {
            known.code
            for known in recipes
            if known.code not in kept and any(out.component in serves for out in known.recipe.makes)
        }
        if not more:
            return tuple(known for known in recipes if known.code in kept)
        kept |= more
        serves |= {known.recipe.source for known in recipes if known.code in more}
