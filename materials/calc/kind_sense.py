"""What each kind of material is asked to hold, and what its price is compared by.

A panel is bought for its watts, insulation for its area times its R-value, a board for its board
feet: two prices of a piece say little beside each other. All of it comes out of the component's
contents; what they do not say is not known, and is asked for. Which measure goes with which kind
is common practice of the trade, no published source.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from .contents import Contents, ratio_between
from .kinds import Kind
from .lumber import inch_text
from .money import round_half_up
from .units import UNITS, Unit

_METRIC: Final = {
    "ft": "m", "sq ft": "sq m", "bf": "cu m", "cu ft": "cu m", "cu yd": "cu m", "ton": "t",
    "gal": "L",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Ask:
    """Something the contents should say of a kind, and how it is written.

    Known where one of ``pairs`` converts; an empty unit stands for the component's base unit.
    """

    what: str
    example: str
    pairs: tuple[tuple[str, str], ...]


_LENGTH: Final = Ask("length", "1 piece = 12 ft", (("", "ft"),))
_AREA: Final = Ask("area of one", "1 piece = 4 ft x 8 ft", (("", "sq ft"),))
_R_VALUE: Final = Ask("R-value, if it insulates", "R-value = 13", (("sq ft", "R sq ft"),))
ASKED: Final[dict[Kind, tuple[Ask, ...]]] = {
    Kind.LUMBER: (
        Ask("size and length", "1 piece = 2x6x10", (("", "bf"),)),
    ),
    Kind.SHEET: (
        _AREA,
        Ask("thickness", "thickness = 1/2 in", (("sq ft", "cu ft"),)),
        _R_VALUE,
    ),
    Kind.BLOCK: (
        Ask("face", "1 piece = 0.8 sq ft", (("", "sq ft"),)),
        Ask("weight", "1 piece = 31 lb", (("", "lb"),)),
    ),
    Kind.LOOSE: (
        Ask("weight of a volume", "1 cu yd = 2500 lb", (("cu yd", "lb"), ("", "lb"))),
    ),
    Kind.LIQUID: (Ask("coverage", "1 gal = 300 sq ft", (("gal", "sq ft"), ("", "sq ft"))),),
    Kind.PIPE: (_LENGTH,),
    Kind.ELECTRICAL: (
        Ask("watts, what a battery holds, or length", "1 piece = 250 W",
            (("", "W"), ("", "Wh"), ("", "Ah"), ("", "ft"))),
    ),
    Kind.FASTENER: (Ask("number in a pack or pound", "1 lb = 80 pieces", (("", "piece"),)),),
    Kind.COVERING: (_AREA, _R_VALUE),
    Kind.OTHER: (),
}  # fmt: skip

# Units to compare prices by, the one that says most first.
MEASURES: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.LUMBER: ("bf", "ft"),
    Kind.SHEET: ("R sq ft", "sq ft"),
    Kind.BLOCK: ("sq ft", "piece"),
    Kind.LOOSE: ("cu yd", "ton"),
    Kind.LIQUID: ("sq ft", "gal"),
    Kind.PIPE: ("ft",),
    Kind.ELECTRICAL: ("W", "kWh", "Ah", "ft"),
    Kind.FASTENER: ("piece", "lb"),
    Kind.COVERING: ("R sq ft", "sq ft"),
    Kind.OTHER: (),
}


# Those by which one component does for another of its kind; a foot of pipe is not one of another.
SHARED: Final[dict[Kind, tuple[str, ...]]] = {
    Kind.LUMBER: ("bf",),
    Kind.SHEET: ("R sq ft", "sq ft"),
    Kind.BLOCK: ("sq ft",),
    Kind.LIQUID: ("sq ft",),
    Kind.ELECTRICAL: ("W", "kWh", "Ah"),
    Kind.COVERING: ("R sq ft", "sq ft"),
}


@dataclass(frozen=True, slots=True)
class Measure:
    """A unit that a price is compared by. ``held``: how many of it one base unit holds.

    ``thickness``: in it an area is compared, like “1/2 in”; empty where none counts or is known.
    ``is_shared``: prices of other components of the kind compare by it too, in one thickness.
    """

    unit: Unit
    held: Fraction
    thickness: str = ""
    is_shared: bool = False

    @property
    def words(self) -> str:
        """What a price is for, to follow “per”: “watt”, “square foot, 1/2 in thick”."""
        return f"{self.unit.name}, {self.thickness} thick" if self.thickness else self.unit.name

    def price(self, of_one: Fraction | None) -> Fraction | None:
        """The price of one of it, from that of one base unit; None where that is not known."""
        return None if of_one is None else of_one / self.held


def measures_of(
    kind: Kind | None, base: Unit, contents: Contents, *, is_metric: bool
) -> tuple[Measure, ...]:
    """What prices of a component compare by, as far as its contents say it."""
    found = []
    if kind is None:
        return ()
    for symbol in MEASURES[kind]:
        unit = UNITS[_METRIC.get(symbol, symbol) if is_metric else symbol]
        held = ratio_between(base, unit, contents)
        if held:
            thick = symbol == "sq ft" and kind is Kind.SHEET
            said = thickness_of(contents, is_metric=is_metric) if thick else ""
            is_shared = symbol in SHARED.get(kind, ()) and bool(said or not thick)
            found.append(Measure(unit, held, said, is_shared))
    return tuple(found)


def thickness_of(contents: Contents, *, is_metric: bool) -> str:
    """How thick an area is by the contents: “1/2 in”, “12.5 mm”; empty where they do not say."""
    metres = ratio_between(UNITS["sq m"], UNITS["cu m"], contents)
    if metres is None:
        return ""
    if is_metric:
        return f"{round_half_up(metres * 1000, 1).normalize():f} mm"
    # To the nearest 64th, as a rule shows it.
    inches = Fraction((metres / UNITS["in"].factor * 64 + Fraction(1, 2)).__floor__(), 64)
    return f"{inch_text(inches)} in"


def missing_of(kind: Kind | None, base: Unit, contents: Contents) -> tuple[Ask, ...]:
    """What a kind is asked for and its contents do not say yet."""
    if kind is None:
        return ()
    units = {**UNITS, "": base}

    def is_known(ask: Ask) -> bool:
        return any(ratio_between(units[a], units[b], contents) is not None for a, b in ask.pairs)

    return tuple(ask for ask in ASKED[kind] if not is_known(ask))


def example_of(kind: Kind | None) -> str:
    """Contents of a kind as one would type them; empty where nothing is asked."""
    return "; ".join(ask.example for ask in ASKED[kind]) if kind else ""
