"""Lengths of boards and pieces: read as people write them, written so that they can be measured.

Lengths with units are kept in metres, exactly. Where no length has a unit, numbers are numbers.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from ...calc.measures import LENGTH_EXAMPLE, QuantityError, Reader, plain, tidy
from ...calc.money import MoneyError, parse_amount
from ...calc.units import UNITS, Dimension, Unit, quote
from .types import CuttingError, Stock

_COUNTED_LAST = re.compile(r"(?P<length>.*\S)\s*[x×*]\s*(?P<count>[0-9]{1,9})", re.IGNORECASE)
_COUNTED_FIRST = re.compile(r"(?P<count>[0-9]{1,9})\s*@\s*(?P<length>\S.*)")
# A tape is read in halves, quarters, eighths … of an inch.
_TAPE = (1, 2, 4, 8, 16, 32, 64)


def read_length(text: str) -> tuple[Fraction, Unit | None]:
    """A length in metres and the unit it begins with; a bare number as it is, without a unit.

    Raises QuantityError.
    """
    reader = Reader(tidy(text, example=LENGTH_EXAMPLE), LENGTH_EXAMPLE)
    value, unit = reader.measure()
    if reader.rest():
        raise reader.wrong(
            f"holds {quote(reader.rest())}, which is not understood: enter one length, like"
            " 14 ft or 7' 6\""
        )
    if unit is None:
        return value, None
    if unit.dimension is not Dimension.LENGTH:
        raise reader.wrong(f"is in {unit.plural}, not a length: enter it like 14 ft or 2.4 m")
    return value * unit.factor, unit


@dataclass
class WithUnits:
    """Reads lengths that must each have a unit; nothing typed is 0.

    ``unit`` is the first one met, in which a plan is written.
    """

    units: list[Unit] = field(default_factory=list)

    @property
    def unit(self) -> Unit:
        return (self.units or [UNITS["ft"]])[0]

    def read(self, text: str) -> Fraction:
        """A length in metres. Raises QuantityError."""
        if not text:
            return Fraction(0)
        value, unit = read_length(text)
        if unit is None and value:
            raise QuantityError(f"“{text}” has no unit: enter it like 14 ft or 1/8 in.")
        if unit is not None:
            self.units.append(unit)
        return value


@dataclass
class Lengths:
    """Reads all lengths of one order, gathers faults, and writes lengths in the first one's unit.

    Call ``agree`` once everything is read.
    """

    faults: list[str] = field(default_factory=list)
    unit: Unit | None = None
    _seen: list[tuple[str, Unit | None]] = field(default_factory=list)

    def read(self, text: str, what: str) -> Fraction | None:
        """A length; a fault is noted after ``what`` it is of, and None comes back."""
        try:
            value, unit = read_length(text)
        except QuantityError as error:
            self.faults.append(f"{what}: {error}")
            return None
        if value or unit is not None:
            # Nothing is nothing in any unit.
            self._seen.append((text.strip(), unit))
        return value

    def agree(self) -> None:
        """Settle the unit. Numbers without a unit beside lengths with one are a fault each."""
        units = [unit for _, unit in self._seen if unit is not None]
        self.unit = units[0] if units else None
        if units:
            self.faults += [
                f"{quote(text)} has no unit, and other lengths have one: enter it like"
                f" '{text} {units[0].symbol}'."
                for text, unit in self._seen
                if unit is None
            ]

    def number(self, length: Fraction) -> str:
        """A length as a plain number of the unit."""
        return plain(length / self.unit.factor if self.unit else length)

    def area_number(self, area: Fraction) -> str:
        """An area as a plain number of the unit's squares."""
        return plain(area / self.unit.factor**2 if self.unit else area)

    def write_area(self, area: Fraction) -> str:
        """An area as one says it: 14.5 sq ft."""
        return write_area(area, self.unit)

    def write(self, length: Fraction) -> str:
        """A length as one measures it: 7 ft 6-1/2 in, 28 in, 2.4 m."""
        return write_length(length, self.unit)


def write_area(area: Fraction, unit: Unit | None) -> str:
    """An area in square metres beside lengths of a unit; a number where there is no unit."""
    if unit is None:
        return plain(area)
    square = UNITS["sq ft" if unit.symbol in ("ft", "in") else "sq m"]
    return f"{plain(area / square.factor, 2)} {square.symbol}"


def write_length(length: Fraction, unit: Unit | None) -> str:
    """A length in metres as it is measured in a unit; a number where there is no unit."""
    if unit is None:
        return plain(length)
    if unit.symbol not in ("ft", "in"):
        return f"{plain(length / unit.factor)} {unit.symbol}"
    inches = length / UNITS["in"].factor
    feet, rest = divmod(inches, 12) if unit.symbol == "ft" else (0, inches)
    parts = [f"{feet} ft"] if feet else []
    if rest or not parts:
        parts.append(f"{_tape(Fraction(rest))} in")
    return " ".join(parts)


def _tape(inches: Fraction) -> str:
    if inches.denominator not in _TAPE:
        return plain(inches, 3)
    whole, part = divmod(inches, 1)
    if not part:
        return str(whole)
    return f"{whole}-{part}" if whole else str(part)


def read_need(text: str) -> tuple[str, int] | None:
    """The length and the count of ``28 in x 4`` or ``4 @ 28 in``; None for anything else."""
    tidied = text.strip()
    found = _COUNTED_FIRST.fullmatch(tidied) or _COUNTED_LAST.fullmatch(tidied)
    return (found["length"], int(found["count"])) if found else None


def read_stock(text: str, lengths: Lengths, trim: Fraction) -> Stock | None:
    """A board written LENGTH[:PRICE[:COUNT]]; faults are noted, and None comes back.

    A count without a price is what is on hand.
    """
    length_text, *others = text.split(":")
    what = f"Stock {quote(text)}"
    length = lengths.read(length_text, what)
    price_text, count_text = [*(part.strip() for part in others), "", ""][:2]
    if len(others) > 2:
        lengths.faults.append(f"{what} holds more than a length, a price and a count.")
        return None
    price = None
    if price_text:
        try:
            price = Fraction(parse_amount(price_text, f"{what}: the price"))
        except MoneyError as error:
            lengths.faults.append(str(error))
            return None
    count = None
    if count_text:
        if not count_text.isascii() or not count_text.isdecimal() or len(count_text) > 9:
            lengths.faults.append(
                f"{what}: {quote(count_text)} is not a count: enter a whole number, or nothing for"
                " as many as are wanted."
            )
            return None
        count = int(count_text)
    if length is None:
        return None
    return Stock(
        length_text.strip(), length, price, count, trim, count is not None and price is None
    )


def refuse(faults: Sequence[str]) -> None:
    """Raises CuttingError with the faults, if there are any."""
    if faults:
        raise CuttingError(*faults)
