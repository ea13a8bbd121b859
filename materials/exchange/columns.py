"""Kinds of columns, the fields they stand for, and short ways to describe one."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, auto
from typing import Any

from django.db.models import Model


class Kind(Enum):
    """How a cell is read. RATE is money with six decimals (unit prices), AMOUNT is a sum."""

    TEXT = auto()
    QUANTITY = auto()
    AMOUNT = auto()
    RATE = auto()
    PERCENT = auto()
    DATE = auto()
    CHOICE = auto()
    NUMBER = auto()
    HOURS = auto()
    YES_NO = auto()


class Need(Enum):
    """Whether a cell must be filled: never, always, or on the first row of its group."""

    OPTIONAL = auto()
    ALWAYS = auto()
    FIRST = auto()
    FIRST_OPTIONAL = auto()


@dataclass(frozen=True)
class Column:
    """One column. ``hint`` completes “… is missing: write …”; ``low``/``high`` bound numbers.

    ``model`` and ``field``: what a person states in it; a record that is linked is named.
    """

    title: str
    key: str
    kind: Kind = Kind.TEXT
    need: Need = Need.OPTIONAL
    hint: str = "it in"
    max_length: int = 0
    choices: tuple[str, ...] = ()
    low: Decimal | None = Decimal(0)
    high: Decimal | None = None
    width: int = 14
    model: type[Model] | None = None
    field: str = ""


@dataclass(frozen=True)
class Sheet:
    """One sheet: its title and columns in the order they are written."""

    title: str
    columns: tuple[Column, ...]

    def column(self, key: str) -> Column:
        """The column of a key."""
        return next(column for column in self.columns if column.key == key)

    def columns_of(self, model: type[Model]) -> tuple[Column, ...]:
        """The columns that hold what is stated of a kind of record."""
        return tuple(column for column in self.columns if column.model is model)

    def stated(self, model: type[Model], values: Mapping[str, Any]) -> dict[str, Any]:
        """What a row's cells, by their keys, state of a kind of record; links are left out."""
        return {
            column.field: values[column.key]
            for column in self.columns_of(model)
            if column.key in values and not model._meta.get_field(column.field).is_relation
        }


OPTIONAL, ALWAYS, FIRST = Need.OPTIONAL, Need.ALWAYS, Need.FIRST
FIRST_OPTIONAL = Need.FIRST_OPTIONAL
HUNDRED = Decimal(100)
TEN_THOUSAND = Decimal(10_000)
A_QUANTITY = "a quantity with its unit, like 16 @ 2x6x16 or 35 gal"


def _length(model: type[Model], field: str) -> int:
    """How long the text of a field may be; of a link, the name of what it leads to."""
    found = model._meta.get_field(field)
    if found.is_relation:
        linked = found.related_model._meta
        named_by = "number" if hasattr(found.related_model, "number") else "name"
        found = linked.get_field(named_by)
    return found.max_length or 0


def text_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    need: Need = OPTIONAL,
    hint: str = "it in",
    width: int = 24,
) -> Column:
    """A text that ends up in a model's field and may be as long as that."""
    length = _length(model, field)
    return Column(title, key, Kind.TEXT, need, hint, length, width=width, model=model, field=field)


def quantity_column(
    title: str, key: str, model: type[Model], field: str, need: Need = ALWAYS
) -> Column:
    """A quantity, kept as typed in a model's field."""
    length = _length(model, field)
    return Column(
        title, key, Kind.QUANTITY, need, A_QUANTITY, length, width=18, model=model, field=field
    )


def amount_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    need: Need = OPTIONAL,
    low: Decimal | None = Decimal(0),
) -> Column:
    """A sum of money, in the currency's minor unit."""
    return Column(
        title, key, Kind.AMOUNT, need, "an amount", low=low, width=12, model=model, field=field
    )


def rate_column(
    title: str, key: str, model: type[Model], field: str, need: Need = OPTIONAL
) -> Column:
    """A price or rate, with six decimals."""
    return Column(title, key, Kind.RATE, need, "a price", width=12, model=model, field=field)


def percent_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    high: Decimal = HUNDRED,
    low: Decimal = Decimal(0),
) -> Column:
    """A percentage; 0 to 100 unless said otherwise."""
    return Column(title, key, Kind.PERCENT, low=low, high=high, width=10, model=model, field=field)


def number_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    high: Decimal | None = None,
    width: int = 10,
) -> Column:
    """A number that is no money."""
    return Column(title, key, Kind.NUMBER, high=high, width=width, model=model, field=field)


def hours_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    need: Need = OPTIONAL,
    hint: str = "it in",
    width: int = 14,
) -> Column:
    """Hours."""
    return Column(title, key, Kind.HOURS, need, hint, width=width, model=model, field=field)


def yes_no_column(title: str, key: str, model: type[Model], field: str, width: int = 10) -> Column:
    """Yes or no."""
    return Column(title, key, Kind.YES_NO, width=width, model=model, field=field)


def date_column(
    title: str, key: str, model: type[Model], field: str, need: Need = ALWAYS
) -> Column:
    """A day."""
    hint = "the date like 2026-04-03"
    return Column(title, key, Kind.DATE, need, hint, width=12, model=model, field=field)


def choice_column(
    title: str,
    key: str,
    model: type[Model],
    field: str,
    values: Sequence[str],
    need: Need = OPTIONAL,
) -> Column:
    """One of a fixed list of words."""
    words = tuple(str(value) for value in values)
    hint = "one of " + ", ".join(words)
    return Column(title, key, Kind.CHOICE, need, hint, choices=words, model=model, field=field)


def component_column(
    title: str, key: str, model: type[Model], field: str = "component", need: Need = ALWAYS
) -> Column:
    """The name of a component."""
    return text_column(title, key, model, field, need, "the component's name", width=28)
