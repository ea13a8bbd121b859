"""The cheapest plan of getting and making against trying everything, by an arithmetic of its own.

Half up to the minor unit is the rule of ``DEVELOPERS.md``; the trial rounds in whole numbers.
"""

import random
from fractions import Fraction
from itertools import product

import pytest

from materials.calc.supply import cheapest
from materials.calc.supply.cheapest import draw, find_cheapest
from materials.calc.supply.types import Made, Need, New, Problem, Recipe

F = Fraction
LEFT = 60
# For so many ways: the most that is needed of each thing, and the most steps that can serve.
MOST = {1: (5, 15), 2: (5, 10), 3: (3, 9)}


def left() -> Fraction:
    return F(LEFT)


def cents(amount: Fraction) -> int:
    """Half up."""
    return int((amount * 100 + F(1, 2)) // 1)


def supply_of(problem: Problem, steps: tuple[int, ...]) -> dict[str, Fraction]:
    """What there is of each component beyond its need; below 0 where some has to be got."""
    there = {need.component: need.spare - need.quantity for need in problem.needs}
    for recipe, count in zip(problem.recipes, steps, strict=True):
        there[recipe.source] -= recipe.uses * count
        for out in recipe.makes:
            got = out.quantity * count
            there[out.component] += got // 1 if out.is_counted else got
    return there


def try_all(problem: Problem, most: int) -> tuple[int, int]:
    """Fewest missing, and the least cents with that, over all counts of steps up to ``most``."""
    best = None
    for steps in product(range(most + 1), repeat=len(problem.recipes)):
        there, money, missing = supply_of(problem, steps), 0, 0
        for recipe, count in zip(problem.recipes, steps, strict=True):
            money += cents(recipe.extra * count)
        for need in problem.needs:
            short = max(F(0), -there[need.component])
            if need.new is not None:
                money += cents(-(-short // need.new.covers) * need.new.price)
            elif short and need.quantity:
                # All that is worked up of it has to be there; only what is needed may be missing.
                missing += -(-short // 1)
            elif short:
                missing = None
                break
        if missing is not None:
            best = min(best or (missing, money), (missing, money))
    assert best is not None
    return best


def a_problem(seed: int) -> tuple[Problem, int]:
    """A chain or a fan of up to four components: all that is needed is made of something else."""
    chance = random.Random(seed)
    names = ["log", "board", "batten", "peg"][: chance.choice((2, 3, 3, 4))]
    ways = [(a, b) for at, a in enumerate(names) for b in names[at + 1 :]]
    chance.shuffle(ways)
    ways = ways[: chance.choice((1, 2, 2, 3))]
    recipes = []
    for source, made in sorted(ways):
        # Below one only where no other way adds to what is tried.
        least, parts = (1 if len(ways) == 1 else 3), chance.choice((1, 1, 2, 3))
        quantity = F(chance.randint(max(least, parts if least > 1 else 1), 14), parts)
        makes = [Made(made, quantity, True)]
        others = [n for n in names[names.index(source) + 1 :] if n != made]
        if others and chance.random() < 0.2:
            makes.append(Made(chance.choice(others), F(chance.randint(1, 3)), True))
        extra, hours = F(chance.randint(0, 90), 100), F(chance.randint(0, 4), 4)
        recipes.append(Recipe(f"{source}-{made}", source, F(1), tuple(makes), extra, hours))
    sources = {recipe.source for recipe in recipes}
    needs = []
    for name in names:
        wanted = (
            chance.randint(1, MOST[len(ways)][0])
            if name not in sources or chance.random() < 0.25
            else 0
        )
        spare = 0 if wanted else chance.randint(0, 3)
        price = F(chance.randint(20, 700), 100) * F(27, 25)
        is_sold = name == names[0] or chance.random() < 0.6
        new = New(F(chance.choice((1, 1, 1, 4))), price, "piece") if is_sold else None
        needs.append(Need(name, name, "piece", F(wanted), new, F(spare)))
    return Problem(2, tuple(needs), recipes=tuple(recipes)), MOST[len(ways)][1]


def money_of(problem: Problem) -> tuple[int, int]:
    """Missing and cents of the plan found, with what no way has to do with got as it is."""
    found = find_cheapest(problem, left)
    money = cents(found.plan.money)
    for need in problem.needs:
        if need.component in found.touched or not need.quantity:
            continue
        assert need.new is not None or need.component not in found.missing
        if need.new is not None:
            money += cents(-(-need.quantity // need.new.covers) * need.new.price)
        else:
            found.missing[need.component] = need.quantity
    return int(sum(found.missing.values(), F(0))), money


@pytest.mark.parametrize("block", range(20))
def test_as_cheap_as_trying_everything(block):
    for seed in range(block * 30, block * 30 + 30):
        problem, most = a_problem(seed)
        assert money_of(problem) == try_all(problem, most), seed


def test_a_chain_that_starts_on_hand_and_goes_on_in_the_shop():
    # 2 logs on hand give 3 boards each; a board rips into 4 battens. 30 battens take 8 boards,
    # so 2 are got for 1.62 each, and ripping 8 at 0.10 comes to 0.80: 4.04, where 30 new
    # battens at 1.08 would be 32.40.
    log = Need("log", "Log", "piece", F(0), None, F(2))
    board = Need("board", "Board", "piece", F(0), New(F(1), F("1.62"), "piece"))
    batten = Need("batten", "Batten", "piece", F(30), New(F(1), F("1.08"), "piece"))
    saw = Recipe("saw", "log", F(1), (Made("board", F(3), True),))
    rip = Recipe("rip", "board", F(1), (Made("batten", F(4), True),), F("0.10"))
    problem = Problem(2, (log, board, batten), recipes=(saw, rip))
    found = find_cheapest(problem, left)
    assert found.plan.money == F("4.04")
    assert found.plan.made == {"saw": 2, "rip": 8}
    assert found.plan.new == {"board": 2}
    drawn = draw(problem, found.plan)
    assert (drawn["saw"].hand, drawn["saw"].made, drawn["saw"].got) == (2, 0, 0)
    assert (drawn["rip"].hand, drawn["rip"].made, drawn["rip"].got) == (0, 6, 2)


def test_what_nothing_sells_is_made_as_far_as_it_goes():
    board = Need("board", "Board", "piece", F(0), None, F(12))
    batten = Need("batten", "Batten", "piece", F(30))
    rip = Recipe("rip", "board", F(1), (Made("batten", F(7, 3), True),))
    found = find_cheapest(Problem(2, (board, batten), recipes=(rip,)), left)
    # 12 × 7 ÷ 3 are 28.
    assert found.plan.made == {"rip": 12}
    assert found.missing == {"batten": 2}
    assert found.plan.new == {}


def test_what_no_way_has_to_do_with_is_left_alone():
    lime = Need("lime", "Lime", "piece", F(3), New(F(1), F(9), "piece"))
    found = find_cheapest(Problem(2, (lime,)), left)
    assert (found.touched, found.plan.new, found.plan.money) == (frozenset(), {}, 0)


def test_what_is_not_found_in_time_is_left_out_and_said(monkeypatch):
    problem, _ = a_problem(1)
    found = find_cheapest(problem, lambda: F(0))
    assert (found.is_late, found.touched, found.plan.made) == (True, frozenset(), {})
    monkeypatch.setattr(cheapest, "MOST", 0)
    assert find_cheapest(problem, left).is_late
