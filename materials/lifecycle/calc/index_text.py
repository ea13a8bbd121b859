"""Reading an index of prices as it is pasted: one month a line."""

import re
from datetime import date
from fractions import Fraction

from ...calc.money import MoneyError, parse_amount
from .escalation import IndexValue

_MONTHS = {
    name: number
    for number, name in enumerate(
        "jan feb mar apr may jun jul aug sep oct nov dec".split(), start=1
    )
}
_NUMBERED = re.compile(r"(\d{4})-(\d{1,2})(?:-\d{1,2})?\b")
_NAMED = re.compile(r"([A-Za-z]{3,9})\.?[ -]+(\d{4})\b")
_NAMED_LAST = re.compile(r"(\d{4})[ -]+([A-Za-z]{3,9})\.?(?![A-Za-z])")
_PRELIMINARY = re.compile(r"\(?\b(preliminary|prelim|p)\)?\.?$", re.IGNORECASE)
MOST_LINES = 1200
PLACES = 6


class IndexTextError(ValueError):
    """A line that cannot be read; ``str()`` is a sentence for the user."""


def parse_index(text: str) -> tuple[IndexValue, ...]:
    """Values by month from lines like ``2014-07 116.3`` or ``Jul 2014, 116.3 preliminary``.

    Months in order. Raises IndexTextError naming the line, for a month given twice too.
    """
    found: dict[date, IndexValue] = {}
    lines = [line.strip() for line in text.splitlines()]
    if len(lines) > MOST_LINES:
        raise IndexTextError(f"There are more than {MOST_LINES} lines: leave the oldest out.")
    for number, line in enumerate(lines, start=1):
        if not line:
            continue
        value = _read(line, number)
        if value.month in found:
            raise IndexTextError(f"Line {number}: {value.month:%B %Y} is there twice: keep one.")
        found[value.month] = value
    return tuple(found[month] for month in sorted(found))


def write_index(values: tuple[IndexValue, ...]) -> str:
    """The lines ``parse_index`` reads."""
    return "\n".join(
        f"{value.month:%Y-%m} {_plain(value.value)}{' preliminary' * value.is_preliminary}"
        for value in values
    )


def _plain(value: Fraction) -> str:
    scaled = int(value * 10**PLACES)
    text = f"{scaled // 10**PLACES}.{scaled % 10**PLACES:0{PLACES}}"
    return text.rstrip("0").rstrip(".")


def _read(line: str, number: int) -> IndexValue:
    month, rest = _month(line, number)
    rest = rest.strip(" \t,;:|=")
    marked = _PRELIMINARY.search(rest)
    if marked:
        rest = rest[: marked.start()].strip(" \t,;|")
    try:
        value = Fraction(parse_amount(rest, "The value", "enter the month, then it, like 116.3"))
    except MoneyError as error:
        raise IndexTextError(f"Line {number}: {error}") from None
    if value <= 0:
        raise IndexTextError(f"Line {number}: the value of an index is above zero.")
    if (value * 10**PLACES).denominator != 1:
        raise IndexTextError(f"Line {number}: the value has more than {PLACES} decimal places.")
    return IndexValue(month, value, bool(marked))


def _month(line: str, number: int) -> tuple[date, str]:
    """The month a line begins with, and the rest of it."""
    if match := _NUMBERED.match(line):
        year, month = int(match[1]), int(match[2])
    elif match := _NAMED.match(line):
        year, month = int(match[2]), _MONTHS.get(match[1][:3].lower(), 0)
    elif match := _NAMED_LAST.match(line):
        year, month = int(match[1]), _MONTHS.get(match[2][:3].lower(), 0)
    else:
        match, year, month = None, 0, 0
    if match is None or not 1 <= month <= 12 or not 1900 <= year <= 2200:
        shown = line if len(line) <= 40 else f"{line[:40]}…"
        raise IndexTextError(
            f"Line {number}, “{shown}”, does not begin with a month: enter it like 2014-07 or"
            " Jul 2014."
        )
    return date(year, month, 1), line[match.end() :]
