"""Reading one line of a question that takes several: "2 @ 3 ft x 7 ft", "4 elbows", "3 sand".

Whatever is not understood to its last sign is refused with one sentence.
"""

import re
from collections.abc import Callable, Mapping
from contextlib import suppress
from fractions import Fraction
from typing import Any, Final

from materials.calc.lumber import LumberError, NominalSize
from materials.calc.measures import QuantityError, Reader, tidy
from materials.calc.quantities import parse_quantity
from materials.calc.readings import read_product
from materials.calc.units import UNITS, Dimension, Unit, quote
from materials.takeoffs.calc.types import Area, Box, Kind, Piece, Sized, TakeoffError

# Farther apart nobody measures by hand; it also bounds what is drawn and worked out.
MOST_FEET: Final = 5000
MOST_WHOLE: Final = 100_000
_AREAS: Final = "3 ft x 7 ft, 2 @ 3 ft x 7 ft or 21 sq ft"
_LENGTHS: Final = "35 ft, 2 @ 35 ft or 2.4 m"
_VOLUMES: Final = "2 cu yd, 85.76 cu ft or 1.5 cu m"
_BOXES: Final = "8 ft x 4 ft x 16 in or 2 @ 2.4 m x 1.2 m x 40 cm"
_FITTING: Final = re.compile(r"^([0-9]{1,5})\s*(?:[x×@]\s+)?([^\W\d_].{0,39})$")
_DIGITS: Final = "0-9½⅓⅔¼¾"
_NAMED: Final = re.compile(rf"([^\W\d_][^{_DIGITS}:=]{{0,39}}?)\s*[:=]?\s*([{_DIGITS}.].*)")
_PART: Final = re.compile(
    rf"([{_DIGITS}.][{_DIGITS}.,/ -]*?)\s*(?:parts?\s+(?:of\s+)?)?([^\W\d_][^:=]{{0,39}})",
    re.IGNORECASE,
)
_MOST_PARTS: Final = 1000


def _counted(line: str) -> tuple[int, str]:
    """How many, and what one measures: "2 @ 3 ft x 7 ft"."""
    before, at, after = line.partition("@")
    if not at:
        return 1, line
    reader = Reader(tidy(before))
    count = reader.number()
    reader.unit()
    if reader.rest() or count.denominator != 1 or not 1 <= count <= MOST_WHOLE:
        raise TakeoffError(
            f"{quote(line.strip())} does not start with a whole number: enter it like 2 @ 3 ft x"
            " 7 ft."
        )
    return int(count), after


def _feet(line: str, value: Fraction, unit: Unit) -> Fraction:
    if unit.dimension is not Dimension.LENGTH:
        raise TakeoffError(f"{quote(line.strip())} is not in lengths: enter it like 3 ft x 7 ft.")
    feet = value * unit.factor / UNITS["ft"].factor
    if feet > MOST_FEET:
        raise TakeoffError(
            f"{quote(line.strip())} is over {MOST_FEET} ft: check the number and its unit."
        )
    if not feet:
        raise TakeoffError(f"{quote(line.strip())} is nothing: leave it out.")
    return feet


def _area(line: str) -> Area:
    count, text = _counted(line)
    reader = Reader(tidy(text, example=_AREAS), _AREAS)
    value, unit = reader.measure()
    if reader.skip("by"):
        second, other = reader.measure()
        if reader.rest() or (unit is None and other is None):
            raise TakeoffError(
                f"{quote(line.strip())} is not understood: enter width x height with a unit, like"
                " 3 ft x 7 ft, and one a line."
            )
        one, two = unit or other, other or unit
        assert one is not None
        assert two is not None
        wide, tall = _feet(line, value, one), _feet(line, second, two)
        return Area(count, wide * tall, wide, tall)
    if reader.rest() or unit is None or unit.dimension is not Dimension.AREA or not value:
        raise TakeoffError(f"{quote(line.strip())} is no area: enter it like {_AREAS}.")
    feet = value * unit.factor / UNITS["sq ft"].factor
    if feet > 10**7:
        raise TakeoffError(f"{quote(line.strip())} is too large: check the number and its unit.")
    return Area(count, feet)


def _length(line: str) -> Sized:
    count, text = _counted(line)
    reader = Reader(tidy(text, example=_LENGTHS), _LENGTHS)
    value, unit = reader.measure()
    if reader.rest() or unit is None:
        raise TakeoffError(
            f"{quote(line.strip())} is no length: enter it like {_LENGTHS}, one a line."
        )
    return Sized(count, _feet(line, value, unit))


def _volume(line: str) -> Sized:
    count, text = _counted(line)
    value, unit, rest = _measured_volume(text)
    if rest or unit is None or unit.dimension is not Dimension.VOLUME or not value:
        raise TakeoffError(
            f"{quote(line.strip())} is no volume: enter it like {_VOLUMES}, one a line."
        )
    feet = value * unit.factor / UNITS["cu ft"].factor
    if feet > 10**6:
        raise TakeoffError(f"{quote(line.strip())} is too large: check the number and its unit.")
    return Sized(count, feet)


