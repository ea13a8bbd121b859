"""What one piece comes to in a plan: of what is taken, bought and made, as it flows together.

Money follows the material as in the ledger: the average of all that comes in goes into what is
made, and there it is shared by new price, else by quantity. What is on hand is worked up first:
it is paid for already and brings no money. So the money of a plan lies wholly on what is not
worked up.
"""

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from fractions import Fraction

from ..types import Key
from .cheapest import draw
from .costs import by_supplier, extra_cost, line_costs, new_cost, shared_haulage
from .types import ZERO, Offer, Plan, Problem, Recipe


@dataclass(slots=True)
class Pieces:
    """All of one component in a plan: how much comes in, its money, and what is worked up.

    ``hand``: of what is worked up, what is on hand already. ``made`` and ``made_money``: of what
    comes in, what is made. ``is_known``: no unknown cost went into it.
    """

    quantity: Fraction = ZERO
    money: Fraction = ZERO
    used: Fraction = ZERO
    hand: Fraction = ZERO
    made: Fraction = ZERO
    made_money: Fraction = ZERO
    is_known: bool = True

    @property
    def known_made(self) -> Fraction | None:
        """What one that is made comes to; None where that is not known."""
        return self.made_money / self.made if self.made and self.is_known else None

    @property
    def one(self) -> Fraction | None:
        """What one comes to as far as it is known, worked up if any is; None where none comes."""
        if self.used:
            each = self.money / self.quantity if self.quantity else ZERO
            return each * (self.used - self.hand) / self.used
        return self.money / self.quantity if self.quantity else None

    @property
    def left(self) -> Fraction:
        """Money on what is not worked up."""
        return self.money - self.used * (self.one or ZERO)


def piece_costs(problem: Problem, plan: Plan, unknown: Collection[Key] = ()) -> dict[Key, Pieces]:
    """What comes in of each component, and its money: exact, not rounded for a piece.

    ``unknown``: ways whose extra cost is not known.
    """
    pieces: dict[Key, Pieces] = defaultdict(Pieces)
    retail = {n.component: n.new.price / n.new.covers for n in problem.needs if n.new is not None}
    for offers in by_supplier(problem.offers).values():
        _take(problem, plan, offers, retail, pieces)
    for need in problem.needs:
        if (steps := plan.new.get(need.component, 0)) and need.new is not None:
            pieces[need.component].quantity += steps * need.new.covers
            pieces[need.component].money += Fraction(new_cost(need, steps, problem.places))
    drawn = draw(problem, plan)
    for recipe in problem.recipes:
        if recipe.key in drawn:
            pieces[recipe.source].hand += drawn[recipe.key].hand
            pieces[recipe.source].used += recipe.uses * plan.made[recipe.key]
    waiting = [recipe for recipe in problem.recipes if recipe.key in drawn]
    # Where they led back to each other, nothing could be said of one.
    return dict(pieces) if _make_all(problem, plan, waiting, retail, pieces, unknown) else {}


def _make_all(
    problem: Problem,
    plan: Plan,
    waiting: list[Recipe],
    retail: Mapping[Key, Fraction],
    pieces: dict[Key, Pieces],
    unknown: Collection[Key],
) -> bool:
    """Work them up, what is made of the others last; whether all could be."""
    while waiting:
        made = {out.component for recipe in waiting for out in recipe.makes}
        ready = [recipe for recipe in waiting if recipe.source not in made]
        if not ready:
            return False
        for recipe in ready:
            _make(problem, plan, recipe, retail, pieces)
            if recipe.key in unknown or not pieces[recipe.source].is_known:
                for out in recipe.makes:
                    pieces[out.component].is_known = False
        waiting = [recipe for recipe in waiting if recipe not in ready]
    return True


def _take(
    problem: Problem,
    plan: Plan,
    offers: list[Offer],
    retail: Mapping[Key, Fraction],
    pieces: dict[Key, Pieces],
) -> None:
    """What is taken on one journey; haulage that counts once is taken off all of it alike."""
    costs = [line_costs(offer, plan.takes, problem.places) for offer in offers]
    whole = sum((Fraction(cost) for each in costs for cost in each.values()), ZERO)
    shared = Fraction(shared_haulage(offers, plan.takes, problem.places))
    share = (whole - shared) / whole if whole else Fraction(1)
    for offer, each in zip(offers, costs, strict=True):
        for part in offer.parts:
            if part.key in each:
                steps = plan.takes[part.key]
                brought = {key: quantity * steps for key, quantity in part.brings}
                _share(Fraction(each[part.key]) * share, brought, retail, pieces)


def _make(
    problem: Problem,
    plan: Plan,
    recipe: Recipe,
    retail: Mapping[Key, Fraction],
    pieces: dict[Key, Pieces],
) -> None:
    steps = plan.made[recipe.key]
    source, used = pieces[recipe.source], recipe.uses * steps
    money = used * (source.one or ZERO) + Fraction(extra_cost(recipe, steps, problem.places))
    made: dict[Key, Fraction] = defaultdict(Fraction)
    for out in recipe.makes:
        made[out.component] += out.of(steps)
    for key, share in _share(money, made, retail, pieces).items():
        pieces[key].made += made[key]
        pieces[key].made_money += share


def _share(
    money: Fraction,
    brought: Mapping[Key, Fraction],
    retail: Mapping[Key, Fraction],
    pieces: dict[Key, Pieces],
) -> dict[Key, Fraction]:
    """Money to what it brought: by new price where each has one, else by quantity.

    Gives the share of each.
    """
    worth = {key: quantity * retail.get(key, ZERO) for key, quantity in brought.items()}
    weights = worth if all(worth.values()) else brought
    whole = sum(weights.values(), ZERO)
    shares = {
        key: money * weights[key] / whole if whole else money / len(brought) for key in brought
    }
    for key, quantity in brought.items():
        pieces[key].quantity += quantity
        pieces[key].money += shares[key]
    return shares
