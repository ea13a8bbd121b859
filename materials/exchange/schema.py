"""Sheets and columns of the workbook: the one list that reader, importer and writer follow.

A star means that the cell must be filled. ``FIRST`` columns belong to the whole purchase or
conversion: they stand on its first row, later rows may leave them empty or repeat them.

Beyond the plain sheets there are a few of our own, all optional, so that nothing a build
holds is lost on the way out and in again:

- ``Prices``: further dated new prices; the Components sheet holds the newest of each.
- ``Suppliers``: where a supplier is and how to reach it; a name alone needs no row here.
- ``Purchase note`` on Purchases (``Note`` there belongs to the line), and a ``Note`` on
  Components, Conversions, Left over and Labour.
- On the Build sheet any further name ending in " area" is a measured area of the builder's;
  ``Distance rate from 2026-01-01`` is a rate that holds from a date on, the plain
  ``Distance rate`` from the beginning; ``Distance unit`` (mi or km) is written when it is km,
  and ``0.40 / km`` in a rate says the same.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import Enum, auto

from django.db import models as django_models

from ..choices import (
    LOT_SPLITS,
    ChargeKind,
    Fate,
    LabourKind,
    ObtainedBy,
    PercentOn,
    Source,
    Split,
    State,
)
from ..models import (
    Build,
    BuildArea,
    Component,
    Conversion,
    Element,
    LabourEntry,
    LeftOver,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Supplier,
    Task,
)


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
        """The column of a key."""
        return next(column for column in self.columns if column.key == key)


OPTIONAL, ALWAYS, FIRST = Need.OPTIONAL, Need.ALWAYS, Need.FIRST
FIRST_OPTIONAL = Need.FIRST_OPTIONAL
HUNDRED = Decimal(100)
TEN_THOUSAND = Decimal(10_000)
A_QUANTITY = "a quantity with its unit, like 16 @ 2x6x16 or 35 gal"


def _text(
    title: str,
    key: str,
    model: type[django_models.Model],
    field: str,
    need: Need = OPTIONAL,
    hint: str = "it in",
    width: int = 24,
) -> Column:
    """A text that ends up in a model's field and may be as long as that."""
    length = model._meta.get_field(field).max_length
    return Column(title, key, Kind.TEXT, need, hint, max_length=length or 0, width=width)


def _quantity(title: str, key: str, model, field: str, need: Need = ALWAYS) -> Column:
    length = model._meta.get_field(field).max_length
    return Column(title, key, Kind.QUANTITY, need, A_QUANTITY, max_length=length, width=18)


def _amount(
    title: str, key: str, need: Need = OPTIONAL, low: Decimal | None = Decimal(0)
) -> Column:
    return Column(title, key, Kind.AMOUNT, need, "an amount", low=low, width=12)


def _rate(title: str, key: str, need: Need = OPTIONAL) -> Column:
    return Column(title, key, Kind.RATE, need, "a price", width=12)


def _percent(title: str, key: str, high: Decimal = HUNDRED, low: Decimal = Decimal(0)) -> Column:
    return Column(title, key, Kind.PERCENT, low=low, high=high, width=10)


def _date(title: str, key: str, need: Need = ALWAYS) -> Column:
    return Column(title, key, Kind.DATE, need, "the date like 2026-04-03", width=12)


def _choice(title: str, key: str, values: Sequence[str], need: Need = OPTIONAL) -> Column:
    words = tuple(str(value) for value in values)
    return Column(title, key, Kind.CHOICE, need, "one of " + ", ".join(words), choices=words)


def _component_name(title: str, key: str = "component", need: Need = ALWAYS) -> Column:
    return _text(title, key, Component, "name", need, "the component's name", width=28)


