"""What kind of material a component is: stated, or guessed from its unit, contents and name.

The kind decides how a doubtful quantity is read first (``readings``), what its contents are asked
for and what its price is compared by (``kind_sense``). No cost rests on it. A guess says what it
rests on, and whoever knows better states the kind. The words are those of trade usage (common
practice, no published source).
"""

import re
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from typing import Final

from .contents import Contents, parse_contents
from .lumber import LumberError, NominalSize
from .measures import QuantityError
from .units import UNITS, Dimension, Unit


class Kind(StrEnum):
    """Kinds of material that are written down, priced and compared each in their own way."""

    LUMBER = "lumber"
    SHEET = "sheet"
    BLOCK = "block"
    LOOSE = "loose"
    LIQUID = "liquid"
    PIPE = "pipe"
    ELECTRICAL = "electrical"
    FASTENER = "fastener"
    COVERING = "covering"
    OTHER = "other"


@dataclass(frozen=True, slots=True)
class Known:
    """A kind and where it is known from. ``because``: what a guess rests on, to follow “by”.

    Empty ``because``: it was stated. ``kind`` None: nothing tells.
    """

    kind: Kind | None
    because: str = ""

    @property
    def is_guess(self) -> bool:
        """Whether nobody stated it."""
        return bool(self.because)


_WORDS: Final = {
    Kind.SHEET: "sheet plywood ply osb drywall sheetrock plasterboard wallboard hardboard chipboard"
    " mdf foam polyiso styrofoam xps eps masonite sheathing roofing tin corrugated"
    " polycarbonate plexiglass plexi acrylic beadboard",
    Kind.BLOCK: "block cmu brick paver adobe cinderblock cobble stone flagstone bale",
    Kind.LOOSE: "gravel sand earth soil topsoil dirt fill mulch compost clay concrete readymix"
    " readymixed aggregate roadbase crusher rubble cinder pumice perlite vermiculite scoria"
    " shavings sawdust manure cement lime mortar grout plaster",
    Kind.LIQUID: "paint primer stain varnish oil sealer sealant solvent turpentine thinner glue"
    " adhesive lacquer shellac caulk whitewash limewash wash water diesel creosote epoxy resin",
    Kind.LUMBER: "lumber timber board plank stud joist rafter beam post purlin girt batten lath"
    " slat decking siding pine fir oak cedar hemlock spruce larch maple ash"
    " redwood hardwood softwood sleeper sill trim flooring clapboard cant",
    Kind.PIPE: "pipe conduit tubing hose culvert gutter downspout drainpipe stovepipe ductwork",
    Kind.ELECTRICAL: "panel battery inverter controller module cable",
    # Hardware is counted or weighed, whatever it fastens.
    Kind.FASTENER: "screw nail bolt tie hanger anchor bracket washer hinge staple rivet strap nut",
    Kind.COVERING: "shingle shake tile underlayment membrane felt tarpaper housewrap carpet"
    " linoleum wallpaper insulation batt canvas burlap fleece",
    Kind.OTHER: "bit blade brush roller tape saw door window rack mixer pump tool sink tub stove"
    " light lamp fan bag",
}  # fmt: skip
_KINDS: Final[dict[str, Kind]] = {
    word: kind for kind, words in _WORDS.items() for word in words.split()
}
# Two words that mean another thing together.
_PHRASES: Final[dict[str, Kind]] = {
    **{f"{word} board": Kind.SHEET for word in (
        "foam cement gypsum insulation particle wall backer plaster fibre fiber peg ceiling osb"
    ).split()},
    "roof panel": Kind.SHEET, "metal panel": Kind.SHEET, "steel panel": Kind.SHEET,
    "wall panel": Kind.SHEET, "door panel": Kind.OTHER, "electrical panel": Kind.OTHER,
    "paving stone": Kind.BLOCK, "crushed stone": Kind.LOOSE, "road base": Kind.LOOSE,
    "stone dust": Kind.LOOSE, "concrete mix": Kind.LOOSE,
    "roof sheathing": Kind.SHEET, "foam insulation": Kind.SHEET, "rigid insulation": Kind.SHEET,
    "loose insulation": Kind.LOOSE, "pipe insulation": Kind.PIPE,
    "carpet flooring": Kind.COVERING, "vinyl flooring": Kind.COVERING,
}  # fmt: skip
_UNITS: Final = {
    "sheet": Kind.SHEET, "bf": Kind.LUMBER, "MBF": Kind.LUMBER, "cu yd": Kind.LOOSE,
    "cu m": Kind.LOOSE, "ton": Kind.LOOSE, "t": Kind.LOOSE, "cu ft": Kind.LOOSE,
    **dict.fromkeys(("gal", "qt", "pt", "fl oz", "L", "mL"), Kind.LIQUID),
}  # fmt: skip
_ELECTRICAL: Final = (Dimension.POWER, Dimension.ENERGY, Dimension.CHARGE, Dimension.VOLTAGE)
_HEAD: Final = re.compile(r"[,(;:/]| for | from | with | of | off | out of ")
_NOMINAL: Final = re.compile(r"\b(\d{1,2})\s?[x×]\s?(\d{1,2})(?![\d.]|\s?[x×])")


