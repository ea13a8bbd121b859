"""What one piece or pack holds: the only bridge between units of unlike dimension.

Contents are equivalences such as "1 piece = 12 ft" or "1 gal = 350 sq ft". Together they form a
graph whose nodes are the dimensions (units of one dimension convert by their factors) and each
kind of pack by itself, since a pack is known by its contents alone.
"""

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, TypeAlias

from materials.calc.lumber import LumberError, NominalSize, board_feet, inch_text
from materials.calc.measures import QuantityError, Reader, format_quantity, plain, tidy
from materials.calc.units import UNITS, Dimension, Unit, quote

Equivalence: TypeAlias = tuple[Fraction, Unit, Fraction, Unit]

_MAX_CONTENTS: Final = 1000
_PIECE: Final = UNITS["piece"]
_FT: Final = UNITS["ft"]
_IN: Final = UNITS["in"]
_SQ_FT: Final = UNITS["sq ft"]
_BF: Final = UNITS["bf"]
_LENGTH: Final = UNITS["m"]
_AREA: Final = UNITS["sq m"]
_VOLUME: Final = UNITS["cu m"]
_COUNTED: Final = (Dimension.COUNT, Dimension.PACK)
# A stick is at least this many times as long as wide; anything shorter is a sheet or a block.
_STICK: Final = 4


@dataclass(frozen=True)
class Contents:
    """Equivalences (a, unit, b, other unit): a of the one unit is b of the other."""

    equivalences: tuple[Equivalence, ...] = ()


def node(unit: Unit) -> str:
    """The node of the graph a unit belongs to: its dimension, or itself for a pack."""
    return unit.symbol if unit.dimension is Dimension.PACK else unit.dimension.value


def ratio_between(start: Unit, end: Unit, contents: Contents) -> Fraction | None:
    """How many `end` one `start` is, by the shortest way through the contents; None if no way.

    The search always starts from the node that sorts first, so that a conversion back is the
    exact inverse even where the contents offer two ways.
    """
    if node(start) == node(end):
        return start.factor / end.factor
    if node(start) > node(end):
        back = ratio_between(end, start, contents)
        return None if back is None else 1 / back
    reached = {node(start): start.factor}
    frontier = [node(start)]
    while frontier and node(end) not in reached:
        current = frontier.pop(0)
        for a, unit, b, other in contents.equivalences:
            left, right = a * unit.factor, b * other.factor
            for here, there, ratio in (
                (node(unit), node(other), right / left),
                (node(other), node(unit), left / right),
            ):
                if here == current and there not in reached:
                    reached[there] = reached[current] * ratio
                    frontier.append(there)
    return reached[node(end)] / end.factor if node(end) in reached else None


@dataclass(frozen=True)
class Size:
    """What one counted thing measures: its unit, the main measure first, and how to call it."""

    counted: Unit
    equivalences: tuple[Equivalence, ...]
    label: str


def read_size(reader: Reader, counted: Unit | None) -> Size:
    """Read '5 gal', "7' 6\"", '4 ft x 8 ft', '4x8 sheets', '2x8x12' (nominal) to the end.

    `counted` is what is counted, where that is already known. Nominal lumber measures its length,
    its board feet (nominal) and its face (length x dressed dry width), in this order.
    """
    sides = [reader.measure()]
    while len(sides) < 3 and reader.skip("by"):
        sides.append(reader.measure())
    last = sides[-1][1]
    if len(sides) > 1 and last is not None and last.dimension in _COUNTED:
        counted, sides[-1] = _same_counted(reader, counted, last), (sides[-1][0], None)
    elif reader.kind() == "word":
        after = reader.rest()
        unit = reader.unit()
        if unit is None or unit.dimension not in _COUNTED:
            raise reader.wrong(f"is understood up to {quote(after)}: leave that out")
        counted = _same_counted(reader, counted, unit)
    if reader.rest():
        raise reader.wrong(f"is understood up to {quote(reader.rest())}: enter one size, like "
                           "'8 ft', '4 ft x 8 ft' or '2x8x12'")  # fmt: skip
    counted = counted or _PIECE
    if any(not value for value, _ in sides):
        raise reader.wrong("has a size of zero: enter a size above zero")
    if len(sides) > 1:
        return _dimensions(reader, counted, sides)
    value, unit = sides[0]
    if unit is None:
        raise reader.wrong(f"has no unit after {plain(value)}: enter for example '8 ft', '5 gal' "
                           "or '2x8x12'")  # fmt: skip
    if node(unit) == node(counted):
        raise reader.wrong(f"measures {counted.plural} in {unit.plural}: enter the size in another "
                           "unit, like '8 ft'")  # fmt: skip
    return Size(counted, ((Fraction(1), counted, value, unit),), format_quantity(value, unit))


