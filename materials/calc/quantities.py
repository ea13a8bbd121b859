"""Quantities as builders type them, and their conversion into a component's base unit.

One parser for the whole app. It reads a number and a unit ("20 gal", "7' 6\"", "2.5 squares"), or
a count of things and what each measures ("12 @ 2x8x12", "4 @ 5 gal", "16 @ 4x8 sheets"). What it
does not understand to the end is refused with one sentence for the user.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from materials.calc.contents import Contents, Size, node, parse_contents, ratio_between, read_size
from materials.calc.kinds import Kind
from materials.calc.measures import (
    MAX_QUANTITY,
    QuantityError,
    Reader,
    counted_thing,
    format_quantity,
    plain,
    tidy,
)
from materials.calc.readings import doubtful, readings
from materials.calc.units import UNITS, Dimension, Unit, lookup, quote

__all__ = [
    "MAX_QUANTITY",
    "Contents",
    "ContentsMissingError",
    "ParsedQuantity",
    "QuantityError",
    "convert",
    "format_quantity",
    "meanings",
    "parse_contents",
    "parse_quantity",
    "taught",
    "to_base",
]

_COUNTED: Final = (Dimension.COUNT, Dimension.PACK)
_NUMBERS: Final = ("hundred", "thousand")
_PIECE: Final = UNITS["piece"]


_MOST_OFFERS: Final = 2


class ContentsMissingError(QuantityError):
    """A quantity that cannot be converted for want of what one piece or pack holds."""


@dataclass(frozen=True)
class ParsedQuantity:
    """A quantity as read: `count` of `unit`, and what each counted thing measures, if typed."""

    text: str
    count: Fraction
    unit: Unit
    size: Contents
    understood: str


def parse_quantity(text: str, default_unit: Unit | None = None) -> ParsedQuantity:
    """Read one quantity; `default_unit` is the unit of a number that stands alone.

    Things counted with "@" and no word are pieces, or the default unit where that is a pack
    (nominal lumber stays pieces: a bundle of it holds several).
    Raises QuantityError; never reads a part and drops the rest. Where the text could have been
    meant in another way, the error offers that.
    """
    tidied = tidy(text)
    try:
        return _parse(tidied, default_unit)
    except QuantityError as error:
        if error.offers:
            # The sentence asks already.
            raise QuantityError(str(error), _read_of(error.offers, default_unit)) from error
        offers = _read_of(doubtful(tidied, None, _PIECE) or readings(tidied), default_unit)
        if not offers:
            raise
        asked = " or ".join(quote(offer) for offer in offers)
        # What is offered shows how to write it: no further example is needed.
        sentence = str(error).partition(": enter")[0].rstrip(".")
        raise QuantityError(f"{sentence}. Did you mean {asked}?", offers) from None


def meanings(text: str, kind: Kind | None, base: Unit) -> tuple[str, ...]:
    """What a quantity of this kind of material could mean, the likelier first.

    Empty where it is plain, or means the one thing it is read as anyway.
    """
    try:
        tidied = tidy(text)
    except QuantityError:
        return ()
    found = _read_of(doubtful(tidied, kind, base), None)
    alone = _read_of((text, *found), None)
    return () if len(found) == 1 and alone == (text,) else found


def _read_of(texts: Iterable[str], default_unit: Unit | None) -> tuple[str, ...]:
    """Those of some texts that are read, each meaning once."""
    found: list[str] = []
    seen: list[tuple[Fraction, Unit, Contents]] = []
    for text in texts:
        try:
            read = _parse(tidy(text), default_unit)
        except QuantityError:
            continue
        if (meaning := (read.count, read.unit, read.size)) not in seen:
            seen.append(meaning)
            found.append(text)
    return tuple(found[:_MOST_OFFERS])


def taught(read: ParsedQuantity, base: Unit, contents: Contents) -> str:
    """Contents that a quantity with a size teaches: "40 @ 2x8x12" that 1 piece = 2x8x12.

    Empty where it has no size, the contents say it already, or pieces are only counted in passing
    (buckets of paint are remembered, pieces of it are not).
    """
    each = _PIECE if read.unit.dimension is Dimension.COUNT else read.unit
    if not read.size.equivalences or (each == _PIECE and not base.is_counted):
        return ""
    if any(ratio_between(each, other, contents) for *_, other in read.size.equivalences):
        return ""
    size = read.text.partition("@")[2].strip()
    before, _, last = size.rpartition(" ")
    unit = lookup(last)
    size = before if before and unit and unit.is_counted else size
    text = f"1 {each.symbol} = {size}"
    try:
        parse_contents(text)
    except QuantityError:
        return ""
    return text


# "9 five gallon buckets", "12 16' boards": a count, what one holds, what is counted.
_HOLDING: Final = re.compile(
    r"(?P<count>[0-9]{1,6}|[^\W\d_]{2,6})\s+(?:[x×]\s+)?"
    r"(?:(?P<size>[0-9]+(?:[.,][0-9]+)?(?:[ -][0-9]+/[0-9]+)?)[\s-]*"
    r"|(?P<word>one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve)[\s-]+)"
    r"(?P<unit>['’\"”]|#|[^\W\d_]{1,8}(?:\s[^\W\d_]{2,5})?\.?)[\s-]+"
    r"(?P<thing>(?:[^\W\d_]{3,12}\s)?[^\W\d_]{3,12})",
    re.IGNORECASE,
)


_MARKS: Final = "'’\"”"
_STRAIGHT: Final = str.maketrans("’”", "'\"")


def _counts_first(text: str) -> str:
    """ "9 five gallon buckets" as "9 buckets @ five gallon"; any other text as it is."""
    match = _HOLDING.fullmatch(text)
    if match is None:
        return text
    mark = "lb" if match["unit"] == "#" else match["unit"]
    unit, named = lookup(mark.translate(_STRAIGHT)), lookup(match["thing"])
    thing = named or counted_thing(match["thing"].split(), is_one=match["count"] in ("1", "a"))
    if unit is None or unit.is_counted or thing is None or not thing.is_counted:
        return text
    size = f"{match['size'] or match['word']}{'' if mark in _MARKS else ' '}{mark}"
    return f"{match['count']} {match['thing'] if named else thing.plural} @ {size}"


def _parse(typed: str, default_unit: Unit | None) -> ParsedQuantity:
    tidied = _counts_first(typed)
    reader = Reader(tidied, things=True)
    count, unit = reader.measure()
    if unit is not None and unit.dimension is Dimension.COUNT and reader.kind() == "word":
        # "2 dozen sheets", "two hundred feet": the first word only multiplies.
        more = reader.unit()
        counted = _COUNTED if unit.symbol not in _NUMBERS else tuple(Dimension)
        if more is None or more.dimension not in counted or more == unit:
            raise reader.wrong(f"holds more than one unit word: enter only {quote(unit.symbol)}")
        count, unit = count * unit.factor, more
    # Only what is counted is a thing, and nothing that measures it.
    reader.things = False
    if reader.kind() == "at":
        return _counted(reader, tidied, count, unit, default_unit)
    if reader.kind() == "by":
        raise reader.wrong(
            "has no count: enter how many, then '@', then the size of one, like '12 @ 2x8x12', "
            "'12 @ 8 ft' or '16 @ 4x8 ft'"
        )
    if reader.rest():
        read = format_quantity(count, unit) if unit else plain(count)
        raise reader.wrong(
            f"is understood as {quote(read)}, but not {quote(reader.rest())}: enter a number and "
            "a unit, and a size only after '@', like '12 @ 8 ft'"
        )
    unit = unit or default_unit
    if unit is None:
        raise reader.wrong("has no unit; enter for example '20 gal', '12 pieces' or '12 @ 2x8x12'")
    _check_size(reader, count)
    notes = [_also(count, unit), *reader.notes]
    return ParsedQuantity(tidied, count, unit, Contents(), _with(_say(count, unit), notes))


def _counted(
    reader: Reader, text: str, count: Fraction, unit: Unit | None, default: Unit | None
) -> ParsedQuantity:
    if unit is not None and unit.dimension not in _COUNTED:
        raise reader.wrong(
            f"counts in {unit.plural}: enter a number of pieces or packs before the size, like "
            "'12 @ 8 ft'"
        )
    reader.skip("at")
    size: Size = read_size(reader, unit)
    counted = size.counted
    lumber = any(other.symbol == "bf" for *_, other in size.equivalences)
    if unit is None and counted == _PIECE and default and not lumber:
        counted = default if default.dimension is Dimension.PACK else counted
    _check_size(reader, count)
    # Each counted thing has the size: "2 dozen @ 8 ft" is 24 pieces of 8 ft.
    each = _PIECE if counted.dimension is Dimension.COUNT else counted
    contents = Contents(tuple((a, each, b, other) for a, _, b, other in size.equivalences))
    totals = [
        _say(count * counted.factor / a * b, other) for a, _, b, other in contents.equivalences[:2]
    ]
    phrase = f"{_say(count, counted)} of {size.label}"
    return ParsedQuantity(
        text, count, counted, contents, _with(phrase, [", ".join(totals), *reader.notes])
    )


def _check_size(reader: Reader, count: Fraction) -> None:
    if count > MAX_QUANTITY:
        raise reader.wrong(f"is more than {MAX_QUANTITY:,}: check the number or use a bigger unit")


def _say(value: Fraction, unit: Unit) -> str:
    if unit.symbol == "bf":
        number = plain(value)
        return f"{number} {unit.name if number == '1' else unit.plural}"
    return format_quantity(value, unit)


def _also(count: Fraction, unit: Unit) -> str:
    """What a unit of the trade comes to, where the word alone could be taken otherwise."""
    other = {"square": "sq ft", "dozen": "piece", "gross": "piece", "pair": "piece", "ton": "lb",
             "cwt": "lb", "t": "kg", "cord": "cu ft"}.get(unit.symbol)  # fmt: skip
    return _say(count * unit.factor / UNITS[other].factor, UNITS[other]) if other else ""


def _with(phrase: str, notes: list[str]) -> str:
    kept = [note for note in dict.fromkeys(notes) if note]
    return f"{phrase} ({'; '.join(kept)})" if kept else phrase


def convert(value: Fraction, unit: Unit, to: Unit, contents: Contents) -> Fraction:
    """`value` of `unit` in `to`: by factor within a dimension, else through the contents.

    Raises QuantityError naming the content that is missing.
    """
    ratio = ratio_between(unit, to, contents)
    if ratio is None:
        raise ContentsMissingError(
            f"{format_quantity(value, unit)} cannot be turned into {to.plural}: "
            f"{_missing(unit, to)}"
        )
    return value * ratio


_EXAMPLES: Final = {
    ("gal", "sq ft"): "350", ("L", "sq m"): "9", ("gal", "lb"): "11.3",
    ("piece", "ft"): "12", ("piece", "lb"): "22", ("piece", "sq ft"): "32", ("piece", "bf"): "16",
    ("ft", "bf"): "1",
    ("sheet", "sq ft"): "32", ("bundle", "sq ft"): "33.3", ("bag", "lb"): "60",
    ("bag", "cu ft"): "0.5", ("box", "piece"): "50", ("ft", "lb"): "0.668",
    ("piece", "W"): "300", ("piece", "Ah"): "100", ("piece", "Wh"): "1200", ("piece", "V"): "12",
    ("piece", "kW"): "0.3", ("piece", "kWh"): "1.2", ("day", "h"): "8",
    ("sq ft", "R sq ft"): "5",
    ("sheet", "piece"): "1", ("cu yd", "lb"): "2600", ("cu yd", "ton"): "1.3",
}  # fmt: skip
_VERBS: Final = {
    Dimension.AREA: "covers", Dimension.MASS: "weighs", Dimension.COUNT: "holds",
    Dimension.PACK: "holds", Dimension.TIME: "takes", Dimension.LENGTH: "measures",
    Dimension.VOLUME: "comes to", Dimension.POWER: "gives", Dimension.ENERGY: "holds",
    Dimension.CHARGE: "holds", Dimension.VOLTAGE: "has", Dimension.INSULATION: "gives",
}  # fmt: skip
# Lengths as near as that are one: 3.279 ft is what somebody wrote down as 3.28 ft. A tape shows
# sixteenths of an inch (common practice, no published source).
_AS_LONG: Final = UNITS["in"].factor / 16
# The larger thing is described by the smaller measure: a pack by pieces, a piece by its length.
_RANK: Final = [Dimension.PACK, Dimension.COUNT, Dimension.LENGTH, Dimension.VOLUME,
                Dimension.AREA, Dimension.MASS, Dimension.TIME, Dimension.POWER, Dimension.ENERGY,
                Dimension.CHARGE, Dimension.VOLTAGE, Dimension.INSULATION]  # fmt: skip


def _missing(unit: Unit, to: Unit) -> str:
    whole, part = sorted((unit, to), key=lambda each: _RANK.index(each.dimension))
    number = Fraction(_EXAMPLES.get((whole.symbol, part.symbol), "10"))
    example = f"1 {whole.symbol} = {format_quantity(number, part)}"
    hint = ""
    power = {Dimension.AREA: "sq", Dimension.VOLUME: "cu"}.get(to.dimension)
    meant = UNITS.get(f"{power} {unit.symbol}")
    if unit.dimension is Dimension.LENGTH and meant and to.symbol not in ("bf", "MBF"):
        # "3 yards of concrete" are cubic yards.
        hint = f" (for {meant.plural} enter '{meant.symbol}')"
    return (
        f"say in the component's contents how many {part.plural} one {whole.name} "
        f"{_VERBS[part.dimension]}, like '{example}'{hint}."
    )


def to_base(parsed: ParsedQuantity, base: Unit, contents: Contents) -> Fraction:
    """The quantity in the component's base unit. Raises QuantityError.

    A typed size goes before the contents. Into a unit of the kind counted, it is measured against
    the contents where they state that measure (12 @ 2x8x6 are 6 pieces where 1 piece = 12 ft), and
    counted where they do not, or where the lengths are the same to a sixteenth of an inch. Lumber
    in area units is its face: length x dressed dry width; in volume units it is its board measure,
    on the nominal size.
    """
    value = _base_value(parsed, base, contents)
    if value > MAX_QUANTITY:
        raise QuantityError(
            f"{quote(parsed.text)} comes to more than {MAX_QUANTITY:,} {base.plural}: check the "
            "number and the units."
        )
    return value


def _pieces(
    parsed: ParsedQuantity, measured: Fraction, length: Fraction, unit: Unit, base: Unit
) -> Fraction:
    """What is measured against the contents, or counted where a piece is as long as they say."""
    if unit.dimension is not Dimension.LENGTH or node(parsed.unit) != node(base) or not measured:
        return measured
    count = parsed.count * parsed.unit.factor / base.factor
    typed, stated = length / count, length / measured
    return count if abs(typed - stated) / base.factor < _AS_LONG else measured


def _base_value(parsed: ParsedQuantity, base: Unit, contents: Contents) -> Fraction:
    count = parsed.count * parsed.unit.factor
    measured = [(count / a * b, other) for a, _, b, other in parsed.size.equivalences]
    if node(base) != node(parsed.unit):
        for value, unit in measured:
            if node(unit) == node(base):
                return value * unit.factor / base.factor
    for value, unit in measured:
        ratio = ratio_between(unit, base, contents)
        if ratio is not None:
            return _pieces(parsed, value * ratio, value * unit.factor, unit, base)
    if measured and ratio_between(parsed.unit, base, contents) is None:
        value, unit = measured[0]
        return convert(value, unit, base, contents)
    return convert(parsed.count, parsed.unit, base, contents)
