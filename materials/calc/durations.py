"""Hours as people write them, and how many a day has."""

import re
from fractions import Fraction
from typing import Final

from .quantities import QuantityError, parse_quantity
from .units import UNITS, Dimension

HOURS_OF_A_DAY = 24
LONG_DAY = f"A day has {HOURS_OF_A_DAY} hours: log the hours of each day by themselves."
FORMATS = "enter them like 1.5, 1:30, 45 min or 2 h 30"

_HOUR = r"(?:(?:h|hrs?|hours?)\.?)"
_MINUTE = r"(?:(?:m|mins?|minutes?)\.?)"
_CLOCK = re.compile(r"(\d{1,6}):(\d{1,2})")
_WORDED = re.compile(rf"(\d{{1,6}})\s*{_HOUR}\s*(\d{{1,2}})\s*{_MINUTE}?", re.IGNORECASE)
_MINUTES = re.compile(rf"(\d{{1,6}})\s*{_MINUTE}", re.IGNORECASE)
_DAYS: Final = re.compile(r"([0-9]{1,3})\s*days?", re.IGNORECASE)
# Signs of a fraction, and words that stand for one or for a whole number.
_FRACTION = re.compile(r"[/⁄½⅓⅔¼¾⅕⅖⅗⅘⅙⅚⅐⅛⅜⅝⅞]|^[^\W\d_]")
_ENDING = re.compile(rf"(?<=[\d.,])\s*{_HOUR}$", re.IGNORECASE)


def read_hours(text: str) -> Fraction | None:
    """Hours of ``1:30``, ``2 h 30``, ``2h30``, ``45 min``, ``3 1/2`` or ``half an hour``, exactly.

    None for what is written in another way, plain numbers among it, and for sixty minutes or
    more beside hours.
    """
    typed = text.strip()
    found = _CLOCK.fullmatch(typed) or _WORDED.fullmatch(typed)
    if found and int(found[2]) < 60:
        return int(found[1]) + Fraction(int(found[2]), 60)
    if found := _MINUTES.fullmatch(typed):
        return Fraction(int(found[1]), 60)
    return _as_quantity(typed) if _FRACTION.search(typed) else None


def _as_quantity(typed: str) -> Fraction | None:
    """Hours with a fraction or in words, read as quantities are."""
    try:
        read = parse_quantity(typed, UNITS["h"])
    except QuantityError:
        return None
    return read.count * read.unit.factor if read.unit.dimension is Dimension.TIME else None


def whole_days(text: str) -> int:
    """How many days “2 days” are; 0 for any other text."""
    found = _DAYS.fullmatch(text.strip())
    return int(found[1]) if found else 0


def without_unit(text: str) -> str:
    """The number of ``2 h`` or ``1.5 hours``; any other text as it is."""
    return _ENDING.sub("", text.strip())