BUILD = "Build"
ELEMENTS = Sheet(
    "Elements",
    (
        _text("Code", "code", Element, "code", ALWAYS, "a code, like B2010", width=10),
        _text("Name", "name", Element, "name", ALWAYS, "the element's name", width=32),
        _amount("Budget", "budget"),
    ),
)
SUPPLIERS = Sheet(
    "Suppliers",
    (
        _text("Supplier", "name", Supplier, "name", ALWAYS, "the supplier's name", width=28),
        _text("Place", "place", Supplier, "place"),
        _text("Contact", "contact", Supplier, "contact"),
        _text("Note", "note", Supplier, "note", width=40),
    ),
)
COMPONENTS = Sheet(
    "Components",
    (
        _component_name("Component", "name"),
        _text("Element", "element", Element, "name", width=10),
        Column("Unit", "unit", Kind.TEXT, ALWAYS, "a unit, like piece, ft or gal", 40, width=10),
        _quantity("Required", "required", Component, "required_text", OPTIONAL),
        _percent("Waste %", "waste_percent", Decimal(1000)),
        _text("Contents", "contents", Component, "contents", width=32),
        _rate("New price", "new_price"),
        _text("New price per", "new_price_per", RetailPrice, "per_text", width=14),
        _date("Priced on", "priced_on", OPTIONAL),
        _text("Priced at", "priced_at", RetailPrice, "priced_at"),
        Column("New quantity per one", "new_per_one", Kind.NUMBER, high=TEN_THOUSAND, width=12),
        Column("Would buy new", "would_buy_new", Kind.YES_NO, width=10),
        Column("Life years", "life_years", Kind.NUMBER, high=TEN_THOUSAND, width=10),
        _text("Note", "note", Component, "note", width=40),
    ),
)
PRICES = Sheet(
    "Prices",
    (
        _component_name("Component"),
        _rate("New price", "new_price", ALWAYS),
        _text("New price per", "new_price_per", RetailPrice, "per_text", width=14),
        _date("Priced on", "priced_on"),
        _text("Priced at", "priced_at", RetailPrice, "priced_at"),
    ),
)
PURCHASES = Sheet(
    "Purchases",
    (
        _text("Purchase", "purchase", Purchase, "number", ALWAYS, "the purchase's number", 10),
        _date("Date", "date", FIRST),
        _text("Supplier", "supplier", Supplier, "name", FIRST_OPTIONAL),
        _choice("State", "state", State.values, FIRST_OPTIONAL),
        _text("Paid by", "paid_by", Person, "name", FIRST_OPTIONAL, width=14),
        _amount("Lot price", "lot_price", FIRST_OPTIONAL),
        _choice("Lot split", "lot_split", [s[0] for s in LOT_SPLITS], FIRST_OPTIONAL),
        _component_name("Component"),
        _quantity("Quantity", "quantity", PurchaseLine, "quantity_text"),
        _choice("Source", "source", Source.values, ALWAYS),
        _choice("Obtained by", "obtained_by", ObtainedBy.values),
        _percent("Usable %", "usable_percent"),
        _rate("Unit price", "unit_price"),
        _text("Price per", "price_per", PurchaseLine, "price_per_text", width=10),
        _amount("Line price", "line_price"),
        Column("Lot weight", "lot_weight", Kind.NUMBER, width=10),
        _text("Note", "note", PurchaseLine, "note", width=40),
        _text("Purchase note", "purchase_note", Purchase, "note", FIRST_OPTIONAL, width=40),
    ),
)
CHARGES = Sheet(
    "Charges",
    (
        _text("Purchase", "purchase", Purchase, "number", ALWAYS, "the purchase's number", 10),
        _choice("Kind", "kind", ChargeKind.values, ALWAYS),
        _amount("Amount", "amount", low=None),
        _percent("Percent", "percent", Decimal(1000), Decimal(-100)),
        _choice("On", "percent_on", PercentOn.values),
        Column("Distance", "distance", Kind.QUANTITY, max_length=60),
        _choice("Spread by", "spread_by", Split.values),
    ),
)
CONVERSIONS = Sheet(
    "Conversions",
    (
        _text("Conversion", "conversion", Conversion, "number", ALWAYS, "its number", 10),
        _date("Date", "date", FIRST),
        _component_name("From", "source", FIRST),
        _quantity("Quantity used", "used", Conversion, "used_text", FIRST),
        _component_name("To"),
        _quantity("Quantity made", "made", Conversion, "used_text"),
        _amount("Extra cost", "extra_cost", FIRST_OPTIONAL),
        Column("Hours", "hours", Kind.HOURS, FIRST_OPTIONAL, width=8),
        _text("Note", "note", Conversion, "note", FIRST_OPTIONAL, width=40),
    ),
)
LEFT_OVER = Sheet(
    "Left over",
    (
        _date("Date", "date"),
        _component_name("Component"),
        _quantity("Quantity", "quantity", LeftOver, "quantity_text"),
        _choice("Fate", "fate", Fate.values, ALWAYS),
        _amount("Proceeds", "proceeds"),
        _text("Note", "note", LeftOver, "note", width=40),
    ),
)
TASKS = Sheet(
    "Tasks",
    (
        _text("Task", "name", Task, "name", ALWAYS, "the task's name", width=28),
        _text("Element", "element", Element, "name", width=10),
        Column("Planned hours", "planned_hours", Kind.HOURS),
        _percent("Done %", "done_percent"),
    ),
)
LABOUR = Sheet(
    "Labour",
    (
        _date("Date", "date"),
        _text("Person", "person", Person, "name", ALWAYS, "the person's name", width=18),
        _text("Task", "task", Task, "name", width=28),
        _choice("Kind", "kind", LabourKind.values, ALWAYS),
        Column("Hours", "hours", Kind.HOURS, ALWAYS, "the hours, like 4.5", width=8),
        _amount("Paid", "paid"),
        _text("Note", "note", LabourEntry, "note", width=40),
    ),
)
SHEETS: tuple[Sheet, ...] = (
    ELEMENTS,
    SUPPLIERS,
    COMPONENTS,
    PRICES,
    PURCHASES,
    CHARGES,
    CONVERSIONS,
    LEFT_OVER,
    TASKS,
    LABOUR,
)
TITLES: tuple[str, ...] = (BUILD, *(sheet.title for sheet in SHEETS))

BUILD_COLUMNS: dict[str, Column] = {
    column.title: column
    for column in (
        _text("Name", "name", Build, "name"),
        Column("Currency", "currency", max_length=3),
        _amount("Budget", "budget_amount"),
        _percent("Contingency %", "contingency_percent", Decimal(1000)),
        _percent("Retail tax %", "retail_tax_percent"),
        _rate("Own labour rate", "own_labour_rate"),
        Column(
            "Distance unit", "distance_unit", Kind.CHOICE, choices=("mi", "km"), hint="mi or km"
        ),
    )
}
DISTANCE_RATE = Column("Distance rate", "rate", Kind.RATE)
AREA = Column("Area", "area", Kind.QUANTITY, max_length=60)
AREA_LABEL_LENGTH = BuildArea._meta.get_field("label").max_length
DISTANCE_FROM = "Distance rate from "
AREA_ENDING = " area"


def sheet_title(name: str) -> str | None:
    """Our sheet that a sheet or file called ``name`` stands for: without case, _ for a space."""
    wanted = " ".join(name.replace("_", " ").split()).casefold()
    return next((title for title in TITLES if title.casefold() == wanted), None)
