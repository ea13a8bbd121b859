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
    TIME = auto()
    ZONE = auto()


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
    ``is_shown``: written to be read by people, and never read in again.
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
    is_shown: bool = False


@dataclass(frozen=True)
class Sheet:
    """One sheet: its title and columns in the order they are written.

    ``printed``: how many columns go on paper, from the first on; None for all.
    """

    title: str
    columns: tuple[Column, ...]
    printed: int | None = None

    def column(self, key: str) -> Column:
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
A_QUANTITY = "a quantity with its unit, like 16 @ 2x8x12 or 20 gal"


def length_of(model: Any, field: str) -> int:
    """How long the text of a model's field may be; 0 for any length."""
    return getattr(model._meta.get_field(field), "max_length", None) or 0


class Of:
    """Short ways to describe the columns of a kind of record; ``field`` is as the key if empty."""

    def __init__(self, model: type[Model]):
        self.model = model

    def column(self, title: str, key: str, kind: Kind, *, field: str = "", **more: Any) -> Column:
        """Any column."""
        return Column(title, key, kind, model=self.model, field=field or key, **more)

    def _length(self, field: str) -> int:
        """How long the text of a field may be; of a link, the name of what it leads to."""
        found = self.model._meta.get_field(field)
        if found.is_relation:
            named_by = "number" if hasattr(found.related_model, "number") else "name"
            return length_of(found.related_model, named_by)
        return length_of(self.model, field)

    def text(self, title: str, key: str, *, field: str = "", **more: Any) -> Column:
        """A text that ends up in a model's field and may be as long as that."""
        more = {"max_length": self._length(field or key), "width": 24, **more}
        return self.column(title, key, Kind.TEXT, field=field, **more)

    def quantity(
        self, title: str, key: str, need: Need = ALWAYS, *, field: str = "", **more: Any
    ) -> Column:
        """A quantity, kept as typed in a model's field."""
        more.setdefault("hint", A_QUANTITY)
        more.setdefault("max_length", self._length(field or key))
        more.setdefault("width", 18)
        return self.column(title, key, Kind.QUANTITY, need=need, field=field, **more)

    def amount(self, title: str, key: str, need: Need = OPTIONAL, **more: Any) -> Column:
        """A sum of money, in the currency's minor unit."""
        more.setdefault("hint", "an amount")
        more.setdefault("width", 12)
        return self.column(title, key, Kind.AMOUNT, need=need, **more)

    def rate(self, title: str, key: str, need: Need = OPTIONAL, **more: Any) -> Column:
        """A price or rate, with six decimals."""
        return self.column(title, key, Kind.RATE, need=need, hint="a price", width=12, **more)

    def percent(self, title: str, key: str, high: Decimal = HUNDRED, **more: Any) -> Column:
        """A percentage; 0 to 100 unless said otherwise."""
        return self.column(title, key, Kind.PERCENT, high=high, width=10, **more)

    def number(self, title: str, key: str, **more: Any) -> Column:
        """A number that is no money."""
        return self.column(title, key, Kind.NUMBER, **({"width": 10} | more))

    def hours(self, title: str, key: str, need: Need = OPTIONAL, **more: Any) -> Column:
        """Hours."""
        return self.column(title, key, Kind.HOURS, need=need, **more)

    def yes_no(self, title: str, key: str, **more: Any) -> Column:
        """Yes or no."""
        return self.column(title, key, Kind.YES_NO, **({"width": 10} | more))

    def date(self, title: str, key: str, need: Need = ALWAYS, **more: Any) -> Column:
        """A day."""
        hint = "the date like 2026-04-03"
        return self.column(title, key, Kind.DATE, need=need, hint=hint, width=12, **more)

    def time(self, title: str, key: str, need: Need = OPTIONAL, **more: Any) -> Column:
        """A time of day."""
        return self.column(title, key, Kind.TIME, need=need, hint="a time like 18:00", **more)

    def choice(
        self, title: str, key: str, values: Sequence[str], need: Need = OPTIONAL, **more: Any
    ) -> Column:
        """One of a fixed list of words."""
        words = tuple(str(value) for value in values)
        more = {"hint": "one of " + ", ".join(words)} | more
        return self.column(title, key, Kind.CHOICE, need=need, choices=words, **more)

    def component(
        self, title: str, key: str = "component", need: Need = ALWAYS, **more: Any
    ) -> Column:
        """The name of a component."""
        return self.text(title, key, need=need, hint="the component's name", width=28, **more)
