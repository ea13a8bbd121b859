"""The usual cautions for what was logged: advice with its source, never clearance.

A caution blocks nothing and allows nothing. Where none comes up, that tells nothing about the
material: only what was ticked was looked at, against a short list of common points.
"""

from collections.abc import Iterable

from materials.calc.safety.conditions import carries_load, is_reused
from materials.calc.safety.rules import RULES
from materials.calc.safety.types import (
    DEFERRAL,
    TRAIT_LABELS,
    Caution,
    Item,
    Rule,
    Status,
    Trait,
)
from materials.calc.safety.words import guess_traits

__all__ = [
    "DEFERRAL",
    "TRAIT_LABELS",
    "Caution",
    "Item",
    "Rule",
    "Status",
    "Trait",
    "all_rules",
    "carries_load",
    "cautions_by_rule",
    "cautions_for",
    "guess_traits",
    "is_reused",
]


def all_rules() -> tuple[Rule, ...]:
    """Every rule with its caution and when it comes up, in the order of display."""
    return RULES


def cautions_for(item: Item) -> tuple[Caution, ...]:
    """The cautions that come up for one item, in the order of the rules."""
    return tuple(rule.caution for rule in RULES if rule.applies(item))


def cautions_by_rule(items: Iterable[Item]) -> tuple[tuple[Caution, tuple[Item, ...]], ...]:
    """Each caution once, with the items it came up for, in the order of the rules.

    For a whole build, where the same advice would otherwise stand beside every component.
    """
    every = tuple(items)
    found = ((rule.caution, tuple(filter(rule.applies, every))) for rule in RULES)
    return tuple((caution, concerned) for caution, concerned in found if concerned)
