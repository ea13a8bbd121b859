"""Names of cells and pieces of formulas. A formula uses only what every engine has."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ...calc.letters import letters
from ..columns import Kind, Sheet

UNKNOWN = "not known"
# Whole numbers up to here are exact in a spreadsheet.
EXACT = 10**15


class Formula(str):
    """A formula, beginning with “=”; ``result`` is its present value where it is known."""

    __slots__ = ("result",)
    result: Any

    def __new__(cls, text: str, result: Any = "") -> "Formula":
        made = super().__new__(cls, f"={text}")
        made.result = result
        return made


@dataclass(frozen=True, slots=True)
class Heading:
    """A column of workings."""

    key: str
    heading: str
    kind: Kind = Kind.NUMBER
    width: int = 12


class Grid:
    """Where the cells of a sheet are. Rows count from 1."""

    def __init__(self, title: str, columns: Sequence[Heading] = (), keys: Sequence[str] = ()):
        self.title, self.columns = title, tuple(columns)
        named = [column.key for column in columns] or keys
        self.letters = {key: letters(index) for index, key in enumerate(named, 1)}
        self.prefix = f"'{title}'!" if " " in title else f"{title}!"

    @classmethod
    def of(cls, sheet: Sheet) -> "Grid":
        """The cells of a sheet of the schema."""
        return cls(sheet.title, keys=[column.key for column in sheet.columns])

    def cell(self, key: str, row: int) -> str:
        """A cell, as any sheet names it."""
        return f"{self.prefix}{self.letters[key]}{row}"

    def span(self, key: str, first: int, last: int) -> str:
        """Cells one below the other."""
        letters = self.letters[key]
        return f"{self.prefix}${letters}${first}:${letters}${last}"


def quoted(text: str) -> str:
    """A text inside a formula."""
    return '"' + text.replace('"', '""') + '"'


def number(value: Fraction | int) -> str:
    """An exact number inside a formula: 16, 100/350, 2.5."""
    exact = Fraction(value)
    if exact.denominator == 1:
        return str(exact.numerator)
    if max(abs(exact.numerator), exact.denominator) < EXACT:
        return f"{exact.numerator}/{exact.denominator}"
    return f"{exact.numerator * 10**18 // exact.denominator}/{10**18}"


class Money:
    """Rounding to the minor unit, half away from zero."""

    def __init__(self, places: int):
        self.unit = 10**places

    def units(self, amount: str) -> str:
        """An amount in minor units, whole."""
        return f"ROUND(ROUND(({amount})*{self.unit},6),0)"

    def amount(self, amount: str) -> str:
        """An amount rounded to the minor unit."""
        return f"{self.units(amount)}/{self.unit}"
