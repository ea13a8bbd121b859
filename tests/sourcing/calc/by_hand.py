"""Sourcing plans found by looking at every one of them, costed by the ledger's own engine."""

import math
import random
from collections import defaultdict
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache
from itertools import product

from materials.calc.costing import cost_purchase
from materials.calc.money import round_half_up
from materials.calc.supply.costs import (
    by_supplier,
    extra_cost,
    landed_cost,
    new_cost,
    shared_haulage,
)
from materials.calc.supply.types import (
    Aim,
    Made,
    Need,
    New,
    Offer,
    Part,
    Plan,
    Problem,
    Question,
    Recipe,
)
from materials.calc.types import ChargeInput, LineInput, PercentOn, PurchaseInput

PLACES = 2


def landed(offer: Offer, takes: dict) -> Fraction | None:
    """Landed cost of what is taken, as a purchase of its own; None where it may not be."""
    return _landed(offer, tuple(takes.get(part.key, 0) for part in offer.parts))


@lru_cache(maxsize=20000)
def _landed(offer: Offer, counts: tuple[int, ...]) -> Fraction | None:
    lines = []
    for part, steps in zip(offer.parts, counts, strict=True):
        if steps:
            price, units = part.price_of(steps), part.units * steps
            lines.append(LineInput(part.key, Fraction(steps), unit_price=price, priced_units=units))
    if not lines:
        return Fraction(0)
    cost = cost_purchase(PurchaseInput(PLACES, tuple(lines), offer.charges))
    so_far = cost.price
    for charge in cost.charges:
        so_far += charge.amount
        if charge.amount < 0 and so_far < 0:
            return None
    return Fraction(cost.total)


def haulage(offer: Offer) -> Fraction:
    return sum((Fraction(c.amount) for c in offer.charges if c.kind == "haulage"), Fraction(0))


def money_of(problem: Problem, takes: dict, new: dict, made: dict) -> Fraction | None:
    """What a plan costs, from nothing but what it takes, buys and makes."""
    whole = Fraction(0)
    trips = defaultdict(list)
    for offer in problem.offers:
        cost = landed(offer, takes)
        if cost is None:
            return None
        whole += cost
        if any(takes.get(part.key) for part in offer.parts) and offer.supplier is not None:
            trips[offer.supplier].append(haulage(offer))
    whole -= sum((sum(trip) - max(trip) for trip in trips.values()), Fraction(0))
    for need in problem.needs:
        if new.get(need.component):
            whole += Fraction(round_half_up(new[need.component] * need.new.price, PLACES))
    for recipe in problem.recipes:
        whole += Fraction(round_half_up(made.get(recipe.key, 0) * recipe.extra, PLACES))
    return whole


def hours_of(problem: Problem, takes: dict, made: dict) -> Fraction:
    hours = sum((made.get(r.key, 0) * r.hours for r in problem.recipes), Fraction(0))
    for offer in problem.offers:
        if any(takes.get(part.key) for part in offer.parts):
            hours += offer.hours
    return hours


def supply_of(problem: Problem, takes: dict, made: dict) -> dict:
    supply = defaultdict(Fraction)
    for offer in problem.offers:
        for part in offer.parts:
            for component, quantity in part.brings:
                supply[component] += quantity * takes.get(part.key, 0)
    for recipe in problem.recipes:
        steps = made.get(recipe.key, 0)
        supply[recipe.source] -= steps * recipe.uses
        for out in recipe.makes:
            got = steps * out.quantity
            supply[out.component] += math.floor(got) if out.is_counted else got
    return supply