def _same_counted(reader: Reader, counted: Unit | None, unit: Unit) -> Unit:
    if counted is None or counted == unit or unit == _PIECE:
        return counted or unit
    raise reader.wrong(f"counts both {counted.plural} and {unit.plural}: enter one of them")


def _dimensions(reader: Reader, counted: Unit, sides: list[tuple[Fraction, Unit | None]]) -> Size:
    values = [value for value, _ in sides]
    units = [unit for _, unit in sides]
    for unit in units:
        if unit is not None and unit.dimension is not Dimension.LENGTH:
            raise reader.wrong(f"multiplies {unit.plural}: enter each side as a length, like "
                               "'4 ft x 8 ft'")  # fmt: skip
    bare = [unit is None for unit in units]
    if counted.symbol == "sheet" and any(bare) and units[-1] in (None, _FT):
        # Sheets are named in feet, and by their thickness in inches if it stands first.
        usual = (_IN, _FT, _FT)[-len(sides) :]
        return _block(counted, [(v, u or usual[i]) for i, (v, u) in enumerate(sides)])
    if all(bare[:-1]):
        if len(sides) == 3 and units[2] in (None, _FT):
            return _lumber(reader, counted, values)
        if bare[-1]:
            raise reader.wrong("has no length: add it, like '2x8x12' for lumber 12 ft long, or "
                               "give a unit, like '4x8 ft' for a sheet")  # fmt: skip
        if len(sides) == 3 and units[2] not in (UNITS["mm"], UNITS["cm"]):
            raise reader.wrong("can be read in two ways: enter '2x4x8' for nominal lumber 8 ft "
                               "long, or each side with its unit")  # fmt: skip
    known: list[tuple[Fraction, Unit]] = []
    following: Unit | None = None
    for value, unit in reversed(sides):
        following = unit or following
        if following is None:
            raise reader.wrong(f"has no unit after {plain(value)}: enter each side with its unit, "
                               "like '4 ft x 8 ft'")  # fmt: skip
        known.insert(0, (value, following))
    return _block(counted, known)


def _lumber(reader: Reader, counted: Unit, values: list[Fraction]) -> Size:
    try:
        size = NominalSize(values[0], values[1])
    except LumberError as error:
        raise QuantityError(f"In {quote(reader.text)}, {_lower(str(error))}") from error
    length = values[2]
    _, face = size.dressed()
    one = Fraction(1)
    equivalences = (
        (one, counted, length, _FT),
        (one, counted, board_feet(size.thickness, size.width, length), _BF),
        (one, counted, length * face / 12, _SQ_FT),
    )
    return Size(counted, equivalences, f"{size}x{inch_text(length)}")


def _lower(sentence: str) -> str:
    return sentence[0].lower() + sentence[1:]


def _block(counted: Unit, sides: list[tuple[Fraction, Unit]]) -> Size:
    label = " x ".join(format_quantity(value, unit) for value, unit in sides)
    lengths = sorted((value * unit.factor for value, unit in sides), reverse=True)
    customary = any(unit.symbol in ("in", "ft", "yd", "mi") for _, unit in sides)
    shown = (_FT, _SQ_FT, UNITS["cu ft"]) if customary else (_LENGTH, _AREA, _VOLUME)
    si = [lengths[0], lengths[0] * lengths[1]]
    si += [si[1] * lengths[2]] if len(lengths) == 3 else []
    stick = len(lengths) == 3 and lengths[0] >= _STICK * lengths[1]
    measured = list(zip(si, shown, strict=False))[0 if stick else 1 :]
    equivalences = tuple(
        (Fraction(1), counted, value / unit.factor, unit) for value, unit in measured
    )
    return Size(counted, equivalences, label)


_NAMED: Final = {
    "length": Dimension.LENGTH, "width": Dimension.LENGTH, "thickness": Dimension.LENGTH,
    "area": Dimension.AREA, "volume": Dimension.VOLUME, "weight": Dimension.MASS,
}  # fmt: skip
_R_VALUE: Final = ("r-value", "r value", "r")
_R_SQ_FT: Final = UNITS["R sq ft"]


