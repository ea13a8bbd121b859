"""Cells as they are kept between reading and understanding: small values that JSON can hold.

``None`` is blank and a string is text. Everything else is a tagged pair: ``["n", "12.5"]`` a
number in plain decimals, ``["d", "2026-04-03"]`` a day, ``["t", "16200"]`` a time of day or a
length of time in seconds, ``["b", true]`` yes or no, ``["e", "…"]`` a cell that cannot be read,
with the sentence that says why, and ``["m", cell]`` a cell that a merge covers, with the cell
that the merge shows.
"""

import math
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

Cell = Any  # None, str, or a tagged pair

# A cell holds at most 32 767 signs (ISO/IEC 29500 applications); a ledger needs far fewer.
MAX_CELL = 5000
UNREADABLE = "\ufffd"
_MONTHS = "Jan Feb Mar Apr May Jun Jul Aug Sep Oct Nov Dec".split()


def tagged(value: Any) -> Cell:
    """A value of a spreadsheet reader as a cell."""
    if value is None:
        return None
    if isinstance(value, str):
        return text_cell(value)
    if isinstance(value, bool):
        return ["b", value]
    if isinstance(value, int | Decimal):
        return ["n", f"{value:f}" if isinstance(value, Decimal) else str(value)]
    if isinstance(value, datetime):
        return ["d", value.date().isoformat()]
    if isinstance(value, date):
        return ["d", value.isoformat()]
    if isinstance(value, time):
        return ["t", str(value.hour * 3600 + value.minute * 60 + value.second)]
    if isinstance(value, timedelta):
        return ["t", str(value.days * 86400 + value.seconds)]
    if not math.isfinite(value):
        return ["e", "The cell does not hold a usable number: type it again."]
    # The shortest decimal of a binary fraction is what was typed.
    number = f"{Decimal(repr(value)):f}"
    return ["n", number.rstrip("0").rstrip(".") if "." in number else number]


def text_cell(text: str) -> Cell:
    """A text, None when it is blank; signs that nobody can see or keep are marked."""
    if not text or text.isspace():
        return None
    if len(text) > MAX_CELL:
        return ["e", f"The cell holds {len(text):,} signs: shorten it to 500 or fewer."]
    return visible(text)


def visible(text: str) -> str:
    """A text whose control signs are replaced by a mark that says so."""
    if text.isprintable():
        return text
    return "".join(
        sign if sign in "\t\n\r" or not _is_control(sign) else UNREADABLE for sign in text
    )


def _is_control(sign: str) -> bool:
    code = ord(sign)
    return code < 32 or 0x7F <= code < 0xA0 or 0xD800 <= code <= 0xDFFF or code in (0xFFFE, 0xFFFF)


def tag_of(cell: Cell) -> str:
    """The kind of a cell: "" for blank, "s" for text, else its tag."""
    if cell is None:
        return ""
    return "s" if isinstance(cell, str) else cell[0]


def cell_text(cell: Cell) -> str:
    """A cell as one would type it: numbers plain, days like 2026-04-03, hours like 4:30."""
    if cell is None:
        return ""
    if isinstance(cell, str):
        return " ".join(cell.split())
    tag, value = cell
    if tag == "m":
        return cell_text(value)
    if tag == "b":
        return "yes" if value else "no"
    if tag == "t":
        hours, rest = divmod(int(value), 3600)
        return f"{hours}:{rest // 60:02}"
    return "" if tag == "e" else value


def head_text(cell: Cell, most: int = 60) -> str:
    """A cell for the first look at a sheet, cut short."""
    if isinstance(cell, list) and cell[0] == "d":
        year, month, day = cell[1].split("-")
        return f"{int(day)} {_MONTHS[int(month) - 1]} {year}"
    text = "(not readable)" if tag_of(cell) == "e" else cell_text(cell)
    return text if len(text) <= most else text[:most].rstrip() + "…"
