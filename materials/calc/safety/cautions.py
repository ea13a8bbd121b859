"""The usual cautions for what was logged: advice with its source, never clearance.

A caution blocks nothing and allows nothing. Where none comes up, that tells nothing about the
material: only what was ticked was looked at, against a short list of common points.
"""

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from materials.calc.safety.conditions import carries_load, is_reused
from materials.calc.safety.past import tells_of_fire, tells_of_gasoline, tells_unused
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
from materials.calc.safety.words import guess_lasting, guess_traits

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
    "made_of",
    "with_words",
]

# What a thing was or did in its last place; what is made of it need not be or do the same.
_OF_ITS_PLACE: Final = frozenset(
    {
        Trait.LOAD_BEARING,
        Trait.WINDOW,
        Trait.ELECTRICAL,
        Trait.SOLAR,
        Trait.BATTERY,
        Trait.PLUMBING,
        Trait.DRINKING_WATER,
    }
)


def all_rules() -> tuple[Rule, ...]:
    """Every rule with its caution and when it comes up, in the order of display."""
    return RULES


def with_words(item: Item, *notes: str, places: Iterable[str] = ()) -> Item:
    """The item with what its name and notes, and the places it came from, tell of it.

    Its traits are those of the component; a note of one delivery adds only what stays in it.
    """
    said = [note for note in notes if note]
    traits = {trait for note in said for trait in guess_lasting(note)}
    if any(map(tells_of_gasoline, said)):
        traits.add(Trait.FUEL)
    said.append(item.name)
    return replace(
        item,
        traits=item.traits | traits,
        through_fire=item.through_fire or any(map(tells_of_fire, [*said, *places])),
        is_unused=item.is_unused or any(map(tells_unused, said)),
    )


def made_of(stock: Item, product: Item) -> Item:
    """What was made, with the past of the stock and all that stays in the material itself."""
    was_dismantled = stock.obtained_by == "dismantled"
    return replace(
        product,
        source=stock.source,
        # The building it was taken from is told of with the stock.
        obtained_by="" if was_dismantled else stock.obtained_by,
        traits=product.traits | stock.traits - _OF_ITS_PLACE,
        origin_year=stock.origin_year,
        through_fire=stock.through_fire or product.through_fire,
        is_unused=stock.is_unused,
    )


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
