"""What a cubic yard of loose material weighs, as published; sources differ, so each is kept.

These are figures for material thrown in a heap or a container, not for a solid board or block.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from ..units import UNITS, Unit

LB: Final[Unit] = UNITS["lb"]
CUBIC_YARD: Final[Unit] = UNITS["cu yd"]


@dataclass(frozen=True, slots=True)
class LoadWeight:
    """Pounds for one cubic yard, and who says so."""

    pounds: int
    source: str


@dataclass(frozen=True, slots=True)
class Load:
    """One kind of loose material."""

    label: str
    weights: tuple[LoadWeight, ...]


# All of these as reprinted by others.
_GUIDE = "USGBC LEED reference guide, 2009, waste table"
_HOMES = "NAHB residential waste study, 1995"
_STATE = "California integrated waste board, construction and demolition table"
_EPA = "EPA, Measuring Recycling, 1997, appendix B"

# Not a load: the builder says that it would never have been thrown away.
NOT_WASTE: Final = "not waste"

LOADS: Final[dict[str, Load]] = {
    "mixed": Load("mixed construction debris", (LoadWeight(350, _GUIDE), LoadWeight(95, _HOMES))),
    "wood": Load(
        "wood, loose",
        (LoadWeight(300, _GUIDE), LoadWeight(267, _HOMES), LoadWeight(400, _STATE)),
    ),
    "pallets": Load("wood pallets, loose", (LoadWeight(286, _EPA),)),
    "engineered wood": Load("plywood and other engineered wood", (LoadWeight(280, _HOMES),)),
    "drywall": Load("drywall", (LoadWeight(500, _GUIDE), LoadWeight(400, _HOMES))),
    "masonry": Load("masonry and rubble", (LoadWeight(1400, _GUIDE), LoadWeight(1000, _HOMES))),
    "broken concrete": Load("concrete or asphalt, broken", (LoadWeight(2400, _STATE),)),
    "gravel": Load("gravel", (LoadWeight(2600, _STATE),)),
    "earth": Load("earth, loose and dry", (LoadWeight(2100, _STATE),)),
    "cardboard": Load("cardboard", (LoadWeight(100, _GUIDE), LoadWeight(30, _HOMES))),
}


def pounds_of(kind: str, cubic_yards: Fraction) -> tuple[Fraction, Fraction]:
    """Lowest and highest published weight of so many loose cubic yards, in pounds.

    Raises KeyError for a kind that is not in LOADS.
    """
    weights = [weight.pounds for weight in LOADS[kind].weights]
    return min(weights) * cubic_yards, max(weights) * cubic_yards
