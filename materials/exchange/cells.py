"""One cell to one value, by the kind of its column.

Spreadsheet programs store every number as a binary fraction; its shortest decimal form is
what was typed, and ``number_of`` is the one place where that step is taken.
"""

import math
import re
import unicodedata
from collections.abc import Callable
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

from ..calc.deadlines import TIME_FORMATS, read_time
from ..calc.durations import FORMATS, read_hours
from ..calc.money import (
    MAX_AMOUNT,
    AmountSizeError,
    MoneyError,
    parse_amount,
    plain,
    round_half_up,
)
from ..calc.quantities import Contents, QuantityError, convert, parse_quantity
from ..calc.units import UNITS
from ..fields import zone_names
from .columns import Column, Kind
from .faults import shown

Value = Any
RATE_PLACES, PERCENT_PLACES, HOURS_PLACES, NUMBER_PLACES = 6, 4, 4, 6
EARLIEST, LATEST = 1900, 2200
APOSTROPHES = str.maketrans("’‘´`", "''''")
# Other forms of ISO 8601 (20260403, 2026-W14-5) are more likely slips than meant.
_ISO_DATE = re.compile(r"([0-9]{4}-[0-9]{2}-[0-9]{2})(?:[ T]00:00(?::00)?)?")
YES, NO = {"yes", "y", "true", "1"}, {"no", "n", "false", "0"}


class CellError(ValueError):
    """A cell that cannot be read; ``str()`` is a sentence for the user."""


class CellSizeError(CellError):
    """A number that is one, but too large or too fine."""


def number_of(cell: Value) -> Decimal | None:
    """The exact decimal of a number cell, None for any other cell. Raises CellError."""
    if isinstance(cell, bool):
        return None
    if isinstance(cell, int | Decimal):
        return Decimal(cell)
    if isinstance(cell, float):
        if not math.isfinite(cell):
            raise CellError("The cell does not hold a usable number: type it again.")
        return Decimal(repr(cell))
    return None


def text_of(cell: Value) -> str:
    """A cell as one line of text. Raises CellError on control characters."""
    if isinstance(cell, str):
        # Line breaks inside a cell are common and harmless: one space.
        text = cell if cell.isprintable() else _clean(cell)
    elif isinstance(cell, bool):
        text = "yes" if cell else "no"
    elif isinstance(cell, datetime):
        text = cell.date().isoformat() if cell.time() == time() else cell.isoformat(" ")
    elif isinstance(cell, date | time | timedelta):
        text = str(cell)
    else:
        number = number_of(cell)
        text = plain(number) if number is not None else str(cell)
    return " ".join(part for part in text.split(" ") if part) if "  " in text else text.strip()


def _clean(text: str) -> str:
    kept = []
    for sign in text:
        if sign in "\t\n\r":
            kept.append(" ")
        elif unicodedata.category(sign) in ("Cc", "Cs", "Cn", "Co"):
            raise CellError(
                f"The text holds an invisible character (U+{ord(sign):04X}): type the text again."
            )
        else:
            kept.append(sign)
    return "".join(kept)


