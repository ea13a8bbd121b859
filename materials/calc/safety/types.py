"""What the usual cautions are made of: traits in trade words, the item looked at, the caution."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

DEFERRAL: Final = "Check your local code; ask a licensed professional."


class Trait(StrEnum):
    """What a builder can tick about a component. The value is what is stored."""

    LUMBER = "lumber"
    LOAD_BEARING = "load-bearing"
    UNGRADED = "ungraded"
    PAINTED = "painted"
    WINDOW = "window"
    TREATED = "treated"
    POLE_OR_TIE = "pole or tie"
    FOAM = "foam"
    SPRAY_FOAM = "spray foam"
    INSULATION = "insulation"
    FLOORING = "flooring"
    MASONRY = "masonry"
    ELECTRICAL = "electrical"
    SOLAR = "solar"
    BATTERY = "battery"
    PLUMBING = "plumbing"
    DRINKING_WATER = "drinking water"
    SOLVENT = "solvent"
    FUEL = "fuel"
    FINISH = "finish"
    UNPAINTED = "unpainted"
    CEMENT_OR_CEILING = "cement or ceiling"
    LEAD = "lead"


TRAIT_LABELS: Final[dict[Trait, str]] = {
    Trait.LUMBER: "Sawn lumber",
    Trait.LOAD_BEARING: "Carries load",
    Trait.UNGRADED: "Lumber without a grade stamp",
    Trait.PAINTED: "Painted",
    Trait.WINDOW: "Window or sash",
    Trait.TREATED: "Treated wood",
    Trait.POLE_OR_TIE: "Pole or railroad tie",
    Trait.FOAM: "Plastic foam",
    Trait.SPRAY_FOAM: "Spray foam",
    Trait.INSULATION: "Insulation or pipe lagging",
    Trait.FLOORING: "Vinyl, linoleum or asphalt flooring",
    Trait.MASONRY: "Block, brick or concrete",
    Trait.ELECTRICAL: "Electrical gear",
    Trait.SOLAR: "Solar modules",
    Trait.BATTERY: "Batteries",
    Trait.PLUMBING: "Plumbing parts",
    Trait.DRINKING_WATER: "Carries drinking water",
    Trait.SOLVENT: "Thinner or solvent",
    Trait.FUEL: "Gasoline or other liquid fuel",
    Trait.FINISH: "Board, siding, door or trim",
    Trait.UNPAINTED: "Bare, never painted",
    Trait.CEMENT_OR_CEILING: "Cement siding, ceiling tile or sprayed texture",
    Trait.LEAD: "Lead sheet, pipe or flashing",
}


class Status(StrEnum):
    """How well a source is known."""

    PRIMARY = "read in the primary text"
    REPRINTED = "as reprinted"
    MEMORY = "from memory"


@dataclass(frozen=True, slots=True)
class Item:
    """A component as it was logged, from one source.

    ``origin_year`` is when what it came from was built; None is not known, and counts as old.
    An empty ``source`` is not known either, and counts as reused. ``quantity_gal`` is for liquids.
    Only ``traits`` say what it is made of, and only ``through_fire`` and ``is_unused`` what became
    of it: names, notes and places are read by ``with_words``.
    """

    name: str
    element_code: str = ""
    element_name: str = ""
    source: str = ""
    obtained_by: str = ""
    traits: frozenset[Trait] = frozenset()
    origin_year: int | None = None
    through_fire: bool = False
    note: str = ""
    quantity_gal: Fraction | None = None
    is_unused: bool = False


@dataclass(frozen=True, slots=True)
class Caution:
    """Advice with its source; the text ends by sending the reader to code and professional.

    ``dated``: the edition, for people to look it up. ``status`` and ``read``: how it was read, for
    code and tests only.

    ``is_general``: it says the same of a whole build, whatever a thing is, so that it stands
    below what is said of one thing and takes less room.
    """

    code: str
    title: str
    text: str
    source: str
    status: str
    dated: str
    is_general: bool = False
    read: str = ""


@dataclass(frozen=True, slots=True)
class Rule:
    """A caution, when it comes up in words for a help page, and the test itself."""

    caution: Caution
    when: str
    applies: Callable[[Item], bool]


def rule(
    code: str,
    title: str,
    text: str,
    *,
    source: str,
    status: Status,
    dated: str,
    when: str,
    applies: Callable[[Item], bool],
    is_general: bool = False,
    read: str = "",
) -> Rule:
    """A rule whose text ends, as all do, by sending the reader to code and professional."""
    return Rule(
        Caution(code, title, f"{text} {DEFERRAL}", source, status, dated, is_general, read),
        when=when,
        applies=applies,
    )