def parse_contents(text: str) -> Contents:
    """Contents as typed, parts divided by ';' or a new line; nothing typed is empty contents.

    A part is an equivalence ('1 piece = 12 ft', '350 sq ft per gal', '1 sheet = 4x8 ft') or a
    named measure of one piece: length, width, thickness, area, volume, weight. Length and width
    also give the area of a piece, with the thickness its volume, and width and thickness the area
    and volume of each length; what is stated outright goes before what is worked out. An R-value
    ('R-value = 13', in h sq ft °F/Btu) is that of the thickness it comes in. Board feet
    are counted on the nominal size: for dressed lumber state '1 piece = 2x8x12' or
    '1 piece = 16 bf'.
    """
    if len(text) > _MAX_CONTENTS:
        raise QuantityError(f"The contents are longer than {_MAX_CONTENTS} signs: shorten them.")
    named: dict[str, Fraction] = {}
    stated: list[Equivalence] = []
    for raw in text.replace(";", "\n").splitlines():
        part = tidy(raw)
        if not part:
            continue
        name, equal, value = part.partition("=")
        name = name.strip().casefold()
        if equal and name in _R_VALUE:
            stated.append((Fraction(1), _SQ_FT, _r_value(part, value.strip()), _R_SQ_FT))
        elif equal and name in _NAMED:
            if name in named:
                raise QuantityError(f"The contents give the {name} twice: keep one of them.")
            amount, unit = _named_measure(part, value.strip(), _NAMED[name])
            named[name] = amount * unit.factor
            if name not in ("width", "thickness"):
                stated.append((Fraction(1), _PIECE, amount, unit))
        else:
            stated += _stated(part)
    _refuse_contradictions(stated)
    return Contents((*stated, *_worked_out(named, stated)))


def _named_measure(part: str, value: str, dimension: Dimension) -> tuple[Fraction, Unit]:
    reader = Reader(value) if value else None
    amount, unit = reader.measure() if reader else (Fraction(0), None)
    if reader is None or unit is None or unit.dimension is not dimension or not amount:
        raise QuantityError(f"In the contents, {quote(part)} needs a {dimension} above zero with "
                            "its unit, like 'length = 12 ft'.")  # fmt: skip
    if reader.rest():
        raise QuantityError(f"In the contents, {quote(part)} is understood up to "
                            f"{quote(reader.rest())}: leave that out.")  # fmt: skip
    return amount, unit


def _r_value(part: str, value: str) -> Fraction:
    reader = Reader(value) if value else None
    number = reader.number() if reader and reader.at_number() else Fraction(0)
    if reader is None or reader.rest() or not number:
        raise QuantityError(f"In the contents, {quote(part)} needs a number above zero alone, "
                            "like 'R-value = 13'.")  # fmt: skip
    return number


def _stated(part: str) -> tuple[Equivalence, ...]:
    left, equal, right = part.partition("=")
    if not equal:
        right, per, left = part.partition(" per ")
        if not per:
            right, _, left = part.rpartition("/")
    left, right = left.strip(), right.strip()
    if not left or not right or "=" in right:
        raise QuantityError(
            f"In the contents, {quote(part)} is not understood: enter one equivalence, "
            "like '1 piece = 12 ft', and put ';' between several."
        )
    reader = Reader(left)
    if not reader.at_number():
        reader = Reader(f"1 {left}")
    amount, unit = reader.measure()
    if unit is None or reader.rest() or not amount:
        raise QuantityError(f"In the contents, {quote(left)} is not understood: enter a quantity "
                            "with its unit, like '1 piece = 12 ft'.")  # fmt: skip
    size = read_size(Reader(right), unit)
    if any(node(other) == node(unit) for _, _, _, other in size.equivalences):
        raise QuantityError(
            f"In the contents, {quote(part)} measures {unit.plural} in {unit.plural}: say what"
            " one of them holds in another measure, like '1 piece = 12 ft'."
        )
    return tuple((amount, unit, value, other) for _, _, value, other in size.equivalences)


def _refuse_contradictions(stated: list[Equivalence]) -> None:
    seen: dict[tuple[str, str], Fraction] = {}
    for a, unit, b, other in stated:
        ratio = b * other.factor / (a * unit.factor)
        key = (node(unit), node(other))
        if key[0] > key[1]:
            key, ratio = (key[1], key[0]), 1 / ratio
        if seen.setdefault(key, ratio) != ratio:
            raise QuantityError(
                f"The contents state in two different ways how {unit.plural} and "
                f"{other.plural} compare: keep one of them."
            )


def _worked_out(named: dict[str, Fraction], stated: list[Equivalence]) -> list[Equivalence]:
    """Width and thickness as links, each only where what is stated gives no way of its own."""
    found: list[Equivalence] = []
    links = {"width": (_LENGTH, _AREA), "thickness": (_AREA, _VOLUME)}
    for name, (unit, other) in links.items():
        known = Contents((*stated, *found))
        if name in named and ratio_between(unit, other, known) is None:
            found.append((Fraction(1), unit, named[name], other))
    return found
