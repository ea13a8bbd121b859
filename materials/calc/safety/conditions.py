"""When a caution comes up: plain questions about one item."""

from fractions import Fraction
from typing import Final

from materials.calc import uniformat
from materials.calc.safety.types import Item
from materials.calc.safety.types import Trait as T

ROOM_LIMIT_GAL: Final = Fraction(25)
LAST_YEAR_OF_LEAD: Final = 1977
LAST_YEAR_OF_ASBESTOS: Final = 1980
_RETAIL: Final = "retail"
_SECONDS: Final = "seconds"
# Ways of getting seconds that were never built in anywhere.
_NEVER_USED: Final = frozenset({"factory seconds", "mis-tint", "overstock", "new"})
_IN_USE_BEFORE: Final = frozenset({"second-hand", "dismantled"})
_CARRYING_ELEMENTS: Final = ("A10", "B10")
_CARRYING_NAMES: Final = (
    "foundation",
    "framing",
    "superstructure",
    "load-bearing",
    "load bearing",
    "bearing wall",
    "exterior wall",
    "outside wall",
)
_NOT_CARRYING_NAMES: Final = ("non-bearing", "nonbearing", "non-load", "non load", "not load")
_WASTE_LINES: Final = ("D2030", "D2040", "G3020", "G3030")


def _word(text: str) -> str:
    return text.strip().lower()


def is_reused(item: Item) -> bool:
    """Whether it may have been in use before: new retail and never-used seconds were not."""
    source = _word(item.source)
    if source == _SECONDS:
        obtained_by = _word(item.obtained_by)
        said = item.is_unused and obtained_by not in _IN_USE_BEFORE
        return not said and obtained_by not in _NEVER_USED
    return source != _RETAIL


def may_be_from(item: Item, last_year: int) -> bool:
    """Reused, or stated old; from a building of that year or earlier, or of unknown age."""
    if _word(item.source) == _RETAIL:
        return False
    if item.origin_year is None:
        return is_reused(item)
    return item.origin_year <= last_year


def carries_load(item: Item) -> bool:
    """In foundations or superstructure by the element's code, ticked, or in the element's name."""
    code = item.element_code.strip().upper()
    if T.LOAD_BEARING in item.traits or code.startswith(_CARRYING_ELEMENTS):
        return True
    name = item.element_name.lower()
    if uniformat.name_of(code) is not None or any(word in name for word in _NOT_CARRYING_NAMES):
        return False
    return any(word in name for word in _CARRYING_NAMES)


def is_paint_unknown(item: Item) -> bool:
    """A board, door or the like, perhaps from the years of lead, said neither painted nor bare."""
    said = {T.PAINTED, T.UNPAINTED} & item.traits
    return T.FINISH in item.traits and not said and may_be_from(item, LAST_YEAR_OF_LEAD)


def needs_grade(item: Item) -> bool:
    """Lumber that carries load and is not known to be graded."""
    in_doubt = _word(item.source) != _RETAIL or T.UNGRADED in item.traits
    return T.LUMBER in item.traits and in_doubt and carries_load(item)


def is_taken_down(item: Item) -> bool:
    """Dismantled, or used where a building is taken down."""
    dismantled = _word(item.obtained_by) == "dismantled"
    in_demolition = item.element_code.strip().upper().startswith("F20")
    return _word(item.source) != _RETAIL and (dismantled or in_demolition)


def is_old_lagging(item: Item) -> bool:
    """Insulation other than foam, or flooring, from the years of asbestos or of unknown age."""
    insulates = T.INSULATION in item.traits and T.FOAM not in item.traits
    return (insulates or T.FLOORING in item.traits) and may_be_from(item, LAST_YEAR_OF_ASBESTOS)


def feeds_taps(item: Item) -> bool:
    """Used plumbing that people might drink from."""
    if T.DRINKING_WATER in item.traits:
        return is_reused(item)
    drains = item.element_code.strip().upper().startswith(_WASTE_LINES)
    return T.PLUMBING in item.traits and not drains and is_reused(item)


def is_flammable(item: Item) -> bool:
    """A solvent or a fuel."""
    return T.SOLVENT in item.traits or T.FUEL in item.traits


def is_over_limit(item: Item) -> bool:
    """More of it than may stand in a room outside a cabinet."""
    quantity = item.quantity_gal
    return is_flammable(item) and quantity is not None and quantity > ROOM_LIMIT_GAL
