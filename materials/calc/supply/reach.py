"""How much of what can be had without end is of any use: a narrow range is searched faster."""

import math
from collections.abc import Mapping
from fractions import Fraction

from ..types import Key
from .types import ZERO, Problem, Recipe

Tops = Mapping[Key, int | None]


def most_useful(problem: Problem) -> tuple[Tops, Tops]:
    """The most steps that serve at all: of each recipe, and of new material by component.

    None where conversions lead back to where they began, so that there is no such number.
    """
    reach = _Reach(problem)
    packs: dict[Key, int | None] = {}
    for need in problem.needs:
        if need.new is not None:
            amount = reach.wanted(need.component, frozenset())
            packs[need.component] = None if amount is None else math.ceil(amount / need.new.covers)
    return {recipe.key: reach.steps(recipe, frozenset()) for recipe in problem.recipes}, packs


class _Reach:
    """Follows conversions from what they make; ``below`` holds those on the way here."""

    def __init__(self, problem: Problem):
        self.recipes = problem.recipes
        self.needs = {need.component: need for need in problem.needs}
        self._steps: dict[Key, int | None] = {}

    def wanted(self, component: Key, below: frozenset[Key]) -> Fraction | None:
        """The most of a component that is of use."""
        need = self.needs.get(component)
        whole = ZERO if need is None else max(ZERO, need.quantity - need.spare)
        for recipe in self.recipes:
            if recipe.source == component:
                top = self.steps(recipe, below)
                if top is None:
                    return None
                whole += top * recipe.uses
        return whole

    def steps(self, recipe: Recipe, below: frozenset[Key]) -> int | None:
        """How often a recipe is of use."""
        if recipe.key in below:
            return None
        if recipe.key not in self._steps:
            most = 0
            for out in recipe.makes:
                amount = self.wanted(out.component, below | {recipe.key})
                if amount is None:
                    return None
                if amount > 0:
                    amount = Fraction(math.ceil(amount)) if out.is_counted else amount
                    most = max(most, math.ceil(amount / out.quantity))
            self._steps[recipe.key] = most
        return self._steps[recipe.key]
