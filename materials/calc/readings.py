"""Other ways in which a quantity could have been meant.

Each is a whole text for the one parser; what that does not read is no reading. They are offered,
never taken: only who typed it knows which is meant. ``readings`` are those of a text that was
refused; ``doubtful`` are those of a text that another material would make another quantity of,
the likelier first: ``8x8x16`` of block are inches, of timber it is sixteen feet long. Each offer
says outright what it means, so that it is not asked about again. A ``QuantityError`` carries them
as ``offers``, the form's field hands them on, ``templates/parts/offers.html`` shows them.
"""

import re
from fractions import Fraction
from typing import Final

from .kinds import Kind
from .lumber import LumberError, NominalSize
from .measures import EXAMPLE, QuantityError, Reader, format_quantity, tidy
from .units import UNITS, Dimension, Unit, lookup

_WORDS: Final = "a|an|one|two|three|four|five|six|seven|eight|nine|ten|eleven|twelve"
_COUNT: Final = rf"(?P<count>[0-9]{{1,6}}|{_WORDS})"
_SIDE: Final = r"[0-9][0-9./'\"-]{0,12}"
_BY: Final = r"[x×*]"
_DASHED: Final = re.compile(rf"{_COUNT}\s*[-–—:]\s*(?P<size>{_SIDE}\s*{_BY}.*)", re.IGNORECASE)
_BESIDE: Final = re.compile(
    rf"{_COUNT}(?P<unit>\s*[^\W\d_]{{2,12}}\.?)?\s+(?P<size>{_SIDE}(?:\s|{_BY}|[^\W\d_]|$).*)",
    re.IGNORECASE,
)
_TIMES: Final = re.compile(rf"{_COUNT}\s*{_BY}\s*(?P<size>[0-9].*)", re.IGNORECASE)
_LAST: Final = re.compile(
    rf"(?P<size>{_SIDE}(?:\s?{_BY}\s?{_SIDE}){{1,2}})\s*{_BY}\s*(?P<count>[0-9]{{1,6}})",
    re.IGNORECASE,
)
_SPACED: Final = re.compile(rf"\s{_BY}\s", re.IGNORECASE)
_GROUPED: Final = re.compile(r"(?P<head>[0-9]{1,3})(?P<rest>(?: [0-9]{3})+)(?P<unit>\s*[^\W\d_].*)")
_HELD: Final = re.compile(r"[0-9].*?(?P<unit>[^\W\d_]+)\.?[\s-]+(?P<thing>[^\W\d_]{3,12})")
_SEVERAL: Final = re.compile(rf"{_COUNT}\s+[0-9]{{1,2}}\s?{_BY}\s?[0-9]{{1,2}}'?s", re.IGNORECASE)
_MOST_NAMING: Final = 4
_NUMBER: Final = r"[0-9]+(?:[.,][0-9]+)*(?:[ -]?[0-9]+/[0-9]+)?"
_BARE: Final = r"(?:[0-9]+[ -])?[0-9]+/[0-9]+|[0-9]*\.?[0-9]+"
_TRIPLE: Final = re.compile(
    rf"(?P<count>{_NUMBER}|{_WORDS})(?P<unit>\s*(?!of\b|at\b)[^\W\d_]{{2,12}}\.?)?"
    rf"\s*(?:@|:|-|\b(?:of|at)\b|\s)\s*"
    rf"(?P<a>{_BARE})\s*(?:{_BY}|by)\s*(?P<b>{_BARE})\s*(?:{_BY}|by)\s*(?P<c>{_BARE})"
    r"(?P<word>\s*[^\W\d_]{2,12})?",
    re.IGNORECASE,
)
_PAIR: Final = re.compile(rf"(?P<a>{_BARE})\s*{_BY}\s*(?P<b>{_BARE})", re.IGNORECASE)
_AT: Final = re.compile(
    rf"(?P<count>(?:[0-9]{{1,6}}|{_WORDS})(?:\s*[^\W\d_]{{2,12}})?)\s*@\s*"
    rf"(?P<a>{_BARE})\s*{_BY}\s*(?P<b>{_BARE})",
    re.IGNORECASE,
)
_YARDS: Final = re.compile(r"(?P<much>[0-9].*?|a|half a|one|two|three|four|five|six|ten)\s*"
                           r"(?:yards?|yds?)\.?(?:\s+of\s.*)?", re.IGNORECASE)  # fmt: skip