def all_plans(problem: Problem):
    """(money, hours) of every plan that could be best."""
    parts = [part for offer in problem.offers for part in offer.parts]
    wanted = {need.component: need.quantity for need in problem.needs}
    most = []
    for recipe in problem.recipes:
        per = [
            -(-wanted[out.component] // out.quantity) + 1
            for out in recipe.makes
            if wanted[out.component] > 0
        ]
        most.append(int(max(per, default=0)))
    for counts in product(*(range(part.most + 1) for part in parts)):
        takes = {part.key: n for part, n in zip(parts, counts, strict=True) if n}
        for runs in product(*(range(top + 1) for top in most)):
            made = {r.key: n for r, n in zip(problem.recipes, runs, strict=True) if n}
            supply = supply_of(problem, takes, made)
            new = {}
            for need in problem.needs:
                short = need.quantity - need.spare - supply[need.component]
                if short > 0:
                    if need.new is None:
                        break
                    new[need.component] = -(-short // need.new.covers)
            else:
                money = money_of(problem, takes, new, made)
                if money is not None:
                    yield money, hours_of(problem, takes, made)


def best_of(plans, question: Question):
    """What the best plan comes to; None where no plan keeps the limits."""
    kept = [
        (money, hours)
        for money, hours in plans
        if (question.most_money is None or money <= question.most_money)
        and (question.most_hours is None or hours <= question.most_hours)
    ]
    if not kept:
        return None
    if question.aim is Aim.HOURS:
        return min(hours for _, hours in kept)
    rate = Fraction(question.rate) if question.aim is Aim.BOTH else Fraction(0)
    return min(money + rate * hours for money, hours in kept)


def frontier_of(plans) -> list:
    """(money, hours) of which none is beaten in both, least money first."""
    frontier: list = []
    for money, hours in sorted(set(plans)):
        if not frontier or hours < frontier[-1][1]:
            frontier.append((money, hours))
    return frontier


def holds(problem: Problem, plan: Plan) -> None:
    """The plan is what it says: it meets the needs, and its figures follow from what it takes."""
    assert plan.money == money_of(problem, plan.takes, plan.new, plan.made)
    assert plan.hours == hours_of(problem, plan.takes, plan.made)
    supply = supply_of(problem, plan.takes, plan.made)
    for need in problem.needs:
        got = supply[need.component]
        if need.component in plan.new:
            got += plan.new[need.component] * need.new.covers
        assert got + need.spare >= need.quantity, need
        # What is on hand is worked up first, so more than needed is what comes in beside it.
        used = sum(
            steps * recipe.uses
            for recipe in problem.recipes
            if recipe.source == need.component and (steps := plan.made.get(recipe.key, 0))
        )
        beyond = max(0, min(got + used, got + need.spare - need.quantity))
        assert plan.over.get(need.component, 0) == beyond


def chance_problem(seed: int) -> Problem:
    """A small problem with every feature somewhere."""
    chance = random.Random(seed)
    names = "ABC"[: chance.randint(2, 3)]
    needs = [_chance_need(chance, name) for name in names]
    offers = []
    left = 4
    for number in range(chance.randint(1, 3)):
        parts = []
        for which in range(chance.randint(1, min(2, max(1, left)))):
            left -= 1
            parts.append(_chance_part(chance, (number, which), names))
        charges = _chance_charges(chance)
        hours = Fraction(chance.randint(0, 16), 4)
        supplier = chance.choice((None, "yard", "yard"))
        offers.append(Offer(number, tuple(parts), charges, hours, supplier))
    recipes = [_chance_recipe(chance, names)] if chance.random() < 0.6 else []
    return Problem(PLACES, tuple(needs), tuple(offers), tuple(recipes))


def _money(chance: random.Random, most: int, fine: int = 100) -> Fraction:
    return Fraction(chance.randint(0, most * fine), fine)


def _chance_need(chance: random.Random, name: str) -> Need:
    new = None
    if chance.random() < 0.9:
        does = Fraction(chance.choice((1, 1, 2, 5)), chance.choice((1, 1, 4)))
        new = New(does, _money(chance, 30) * Fraction(427, 400), "piece")
    spare = Fraction(chance.choice((0, 0, 0, 2)))
    quantity = Fraction(chance.randint(0, 28), chance.choice((1, 1, 4))) if not spare else 0
    return Need(name, name, "piece", Fraction(quantity), new, spare)


def _chance_part(chance: random.Random, key: tuple[int, int], names: str) -> Part:
    if chance.random() < 0.5:
        brings = tuple(
            (name, Fraction(chance.randint(1, 12) * chance.choice((80, 100)), 100))
            for name in sorted(chance.sample(names, chance.randint(1, 2)))
        )
        return Part(key, brings, ((1, _money(chance, 90)),))
    most = chance.randint(1, 3)
    price = _money(chance, 12, chance.choice((100, 1000)))
    tiers = [(1, price)]
    if most > 1 and chance.random() < 0.6:
        tiers.append((2, price * Fraction(chance.randint(5, 9), 10)))
    share = Fraction(chance.choice((50, 85, 100)), 100)
    units = Fraction(chance.choice((1, 2, 5)), chance.choice((1, 2)))
    brings = ((chance.choice(names), units * share),)
    return Part(key, brings, tuple(tiers), units, most)


def _chance_charges(chance: random.Random) -> tuple[ChargeInput, ...]:
    charges = []
    if chance.random() < 0.3:
        charges.append(ChargeInput(0, "buyer's premium", percent=Decimal("12.5")))
    if chance.random() < 0.6:
        charges.append(ChargeInput(1, "haulage", amount=Decimal(chance.randint(0, 4000)) / 100))
    if chance.random() < 0.5:
        on = chance.choice(list(PercentOn))
        charges.append(ChargeInput(2, "sales tax", percent=Decimal("6.75"), percent_on=on))
    if chance.random() < 0.3:
        charges.append(ChargeInput(3, "deposit", amount=Decimal(chance.randint(-20, 20))))
    if chance.random() < 0.2:
        charges.append(ChargeInput(4, "discount", percent=Decimal(7)))
    return tuple(charges)


def _chance_recipe(chance: random.Random, names: str) -> Recipe:
    source, *others = chance.sample(names, len(names))
    makes = [Made(others[0], Fraction(chance.randint(1, 9), chance.choice((1, 2))), True)]
    if len(others) > 1 and chance.random() < 0.4:
        makes.append(Made(others[1], Fraction(chance.randint(1, 9), 4)))
    extra = _money(chance, 3, 1000)
    hours = Fraction(chance.randint(0, 5), 4)
    return Recipe("rip", source, Fraction(1), tuple(makes), extra, hours)


def money_of_pieces(problem: Problem, plan: Plan) -> Decimal:
    """All of a plan, summed from the pieces that its page shows."""
    places, takes = problem.places, plan.takes
    whole = sum(landed_cost(offer, takes, places) for offer in problem.offers)
    for offers in by_supplier(problem.offers).values():
        whole -= shared_haulage(offers, takes, places)
    whole += sum(new_cost(n, plan.new.get(n.component, 0), places) for n in problem.needs)
    return whole + sum(extra_cost(r, plan.made.get(r.key, 0), places) for r in problem.recipes)
