"""Days in the styles people write them; what could be read two ways is asked, not guessed."""

import re
from datetime import date, timedelta

from ..cells import EARLIEST, LATEST, CellError
from ..faults import shown
from .cells import Cell, cell_text, tag_of

_MONTHS = {
    name[:length]: number
    for number, name in enumerate(
        "january february march april may june july august september october november"
        " december".split(),
        1,
    )
    for length in {3, 4, len(name)}
}
_WEEKDAY = re.compile(r"(?:mon|tue|tues|wed|thu|thur|thurs|fri|sat|sun)[a-z]*\.?,?\s+", re.I)
_CLOCK = re.compile(
    r"(?:t|,?\s+)\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s*(?:[ap]\.?m\.?|z|[+-]\d\d:?\d\d)?$",
    re.IGNORECASE,
)
_YEAR_FIRST = re.compile(r"(\d{4})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{1,2})\.?")
_NUMBERS = re.compile(r"(\d{1,2})\s?([-/.])\s?(\d{1,2})\s?\2\s?(\d{4}|\d{2})")
# “4.5” is a number; with a point behind it, or a stroke between, it may be a day.
_TWO = re.compile(r"(\d{1,2})\s?(?:[-/]\s?(?=\d)|\.\s?(?=\d{1,2}\.$))(\d{1,2})\.?")
_DAY_NAME = re.compile(
    r"(\d{1,2})(?:st|nd|rd|th)?\.?(?:\s+of)?[\s-]*([a-z]{3,9})\.?,?[\s-]*(\d{4}|'?\d{2})?", re.I
)
_NAME_DAY = re.compile(
    r"([a-z]{3,9})\.?[\s-]*(\d{1,2})(?:st|nd|rd|th)?(?:,?[\s-]+(\d{4}|'?\d{2}))?", re.I
)
# Day numbers of spreadsheet programs for the years 2000 to 2099.
_SERIALS = range(36526, 73051)
_ZERO_DAY = date(1899, 12, 30)
LIKE = "enter it like 2026-04-03"


def date_style(text: str) -> str:
    """How a text writes a day: clear, day (the day must come first), month, either, no year.

    Empty when it is no day at all.
    """
    text = _plain(text)
    if match := _NUMBERS.fullmatch(text):
        first, second = int(match[1]), int(match[3])
        if first > 12 or second > 12:
            if first > 31 or second > 31 or (first > 12 and second > 12):
                return ""
            return "day" if first > 12 else "month"
        return "clear" if first == second else "either"
    if _YEAR_FIRST.fullmatch(text):
        return "clear"
    found = _named(text)
    if found is not None:
        return "clear" if found[2] else "no year"
    match = _TWO.fullmatch(text)
    return "no year" if match and 0 < int(match[1]) <= 31 and 0 < int(match[2]) <= 31 else ""


def is_month(text: str) -> bool:
    """Whether a text is the name of a month, with or without a year."""
    return bool(re.fullmatch(r"([a-z]{3,9})\.?(\s+\d{4})?", text.strip(), re.IGNORECASE)) and (
        text.split()[0].lower().strip(".") in _MONTHS
    )


def read_date(cell: Cell, day_first: bool | None = None, year: int | None = None) -> date:
    """The day in a cell.

    ``day_first`` decides what could be read two ways; ``year`` is that of days without one.
    Raises CellError with a sentence.
    """
    tag = tag_of(cell)
    if tag == "d":
        return _checked(date.fromisoformat(cell[1]))
    text = cell_text(cell)
    if tag == "n" and not re.fullmatch(r"(19|20)\d{6}", text):
        raise CellError(_number_sentence(text))
    if tag in ("t", "b"):
        raise CellError(f"The cell holds {shown(text)}, not a day: {LIKE}.")
    return _written(text, day_first, year)


def _written(text: str, day_first: bool | None, year: int | None) -> date:
    plain = _plain(text)
    if match := re.fullmatch(r"((?:19|20)\d\d)(\d\d)(\d\d)", plain):
        return _day(text, int(match[1]), int(match[2]), int(match[3]))
    if match := _YEAR_FIRST.fullmatch(plain):
        return _day(text, int(match[1]), int(match[3]), int(match[4]))
    if match := _NUMBERS.fullmatch(plain):
        return _ordered(text, int(match[1]), int(match[3]), _year(match[4]), day_first)
    found = _named(plain)
    if found is not None:
        day, month, written = found
        if not (written or year):
            raise CellError(f"{shown(text)} has no year: {LIKE}.")
        return _day(text, written or year or 0, month, day)
    if match := _TWO.fullmatch(plain):
        if not year:
            raise CellError(f"{shown(text)} has no year: {LIKE}.")
        return _ordered(text, int(match[1]), int(match[2]), year, day_first)
    raise CellError(f"{shown(text)} is not understood as a day: {LIKE}.")


def _plain(text: str) -> str:
    text = _WEEKDAY.sub("", " ".join(text.split()), count=1)
    return _CLOCK.sub("", text).strip(" ,")


def _named(text: str) -> tuple[int, int, int] | None:
    """Day, month, year (0 when not written) of a text with the month in words."""
    for pattern, day, month in ((_DAY_NAME, 1, 2), (_NAME_DAY, 2, 1)):
        match = pattern.fullmatch(text)
        if match and match[month].lower() in _MONTHS:
            return int(match[day]), _MONTHS[match[month].lower()], _year(match[3] or "")
    return None


def _year(text: str) -> int:
    digits = text.strip("'")
    if not digits:
        return 0
    year = int(digits)
    return year if len(digits) == 4 else year + (2000 if year < 70 else 1900)


def _ordered(text: str, first: int, second: int, year: int, day_first: bool | None) -> date:
    if first > 12:
        return _day(text, year, second, first)
    if second > 12 or first == second:
        return _day(text, year, first, second)
    if day_first is None:
        raise CellError(
            f"{shown(text)} can be read as two days: say whether the day or the month comes"
            f" first in this column, or {LIKE}."
        )
    return _day(text, year, second, first) if day_first else _day(text, year, first, second)


def _day(text: str, year: int, month: int, day: int) -> date:
    try:
        return _checked(date(year, month, day))
    except CellError:
        raise
    except ValueError:
        raise CellError(f"There is no day {shown(text)}: {LIKE}.") from None


def _checked(day: date) -> date:
    if not EARLIEST <= day.year <= LATEST:
        raise CellError(f"The year {day.year} cannot be right: {LIKE}.")
    return day


def _number_sentence(text: str) -> str:
    if text.isdecimal() and len(text) < 6 and int(text) in _SERIALS:
        day = _ZERO_DAY + timedelta(days=int(text))
        return (
            f"{shown(text)} is a number. If it is a day number of a spreadsheet program, it means"
            f" {day.isoformat()}: type that, or format the column as dates."
        )
    return f"{shown(text)} is a number, not a day: {LIKE}."