_OUNCES: Final = re.compile(r"(?P<much>[0-9].*?)\s*(?:oz|ounces?)\.?", re.IGNORECASE)
_PIPE: Final = re.compile(
    rf"(?:{_COUNT}(?:\s*[^\W\d_]{{2,12}})?(?:\s*@\s*|\s+))?"
    rf"(?:{_BARE})\s*(?:in\b\.?|inch(?:es)?\b|\"|mm\b|cm\b)?\s*(?:{_BY}|by)\s*"
    rf"(?P<length>{_BARE})\s*(?P<unit>ft|feet|foot|'|m)\.?",
    re.IGNORECASE,
)
_SIDES: Final = re.compile(rf"(?:{_BY}|\bby)\s*[0-9]", re.IGNORECASE)
# Longer sides of a sheet than this many are not feet.
_MOST_SHEET_FEET: Final = 16


def readings(text: str) -> list[str]:
    """Texts that a refused one could stand for, the likeliest first."""
    plain = " ".join(text.split())
    try:
        return _readings(plain)
    except QuantityError:
        # A number in it is more than anybody has.
        return []


def _readings(plain: str) -> list[str]:
    found: list[str] = []
    if match := _SEVERAL.fullmatch(plain):
        # "5 2x4s" says nothing of their length.
        return [f"{match['count']} pieces"]
    # "2x8x12s": several of that size.
    plain = re.sub(r"(?<=[0-9])'?s(?![^\W\d_])", "", plain)
    if match := _GROUPED.fullmatch(plain):
        found.append(match["head"] + match["rest"].replace(" ", "") + match["unit"])
    if match := _DASHED.fullmatch(plain):
        found += _counted(match["count"], match["size"])
    if (match := _AT.fullmatch(plain)) and _is_wide(match):
        found += _counted(match["count"], f"{match['a']}x{match['b']}")
    if match := _BESIDE.fullmatch(plain):
        found += _counted(match["count"] + (match["unit"] or ""), match["size"])
    found += _by_sides(plain)
    if not found and (match := _HELD.fullmatch(plain)):
        held, thing = lookup(match["unit"]), lookup(match["thing"])
        if held and thing and thing.is_counted and not held.is_counted:
            # "5 gal bucket": one of them.
            found.append(f"1 @ {plain}")
    found += _without_names(plain)
    return [re.sub(r"(?<=[0-9])(?=[^\W\d_]{2})", " ", each) for each in dict.fromkeys(found)]


def _is_wide(pair: re.Match[str]) -> bool:
    """Whether two bare sides are too long to be feet."""
    return max(_value(pair["a"]), _value(pair["b"])) > _MOST_SHEET_FEET


def _without_names(plain: str) -> list[str]:
    """ "3 bags of lime" without the words that only name the thing."""
    words = plain.split()
    found = []
    for _ in range(_MOST_NAMING):
        if len(words) < 3 or not words[-1].isalpha():
            break
        words.pop()
        if words[-1].casefold() != "of" and words[-1][-1].isalpha():
            found.append(" ".join(words))
    return found


def _by_sides(plain: str) -> list[str]:
    found: list[str] = []
    sides = len(re.findall(_BY, plain, re.IGNORECASE))
    first, last = _TIMES.fullmatch(plain), _LAST.fullmatch(plain)
    if last and (sides > 2 or (_SPACED.search(plain) and not _spaced_first(plain))):
        found.append(f"{last['count']} @ {last['size']}")
    if first and (sides == 1 or _spaced_first(plain)):
        found.append(f"{first['count']} @ {first['size']}")
    if sides in (1, 2) and plain[:1].isdigit() and " @ " not in plain:
        found.append(f"1 @ {plain}")
    return found


def _counted(count: str, size: str) -> list[str]:
    """A count before a size; two bare sides are a sheet's in feet, or a window's in inches.

    Even sides are those of tiles, which have inches too (common practice, no published source).
    """
    in_feet = [f"{count} @ {size}", f"{count} @ {size} ft"]
    pair = _PAIR.fullmatch(size)
    if pair is None:
        return in_feet
    a, b = _value(pair["a"]), _value(pair["b"])
    in_inches = f"{count} @ {pair['a']} in x {pair['b']} in"
    if max(a, b) > _MOST_SHEET_FEET:
        return [in_inches]
    return [in_inches, *in_feet] if a == b else in_feet


def _spaced_first(text: str) -> bool:
    """Whether only the first of several signs of multiplying stands between spaces."""
    parts = _SPACED.split(text)
    return len(parts) == 2 and not re.search(_BY, parts[0], re.IGNORECASE)


def doubtful(text: str, kind: Kind | None, base: Unit) -> list[str]:
    """What a text could mean for this kind of material, the likelier first; empty without doubt.

    ``base``: the unit the component is counted in.
    """
    plain = " ".join(text.split())
    try:
        return _doubtful(plain, kind, base)
    except QuantityError:
        return []


