"""The units of the trade, and their exact factors.

The list is fixed: what a builder types is looked up here and never reaches the general unit
library, which gives its published factors once, at import, as exact fractions. Where that library
disagrees with the trade, the trade's definition stands (an acre is 43 560 square feet exactly; a
bag is a pack, whatever it holds).

Sources: UN/ECE Recommendation 20 for codes and metric equivalents; the board foot is 144 cubic
inches, the cord 128 cubic feet, the roofing square 100 square feet (trade usage).
"""

import difflib
import re
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from types import MappingProxyType
from typing import Any, Final

import pint


class UnitError(ValueError):
    """A word that is no unit; the message is one sentence for the user.

    ``close``: symbols of units that are spelled alike.
    """

    def __init__(self, message: str, close: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.close = close


class Dimension(StrEnum):
    """What a unit measures. Packs are measured by nothing but their own contents."""

    LENGTH = "length"
    AREA = "area"
    VOLUME = "volume"
    MASS = "mass"
    TIME = "time"
    POWER = "power"
    ENERGY = "energy"
    CHARGE = "charge"
    VOLTAGE = "voltage"
    # An area times its resistance to heat: what insulation is for.
    INSULATION = "insulation"
    COUNT = "count"
    PACK = "pack"


@dataclass(frozen=True, slots=True)
class Unit:
    """One unit: `factor` turns it into m, m2, m3, kg, h, W, Wh, Ah, V, R-value m2 or pieces; 1 for
    packs."""

    symbol: str
    name: str
    plural: str
    dimension: Dimension
    factor: Fraction
    rec20: str | None

    @property
    def is_counted(self) -> bool:
        """Whether it counts whole things, single or in packs."""
        return self.dimension in (Dimension.COUNT, Dimension.PACK)


_registry: Any = pint.UnitRegistry(non_int_type=Fraction)


def _published(name: str) -> Fraction:
    """The library's factor of a unit to its SI base unit, refused unless it is exact."""
    factor = _registry.get_base_units(name)[0]
    if not isinstance(factor, Fraction):
        raise TypeError(f"no exact factor for {name}")
    return factor


_FT: Final = _published("foot")
_IN: Final = _published("inch")
_YD: Final = _published("yard")
_HOUR: Final = _published("hour")

_D = Dimension


def _plural(thing: str) -> str:
    if thing.endswith("y"):
        return f"{thing[:-1]}ies"
    return f"{thing}es" if thing.endswith(("s", "h")) else f"{thing}s"


# What is counted one by one, so that "25 boards" are 25 pieces.
_COUNTED_THINGS: Final = "|".join(
    f"{thing}|{_plural(thing)}"
    for thing in (
        "board stick plank post pole stud joist rafter beam timber slat slab log bat batt brick "
        "block paver tile shingle door window pipe rod bale panel battery tarp nail screw bolt nut "
        "washer hinge rack truss sash frame sink tub stove tank tire tyre pane hanger bracket "
        "fitting elbow valve switch outlet breaker lamp light fan vent gutter flashing strap anchor"
    ).split()
)
# symbol, name, plural, dimension, factor, Rec. 20 code, other spellings (matched without case).
_ROWS: Final[list[tuple[str, str, str, Dimension, Fraction, str | None, str]]] = [
    ("piece", "piece", "pieces", _D.COUNT, Fraction(1), "H87",
     "pc|pcs|pce|pces|each|ea|no|nos|item|items|unit|units|count|ct|" + _COUNTED_THINGS),
    ("pair", "pair", "pairs", _D.COUNT, Fraction(2), "PR", "pr|prs"),
    ("dozen", "dozen", "dozen", _D.COUNT, Fraction(12), "DZN", "dozens|doz|dz"),
    ("gross", "gross", "gross", _D.COUNT, Fraction(144), "GRO", "gro"),
    ("hundred", "hundred", "hundred", _D.COUNT, Fraction(100), "CEN", "hundreds"),
    ("thousand", "thousand", "thousand", _D.COUNT, Fraction(1000), "MIL", "thousands"),
    ("sheet", "sheet", "sheets", _D.PACK, Fraction(1), None, "sht|shts"),
    ("roll", "roll", "rolls", _D.PACK, Fraction(1), None, ""),
    ("bundle", "bundle", "bundles", _D.PACK, Fraction(1), None, "bdl|bdls|bndl"),
    ("bag", "bag", "bags", _D.PACK, Fraction(1), None, "sack|sacks"),
    ("box", "box", "boxes", _D.PACK, Fraction(1), None, "bx|carton|cartons|case|cases"),
    ("tube", "tube", "tubes", _D.PACK, Fraction(1), None, "cartridge|cartridges"),
    ("bucket", "bucket", "buckets", _D.PACK, Fraction(1), None, "pail|pails"),
    ("can", "can", "cans", _D.PACK, Fraction(1), None, "tin|tins"),
    ("pack", "pack", "packs", _D.PACK, Fraction(1), None, "package|packages|pkg|pkgs|pk"),
    ("set", "set", "sets", _D.PACK, Fraction(1), "SET", ""),
    ("pallet", "pallet", "pallets", _D.PACK, Fraction(1), None, "skid|skids"),
    ("load", "load", "loads", _D.PACK, Fraction(1), "NL",
     "truckload|truckloads|truck load|truck loads|trailer load|trailer loads"),
    ("drum", "drum", "drums", _D.PACK, Fraction(1), None, "barrel|barrels"),
    ("crate", "crate", "crates", _D.PACK, Fraction(1), None, ""),
    ("lot", "lot", "lots", _D.PACK, Fraction(1), "LO", ""),
    ("in", "inch", "inches", _D.LENGTH, _IN, "INH", '"'),
    ("ft", "foot", "feet", _D.LENGTH, _FT, "FOT",
     "'|lf|lin ft|linear foot|linear feet|linear ft|lineal foot|lineal feet|lineal ft"
     "|running foot|running feet|running ft"),
    ("yd", "yard", "yards", _D.LENGTH, _YD, "YRD", "yds|ly|linear yard|linear yards"),
    ("mi", "mile", "miles", _D.LENGTH, _published("mile"), "SMI", ""),
    ("mm", "millimetre", "millimetres", _D.LENGTH, Fraction(1, 1000), "MMT", ""),
    ("cm", "centimetre", "centimetres", _D.LENGTH, Fraction(1, 100), "CMT", ""),
    ("m", "metre", "metres", _D.LENGTH, Fraction(1), "MTR", "lm|lin m|linear metre|linear metres"),
    ("km", "kilometre", "kilometres", _D.LENGTH, Fraction(1000), "KMT", ""),
    ("sq in", "square inch", "square inches", _D.AREA, _IN**2, "INK", ""),
    ("sq ft", "square foot", "square feet", _D.AREA, _FT**2, "FTK", "sf"),
    ("sq yd", "square yard", "square yards", _D.AREA, _YD**2, "YDK", "sy"),
    ("sq m", "square metre", "square metres", _D.AREA, Fraction(1), "MTK", ""),
    # The general library's acre is on the survey foot (43 560.174 sq ft).
    ("acre", "acre", "acres", _D.AREA, 43560 * _FT**2, "ACR", "ac"),
    ("ha", "hectare", "hectares", _D.AREA, Fraction(10000), "HAR", ""),
    # Rec. 20's SQ counts squares; it does not say 100 sq ft. So the roofing square has no code.
    # "sq" alone: roofers write "2 sq" for two squares; areas in feet always carry the "ft".
    ("square", "square", "squares", _D.AREA, 100 * _FT**2, None,
     "sq|sqs|roofing square|roofing squares"),
    ("cu in", "cubic inch", "cubic inches", _D.VOLUME, _IN**3, "INQ", ""),
    ("cu ft", "cubic foot", "cubic feet", _D.VOLUME, _FT**3, "FTQ", "cf|cft"),
    ("cu yd", "cubic yard", "cubic yards", _D.VOLUME, _YD**3, "YDQ", "cy"),
    ("cu m", "cubic metre", "cubic metres", _D.VOLUME, Fraction(1), "MTQ", ""),
    ("bf", "board foot", "board feet", _D.VOLUME, _FT**3 / 12, "BFT",
     "bd ft|bdft|fbm|bd foot|bd feet|board ft"),
    ("MBF", "thousand board feet", "thousand board feet", _D.VOLUME, _FT**3 * 1000 / 12, None,
     "mbfs|mfbm"),
    ("cord", "cord", "cords", _D.VOLUME, 128 * _FT**3, "WCD", ""),
    ("gal", "gallon", "gallons", _D.VOLUME, _published("gallon"), "GLL", "gals|us gal|us gallons"),
    ("qt", "quart", "quarts", _D.VOLUME, _published("quart"), "QTL", "qts"),
    ("pt", "pint", "pints", _D.VOLUME, _published("pint"), "PTL", "pts"),
    ("fl oz", "fluid ounce", "fluid ounces", _D.VOLUME, _published("fluid_ounce"), "OZA",
     "fluid oz|fl ounce|fl ounces"),
    ("L", "litre", "litres", _D.VOLUME, Fraction(1, 1000), "LTR", "liter|liters|ltr|ltrs"),
    ("mL", "millilitre", "millilitres", _D.VOLUME, Fraction(1, 10**6), "MLT",
     "milliliter|milliliters"),
    ("oz", "ounce", "ounces", _D.MASS, _published("ounce"), "ONZ", ""),
    ("lb", "pound", "pounds", _D.MASS, _published("pound"), "LBR", "lbs"),
    ("cwt", "hundredweight", "hundredweight", _D.MASS, 100 * _published("pound"), "CWA", "cwts"),
    ("ton", "ton", "tons", _D.MASS, 2000 * _published("pound"), "STN", "tn|short ton|short tons"),
    ("long ton", "long ton", "long tons", _D.MASS, 2240 * _published("pound"), "LTN", ""),
    ("g", "gram", "grams", _D.MASS, Fraction(1, 1000), "GRM", "gm|gms"),
    ("kg", "kilogram", "kilograms", _D.MASS, Fraction(1), "KGM", "kgs|kilo|kilos"),
    ("t", "tonne", "tonnes", _D.MASS, Fraction(1000), "TNE", "metric ton|metric tons"),
    ("min", "minute", "minutes", _D.TIME, _published("minute") / _HOUR, "MIN", "mins"),
    ("h", "hour", "hours", _D.TIME, Fraction(1), "HUR", "hr|hrs"),
    # A day of hire or of work has as many hours as its contents say.
    ("day", "day", "days", _D.PACK, Fraction(1), None, ""),
    ("W", "watt", "watts", _D.POWER, Fraction(1), "WTT", "watt peak|watts peak|wp"),
    ("kW", "kilowatt", "kilowatts", _D.POWER, Fraction(1000), "KWT", "kwp"),
    ("Wh", "watt hour", "watt hours", _D.ENERGY, Fraction(1), "WHR", ""),
    ("kWh", "kilowatt hour", "kilowatt hours", _D.ENERGY, Fraction(1000), "KWH", ""),
    ("Ah", "ampere hour", "ampere hours", _D.CHARGE, Fraction(1), "AMH", "amp hour|amp hours"),
    ("mAh", "milliampere hour", "milliampere hours", _D.CHARGE, Fraction(1, 1000), "E09",
     "milliamp hour|milliamp hours"),
    ("V", "volt", "volts", _D.VOLTAGE, Fraction(1), "VLT", ""),
    # R-values are customary: h ft2 F/Btu. 10 sq ft of R-5 are 50 of these.
    ("R sq ft", "R-value square foot", "R-value square feet", _D.INSULATION, _FT**2, None, ""),
]  # fmt: skip

_LENGTH_SPELLINGS: Final = {
    "in": ("in", "inch", "inches", "ins"),
    "ft": ("ft", "foot", "feet"),
    "yd": ("yd", "yds", "yard", "yards"),
    "mm": ("mm", "millimeter", "millimeters"),
    "cm": ("cm", "centimeter", "centimeters"),
    "m": ("m", "metre", "metres", "meter", "meters"),
    "km": ("km", "kilometer", "kilometers"),
}


def _spellings(symbol: str, name: str, plural: str, others: str) -> list[str]:
    """Every spelling of a unit, areas and volumes by rule (sq ft, sqft, square feet, ft2)."""
    words = [symbol, name, plural, *others.split("|"), *_LENGTH_SPELLINGS.get(symbol, ())]
    power, _, length = symbol.partition(" ")
    if power in ("sq", "cu") and length in _LENGTH_SPELLINGS:
        long_form, digit = ("square", "2") if power == "sq" else ("cubic", "3")
        for word in _LENGTH_SPELLINGS[length]:
            words += [f"{power} {word}", f"{long_form} {word}", f"{word}{digit}"]
            words += [f"{word} sq"] if power == "sq" and word == length else []
    words = [word for word in words if word]
    return words + [word.replace(" ", "") for word in words]


_SUPERSCRIPTS: Final = str.maketrans({"²": "2", "³": "3", ".": None, "^": None, "-": " "})
_MAX_WORD: Final = 40


def _key(text: str) -> str:
    return re.sub(r"\s+", " ", text.translate(_SUPERSCRIPTS)).strip().casefold()


def _build() -> tuple[dict[str, Unit], dict[str, Unit]]:
    units: dict[str, Unit] = {}
    by_key: dict[str, Unit] = {}
    for symbol, name, plural, dimension, factor, rec20, others in _ROWS:
        unit = units[symbol] = Unit(symbol, name, plural, dimension, factor, rec20)
        for word in _spellings(symbol, name, plural, others):
            if by_key.setdefault(_key(word), unit) is not unit:
                raise AssertionError(f"'{word}' names two units")
    return units, by_key


_units, _BY_KEY = _build()
UNITS: Final[Mapping[str, Unit]] = MappingProxyType(_units)


def lookup(text: str) -> Unit | None:
    """The unit spelled so, or None."""
    return None if len(text) > _MAX_WORD else _BY_KEY.get(_key(text))


def find_unit(text: str) -> Unit:
    """The unit a builder means by `text`: symbol, name, plural or a usual spelling, in any case.

    Raises UnitError with one sentence that names close matches, if there are any.
    """
    unit = lookup(text)
    if unit is not None:
        return unit
    shown = quote(text)
    key = _key(text[: _MAX_WORD + 1])
    if not key:
        raise UnitError("The unit is missing: enter for example 'ft', 'gal' or 'piece'.")
    close: dict[str, None] = {}
    if len(text) <= _MAX_WORD:
        for match in difflib.get_close_matches(key, _BY_KEY, n=6, cutoff=0.78):
            close[_BY_KEY[match].symbol] = None
    if close:
        named = tuple(close)[:3]
        names = " or ".join(f"'{symbol}'" for symbol in named)
        raise UnitError(f"{shown} is not a unit known here: did you mean {names}?", named)
    raise UnitError(
        f"{shown} is not a unit known here: enter for example 'piece', 'ft', 'sq ft', 'bf', "
        "'gal' or 'lb'."
    )


def quote(text: str, most: int = 40) -> str:
    """A user's own words in quotes, made printable and short enough to stand in a sentence."""
    clean = "".join(c if c.isprintable() else " " if c.isspace() else "?" for c in text[: most + 1])
    clean = " ".join(clean.split())
    return f"'{clean[:most].rstrip()}…'" if len(text) > most else f"'{clean}'"


_CHOICE_ORDER: Final = (_D.COUNT, _D.PACK, _D.LENGTH, _D.AREA, _D.VOLUME, _D.MASS, _D.TIME,
                         _D.POWER, _D.ENERGY, _D.CHARGE, _D.VOLTAGE,
                         _D.INSULATION)  # fmt: skip


def unit_choices() -> list[tuple[str, str]]:
    """(symbol, name) of every unit for a select box, grouped by what the units measure."""
    return [
        (unit.symbol, unit.name)
        for dimension in _CHOICE_ORDER
        for unit in UNITS.values()
        if unit.dimension is dimension
    ]