class CellReader:
    """Reads cells for a build whose currency has ``places`` decimals.

    ``rounded`` tells of an amount that had more decimals than the currency.
    """

    def __init__(self, places: int):
        self.places = places
        self.rounded = False
        self._by_kind: dict[Kind, Callable[[Value, Column], Value]] = {
            Kind.TEXT: self._text,
            Kind.QUANTITY: self._quantity,
            Kind.AMOUNT: self._amount,
            Kind.RATE: self._rate,
            Kind.PERCENT: self._percent,
            Kind.DATE: self._date,
            Kind.CHOICE: self._choice,
            Kind.NUMBER: self._number,
            Kind.HOURS: self._hours,
            Kind.YES_NO: self._yes_no,
            Kind.TIME: self._time,
            Kind.ZONE: self._zone,
        }

    def read(self, cell: Value, column: Column) -> Value:
        """The value of a cell that is not blank. Raises CellError with a sentence."""
        return self._by_kind[column.kind](cell, column)

    def _text(self, cell: Value, column: Column) -> str:
        text = text_of(cell)
        if column.max_length and len(text) > column.max_length:
            raise CellError(
                f"The text has {len(text):,} signs: shorten it to {column.max_length} or fewer."
            )
        return text

    def _quantity(self, cell: Value, column: Column) -> str:
        if isinstance(cell, date | time | timedelta):
            raise CellError(
                "The cell holds a date: spreadsheet programs turn text like 1/2 or 3-4 "
                "into one. Format the cell as text and type the quantity again."
            )
        if isinstance(cell, bool):
            raise CellError("The cell holds yes or no: enter a quantity, like 20 gal.")
        return self._text(cell, column)

    def _decimal(self, cell: Value, what: str) -> Decimal:
        """A number cell, or a number typed as text."""
        value = number_of(cell)
        if value is not None:
            return value
        text = text_of(cell)
        if not isinstance(cell, str):
            raise CellError(f"{what} {shown(text)} is not a number: enter it like 12.5.")
        try:
            return parse_amount(text, what)
        except AmountSizeError as error:
            raise CellSizeError(str(error)) from None
        except MoneyError:
            raise CellError(
                f"{what} {shown(text)} is not a number: enter it like 12.5, or leave it empty."
            ) from None

    def _bounded(self, value: Decimal, column: Column) -> Decimal:
        low, high = column.low, column.high
        if low is not None and value < low:
            what = "is negative" if low == 0 else f"is below {low}"
            raise CellError(f"{plain(value)} {what}: enter {_range(low, high)}.")
        if high is not None and value > high:
            raise CellError(f"{plain(value)} is above {high}: enter {_range(low, high)}.")
        return value

    @staticmethod
    def _rounded(value: Decimal, places: int) -> Decimal:
        rounded = round_half_up(value, places)
        if abs(rounded) >= MAX_AMOUNT:
            raise CellError(f"Too large: enter less than {MAX_AMOUNT:,}.")
        return rounded

    def _money(self, cell: Value, column: Column, places: int) -> Decimal:
        value = number_of(cell)
        if value is None:
            if not isinstance(cell, str):
                raise CellError("The cell holds no amount: enter it like 12.50.")
            try:
                value = parse_amount(text_of(cell), "The amount")
            except MoneyError as error:
                raise CellError(str(error)) from None
        value = self._bounded(value, column)
        rounded = self._rounded(value, places)
        # Less than a millionth is the noise of a calculated cell, not a decimal somebody typed.
        self.rounded = abs(rounded - value) > Decimal("0.000001")
        return rounded

    def _amount(self, cell: Value, column: Column) -> Decimal:
        return self._money(cell, column, self.places)

    def _rate(self, cell: Value, column: Column) -> Decimal:
        return self._money(cell, column, RATE_PLACES)

    def _percent(self, cell: Value, column: Column) -> Decimal:
        if isinstance(cell, str):
            cell = cell.strip().removesuffix("%").strip()
        value = self._bounded(self._decimal(cell, "The percentage"), column)
        return self._rounded(value, PERCENT_PLACES)

    def _number(self, cell: Value, column: Column) -> Decimal:
        value = self._bounded(self._decimal(cell, "The number"), column)
        return self._rounded(value, NUMBER_PLACES)

    def _hours(self, cell: Value, column: Column) -> Decimal:
        if isinstance(cell, timedelta | time):
            raise CellError("The cell holds a time of day: enter the hours like 4.5.")
        try:
            value = self._decimal(cell, "The hours")
        except CellSizeError:
            raise
        except CellError:
            # “1 h 30 min” is how many people write it.
            text = text_of(cell)
            exact = read_hours(text)
            try:
                if exact is None:
                    spent = parse_quantity(text)
                    exact = convert(spent.count, spent.unit, UNITS["h"], Contents())
            except QuantityError:
                raise CellError(f"The hours {shown(text)} are not understood: {FORMATS}.") from None
            value = round_half_up(exact, HOURS_PLACES)
        return self._rounded(self._bounded(value, column), HOURS_PLACES)

    def _date(self, cell: Value, column: Column) -> date:
        if isinstance(cell, datetime):
            found = cell.date()
        elif isinstance(cell, date):
            found = cell
        else:
            text = text_of(cell)
            match = _ISO_DATE.fullmatch(text)
            try:
                found = date.fromisoformat(match[1] if match else "")
            except ValueError:
                raise CellError(
                    f"{shown(text)} is not a clear date: enter it like 2026-04-03, or "
                    "format the cell as a date."
                ) from None
        if not EARLIEST <= found.year <= LATEST:
            raise CellError(f"The year {found.year} cannot be right: enter it like 2026-04-03.")
        return found

    def _time(self, cell: Value, column: Column) -> time:
        if isinstance(cell, datetime):
            cell = cell.time()
        number = number_of(cell)
        if number is not None and 0 <= number < 1:
            # A cell whose format is no time any more: the share of a day.
            minutes = int(round_half_up(number * 24 * 60, 0)) % (24 * 60)
            return time(*divmod(minutes, 60))
        found = read_time(text_of(cell))
        if isinstance(cell, time):
            nearest = datetime.combine(date(2000, 1, 1), cell) + timedelta(seconds=30)
            found = nearest.time().replace(second=0, microsecond=0)
        if found is None:
            raise CellError(f"{shown(text_of(cell))} is not a time: enter it {TIME_FORMATS}.")
        return found

    def _zone(self, cell: Value, column: Column) -> str:
        text = text_of(cell)
        wanted = text.replace(" ", "_").casefold()
        found = next((name for name in zone_names() if name.casefold() == wanted), None)
        if found is None:
            raise CellError(f"{shown(text)} is not known here: enter {column.hint}.")
        return found

    def _choice(self, cell: Value, column: Column) -> str:
        text = text_of(cell)
        wanted = " ".join(text.translate(APOSTROPHES).split()).casefold()
        for value in column.choices:
            if value == wanted:
                return value
        raise CellError(f"{shown(text)} is not known here: enter {column.hint}.")

    def _yes_no(self, cell: Value, column: Column) -> bool:
        text = text_of(cell).casefold()
        if text in YES or text in NO:
            return text in YES
        raise CellError(f"{shown(text)} is not an answer here: enter yes or no.")


def _range(low: Decimal | None, high: Decimal | None) -> str:
    if low is not None and high is not None:
        return f"a number from {low} to {high}"
    return "0 or more"