def known_kind(stated: str, name: str, unit: str, contents: str = "") -> Known:
    """The kind somebody stated, else the guess."""
    return Known(Kind(stated)) if stated in set(Kind) else guess(name, unit, contents)


def kind_of(stated: str, name: str, unit: str, contents: str = "") -> Kind | None:
    """The same without what it rests on; None where nothing tells."""
    return known_kind(stated, name, unit, contents).kind


def guess(name: str, unit: str, contents: str = "") -> Known:
    """What kind of material a component is, and by what; the unit tells most, the name least."""
    base, named = UNITS.get(unit), _kind_of_name(name)
    for found, because in (
        (_kind_of_unit(base), "its unit"),
        (_kind_of_contents(contents), "its contents"),
    ):
        # Insulation boards are sold by the board foot too (common practice, no published source).
        if found is not None and (found, named.kind) != (Kind.LUMBER, Kind.SHEET):
            return Known(found, because)
    return named


def guess_kind(name: str, unit: str, contents: str = "") -> Kind | None:
    """The guess alone; None where nothing tells."""
    return guess(name, unit, contents).kind


def _kind_of_unit(unit: Unit | None) -> Kind | None:
    if unit is None:
        return None
    return Kind.ELECTRICAL if unit.dimension in _ELECTRICAL else _UNITS.get(unit.symbol)


def _kind_of_contents(text: str) -> Kind | None:
    try:
        contents: Contents = parse_contents(text)
    except QuantityError:
        return None
    held = [unit for equivalence in contents.equivalences for unit in equivalence[1::2]]
    if any(unit.symbol in ("bf", "MBF") for unit in held):
        return Kind.LUMBER
    return Kind.ELECTRICAL if any(unit.dimension in _ELECTRICAL for unit in held) else None


def _kind_of_name(name: str) -> Known:
    """By the last word that tells something: paint for boards is paint, a block wall is not."""
    plain = name.casefold()
    words = re.findall(r"[^\W\d_][\w-]*", _HEAD.split(plain, maxsplit=1)[0])
    singular = [_singular(word) for word in words]
    for i in range(len(singular) - 1, -1, -1):
        before = max(0, i - 1)
        for start, found in ((before, " ".join(singular[before : i + 1])), (i, singular[i])):
            kinds = _PHRASES if " " in found else _KINDS
            if found in kinds:
                said = " ".join(words[start : i + 1])
                return Known(kinds[found], f"“{said}” in its name")
    for match in _NOMINAL.finditer(plain):
        if _is_nominal(*match.groups()):
            return Known(Kind.LUMBER, f"“{match[0]}” in its name")
    return Known(None)


def _singular(word: str) -> str:
    for end, instead in (("s", ""), ("es", ""), ("ies", "y")):
        if word.endswith(end) and word.removesuffix(end) + instead in _KINDS:
            return word.removesuffix(end) + instead
    return word.removesuffix("s")


def _is_nominal(thickness: str, width: str) -> bool:
    try:
        NominalSize(Fraction(thickness), Fraction(width))
    except LumberError:
        return False
    return True