def _measured_volume(text: str) -> tuple[Fraction, Unit | None, str]:
    if product := read_product(text, _VOLUMES):
        return *product, ""
    reader = Reader(tidy(text, example=_VOLUMES), _VOLUMES)
    value, unit = reader.measure()
    return value, unit, reader.rest()


def _fitting(line: str) -> Sized:
    found = _FITTING.match(" ".join(line.split()))
    if found is None or not int(found[1]):
        raise TakeoffError(
            f"{quote(line.strip())} is not understood: enter how many and what, like 4 elbows, one"
            " a line."
        )
    return Sized(int(found[1]), name=found[2])


def _lumber(line: str) -> Sized:
    """Pieces of nominal lumber; ``each`` is what one holds in board feet."""
    parsed = parse_quantity(line)
    feet = [value for _, _, value, unit in parsed.size.equivalences if unit.symbol == "bf"]
    if not feet or parsed.count.denominator != 1 or parsed.count > MOST_WHOLE:
        raise TakeoffError(
            f"{quote(line.strip())} is no nominal lumber: enter it like 12 @ 2x8x12, one a line."
        )
    return Sized(int(parsed.count), feet[0], parsed.text.partition("@")[2].strip())


def _three(text: str) -> tuple[list[Fraction], list[Unit | None]]:
    """Three measures with a "by" between them, and the unit of each that has one; else nothing."""
    reader = Reader(tidy(text, example=_BOXES), _BOXES)
    values: list[Fraction] = []
    units: list[Unit | None] = []
    for n in range(3):
        if n and not reader.skip("by"):
            return [], []
        value, unit = reader.measure()
        values.append(value)
        units.append(unit)
    return ([], []) if reader.rest() else (values, units)


def _box(line: str) -> Box:
    """Something with three sides; one without a unit is in that of the next: "2 @ 8 x 4 x 2 ft"."""
    count, text = _counted(line)
    values, units = _three(text)
    feet: list[Fraction] = []
    for n, value in enumerate(values):
        unit = next((each for each in (*units[n:], *reversed(units)) if each), None)
        if unit:
            feet.append(_feet(line, value, unit))
    if len(feet) < 3:
        raise TakeoffError(
            f"{quote(line.strip())} is not understood: enter length x width x height, like"
            f" {_BOXES}."
        )
    return Box(count, *feet)


def _piece(line: str) -> Piece:
    """Pieces of lumber by their nominal size, "24 @ 2x4x8", or each side with its unit."""
    count, text = _counted(line)
    values, units = _three(text)
    name = " ".join(text.split())
    if not values:
        raise TakeoffError(
            f"{quote(line.strip())} is not understood: enter it like 24 @ 2x4x8, or each side with"
            " its unit."
        )
    if any(units[:2]):
        box = _box(line)
        return Piece(count, box.length, box.width, box.height, name)
    try:
        size = NominalSize(values[0], values[1])
    except LumberError as error:
        raise TakeoffError(str(error)) from None
    long = _feet(line, values[2], units[2] or UNITS["ft"])
    return Piece(count, size.thickness / 12, size.width / 12, long, name, size)


def _part(line: str) -> Sized:
    """A part of a mix and its name: "3 sand", "sand 3" or "2 1/2 parts of sand"."""
    text = " ".join(line.split())
    value = Fraction(0)
    if found := _NAMED.fullmatch(text):
        name, many = found[1], found[2]
    elif found := _PART.fullmatch(text):
        name, many = found[2], found[1]
    else:
        name, many = "", ""
    with suppress(QuantityError):
        reader = Reader(tidy(many))
        value = reader.number()
        value = Fraction(0) if reader.rest() else value
    if not 0 < value <= _MOST_PARTS:
        raise TakeoffError(
            f"{quote(line.strip())} is not understood: enter how many parts of what, like 3 sand,"
            " one a line."
        )
    return Sized(1, value, name)


def _bag(line: str) -> Sized:
    """What a bag of something holds: "lime 0.6 cu ft"."""
    found = _NAMED.fullmatch(" ".join(line.split()))
    if not found:
        raise TakeoffError(
            f"{quote(line.strip())} is not understood: enter what it is and what one bag holds,"
            " like lime 0.6 cu ft."
        )
    return Sized(1, _volume(found[2]).each, found[1])


# By the kind of the question; each reads one line, or raises TakeoffError or QuantityError.
READERS: Final[Mapping[Kind, Callable[[str], Any]]] = {
    Kind.AREAS: _area,
    Kind.LENGTHS: _length,
    Kind.VOLUMES: _volume,
    Kind.FITTINGS: _fitting,
    Kind.LUMBER: _lumber,
    Kind.BOXES: _box,
    Kind.PIECES: _piece,
    Kind.PARTS: _part,
    Kind.BAGS: _bag,
}
