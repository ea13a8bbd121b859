"""Kinds of columns, and short ways to describe one."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, auto

from django.db import models as django_models

from ..models import Component


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
    """One column. ``hint`` completes “… is missing: write …”; ``low``/``high`` bound numbers."""

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


@dataclass(frozen=True)
class Sheet:
    """One sheet: its title and columns in the order they are written."""

    title: str
    columns: tuple[Column, ...]

    def column(self, key: str) -> Column:
        return next(column for column in self.columns if column.key == key)


OPTIONAL, ALWAYS, FIRST = Need.OPTIONAL, Need.ALWAYS, Need.FIRST
FIRST_OPTIONAL = Need.FIRST_OPTIONAL
HUNDRED = Decimal(100)
TEN_THOUSAND = Decimal(10_000)
A_QUANTITY = "a quantity with its unit, like 16 @ 2x8x12 or 20 gal"


def text_column(
    title: str,
    key: str,
    model: type[django_models.Model],
    field: str,
    need: Need = OPTIONAL,
    hint: str = "it in",
    width: int = 24,
) -> Column:
    """A text that ends up in a model's field and may be as long as that."""
    length = length_of(model, field)
    return Column(title, key, Kind.TEXT, need, hint, max_length=length, width=width)


def quantity_column(
    title: str, key: str, model: type[django_models.Model], field: str, need: Need = ALWAYS
) -> Column:
    """A quantity, kept as typed in a model's field."""
    length = length_of(model, field)
    return Column(title, key, Kind.QUANTITY, need, A_QUANTITY, max_length=length, width=18)


def length_of(model: type[django_models.Model], field: str) -> int:
    """How long a text may be; 0 for any length."""
    found = model._meta.get_field(field)
    return getattr(found, "max_length", None) or 0


def amount_column(
    title: str, key: str, need: Need = OPTIONAL, low: Decimal | None = Decimal(0)
) -> Column:
    """A sum of money, in the currency's minor unit."""
    return Column(title, key, Kind.AMOUNT, need, "an amount", low=low, width=12)


def rate_column(title: str, key: str, need: Need = OPTIONAL) -> Column:
    """A price or rate, with six decimals."""
    return Column(title, key, Kind.RATE, need, "a price", width=12)


def percent_column(
    title: str, key: str, high: Decimal = HUNDRED, low: Decimal = Decimal(0)
) -> Column:
    """A percentage; 0 to 100 unless said otherwise."""
    return Column(title, key, Kind.PERCENT, low=low, high=high, width=10)


def date_column(title: str, key: str, need: Need = ALWAYS) -> Column:
    """A day."""
    return Column(title, key, Kind.DATE, need, "the date like 2026-04-03", width=12)


def choice_column(title: str, key: str, values: Sequence[str], need: Need = OPTIONAL) -> Column:
    """One of a fixed list of words."""
    words = tuple(str(value) for value in values)
    return Column(title, key, Kind.CHOICE, need, "one of " + ", ".join(words), choices=words)


def component_column(title: str, key: str = "component", need: Need = ALWAYS) -> Column:
    """The name of a component."""
    return text_column(title, key, Component, "name", need, "the component's name", width=28)