def _doubtful(plain: str, kind: Kind | None, base: Unit) -> list[str]:
    if match := _TRIPLE.fullmatch(plain):
        return _of_triple(match, kind)
    if kind is Kind.PIPE and (match := _PIPE.fullmatch(plain)):
        # The first side is how wide it is across, which is no side of an area.
        return [f"{match['count'] or 1} @ {match['length']} {match['unit']}"]
    if match := _YARDS.fullmatch(plain):
        power = _power_of_yards(kind, base)
        return [f"{match['much']} {power} yd", f"{match['much']} linear yards"] if power else []
    if (match := _OUNCES.fullmatch(plain)) and base.dimension is Dimension.VOLUME:
        return [f"{match['much']} fl oz"]
    return _of_sides(plain, kind, base)


def _power_of_yards(kind: Kind | None, base: Unit) -> str:
    if base.dimension is Dimension.AREA:
        return "sq"
    return "cu" if kind is Kind.LOOSE or base.dimension is Dimension.VOLUME else ""


def _of_triple(match: re.Match[str], kind: Kind | None) -> list[str]:
    """Three bare sides: a sheet's, a block's, or nominal lumber and its length."""
    head = f"{match['count']}{match['unit'] or ''} @"
    tail = match["word"] or ""
    sides = [match[name] for name in "abc"]
    values = [_value(side) for side in sides]
    counted = [lookup(word.strip()) for word in (match["unit"] or "", tail)]
    if any(unit is not None and not unit.is_counted for unit in counted):
        return []
    as_sheet = any(unit is not None and unit.symbol == "sheet" for unit in counted)
    lumber = f"{head} {'x'.join(sides)} ft{tail}" if _is_lumber(values) else ""
    if as_sheet or kind is Kind.SHEET:
        if as_sheet and values[0] < min(values[1:]):
            # By its thickness first, as sheets are named.
            return []
        found = [f"{head} {size}{tail}" for size in _sheet_sizes(sides, values)]
        return found if as_sheet or not lumber else [*found, lumber]
    block = f"{head} {' x '.join(f'{side} in' for side in sides)}{tail}"
    if kind is Kind.BLOCK:
        return [block, lumber] if lumber else [block]
    if _is_lumber([values[1], values[0], values[2]]) and not lumber:
        # Its width stands first: that is told.
        return []
    if kind is Kind.LUMBER or (lumber and not _is_block(values) and values[0] <= 4):
        return []
    return [each for each in ([block, lumber] if _is_block(values) else [lumber, block]) if each]


def _sheet_sizes(sides: list[str], values: list[Fraction]) -> list[str]:
    """A sheet by its thickness in inches and two sides in feet, or all in inches."""
    a, b, c = sides
    inches = max(values) > _MOST_SHEET_FEET
    unit = "in" if inches else "ft"
    first = f"{a} in x {b} {unit} x {c} {unit}"
    last = f"{c} in x {a} {unit} x {b} {unit}"
    if values[0] < min(values[1:]):
        return [first]
    # A sheet less than two feet wide is none.
    return [last, first] if not inches and values[2] >= 2 else [last]


def _value(text: str) -> Fraction:
    return Reader(text).number()


def _is_lumber(values: list[Fraction]) -> bool:
    try:
        NominalSize(values[0], values[1])
    except LumberError:
        return False
    return values[2] >= 2


def _is_block(values: list[Fraction]) -> bool:
    """Whether it is the size of a concrete block: any thickness, 8 high, 16 long."""
    return values[0] in (4, 6, 8, 10, 12) and values[1] == 8 and values[2] == 16


def _of_sides(plain: str, kind: Kind | None, base: Unit) -> list[str]:
    """Sides that each have a unit and no count before: one such thing, or what it measures."""
    if "@" in plain or not _SIDES.search(plain):
        return []
    try:
        measured = read_product(plain)
    except QuantityError:
        return []
    if measured is None:
        return []
    value, unit = measured
    found = [format_quantity(value, unit), f"1 @ {plain}"]
    first = kind is Kind.LOOSE or base.dimension is unit.dimension
    return found if first else found[::-1]


def read_product(text: str, example: str = EXAMPLE) -> tuple[Fraction, Unit] | None:
    """``96 ft x 12 in x 6 in`` in cubic feet, ``10 ft x 12 ft`` in square feet; metric likewise.

    None where it is anything else. Raises QuantityError where a measure cannot be read.
    """
    reader = Reader(tidy(text, example=example), example)
    sides = [reader.measure()]
    while len(sides) < 3 and reader.skip("by"):
        sides.append(reader.measure())
    if reader.rest() or len(sides) < 2:
        return None
    product = Fraction(1)
    for value, unit in sides:
        if unit is None or unit.dimension is not Dimension.LENGTH:
            return None
        product *= value * unit.factor
    customary = any(unit.symbol in ("in", "ft", "yd", "mi") for _, unit in sides if unit)
    power = "sq" if len(sides) == 2 else "cu"
    whole = UNITS[f"{power} {'ft' if customary else 'm'}"]
    return product / whole.factor, whole
