"""How much of what can be had without end is of any use: a narrow range is searched faster."""

import math
from collections.abc import Mapping
from fractions import Fraction

from ...calc.types import Key
from .types import ZERO, Problem, Recipe

Tops = Mapping[Key, int | None]


def most_useful(problem: Problem) -> tuple[Tops, Tops]:
    """The most steps that serve at all: of each recipe, and of new material by component.

    None where conversions lead back to where they began, so that there is no such number.
    """
    needs = {need.component: need for need in problem.needs}
    runs: dict[Key, int | None] = {}

    def wanted(component: Key, below: frozenset[Key]) -> Fraction | None:
        need = needs.get(component)
        whole = ZERO if need is None else max(ZERO, need.quantity - need.spare)
        for recipe in problem.recipes:
            if recipe.source == component:
                top = steps(recipe, below)
                if top is None:
                    return None
                whole += top * recipe.uses
        return whole

    def steps(recipe: Recipe, below: frozenset[Key]) -> int | None:
        if recipe.key in below:
            return None
        if recipe.key not in runs:
            most = 0
            for out in recipe.makes:
                amount = wanted(out.component, below | {recipe.key})
                if amount is None:
                    return None
                if amount > 0:
                    amount = Fraction(math.ceil(amount)) if out.is_counted else amount
                    most = max(most, math.ceil(amount / out.quantity))
            runs[recipe.key] = most
        return runs[recipe.key]

    packs: dict[Key, int | None] = {}
    for need in problem.needs:
        if need.new is not None:
            amount = wanted(need.component, frozenset())
            packs[need.component] = None if amount is None else math.ceil(amount / need.new.does)
    return {recipe.key: steps(recipe, frozenset()) for recipe in problem.recipes}, packs
