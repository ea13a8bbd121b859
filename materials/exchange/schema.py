"""Sheets and columns of the workbook: the one list that reader, importer and writer follow.

A star means that the cell must be filled. ``FIRST`` columns belong to the whole purchase or
conversion: they stand on its first row, later rows may leave them empty or repeat them.

Beyond the plain sheets there are a few of our own, all optional, so that nothing a build
holds is lost on the way out and in again:

- ``Prices``: further dated new prices; the Components sheet holds the newest of each.
- ``Suppliers``: where a supplier is, how to reach it, whether it is gone; a name alone
  needs no row here.
- ``Purchase note`` on Purchases (``Note`` there belongs to the line), and a ``Note`` on
  Components, Conversions, Left over and Labour.
- ``Moved in``: what came from other builds and the cost it brought along (empty: not known).
  ``Value`` on Left over is what material that was moved away was worth then; where it is
  empty, the average counts.
- ``Heaped as`` on Components: the loose material it weighs like (``calc.loads``).
- ``For cautions`` on Components (what it is, words with commas between them), and on
  Purchases ``Built in`` (the year), ``Through fire`` and an offer's ``Expected hours``, and of its
  lines ``Price breaks``, ``At most`` and ``Sold by``.
- On the Build sheet any further name ending in " area" is a measured area of the builder's;
  ``Distance rate from 2026-01-01`` is a rate that holds from a date on, the plain
  ``Distance rate`` from the beginning; ``Distance unit`` (mi or km) is written when it is km,
  and ``0.40 / km`` in a rate says the same. ``Own hours count`` (yes or no) lets own hours
  count as paid in settling up.
- ``Shares`` (who bears how much, in any measure) and ``Handed over`` (money between people).
"""

from decimal import Decimal

from django.db.models import Model

from ..calc.loads import LOADS, NOT_WASTE
from ..choices import (
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
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    Element,
    HandOver,
    LabourEntry,
    LeftOver,
    Move,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Share,
    Supplier,
    Task,
)
from .columns import (
    ALWAYS,
    FIRST,
    FIRST_OPTIONAL,
    OPTIONAL,
    TEN_THOUSAND,
    Column,
    Kind,
    Sheet,
    amount_column,
    choice_column,
    component_column,
    date_column,
    hours_column,
    number_column,
    percent_column,
    quantity_column,
    rate_column,
    text_column,
    yes_no_column,
)

BUILD = "Build"
# Sheets that are written for people to read and reckon with, and never read in again.
ABOUT, COST_SHEET, WORKINGS, HISTORY = "About", "Cost sheet", "Workings ", "History"
ELEMENTS = Sheet(
    "Elements",
    (
        text_column("Code", "code", Element, "code", ALWAYS, "a code, like B2010", width=10),
        text_column("Name", "name", Element, "name", ALWAYS, "the element's name", width=32),
        amount_column("Budget", "budget", Element, "budget_amount"),
    ),
)
SUPPLIERS = Sheet(
    "Suppliers",
    (
        text_column("Supplier", "name", Supplier, "name", ALWAYS, "the supplier's name", width=28),
        text_column("Place", "place", Supplier, "place"),
        text_column("Contact", "contact", Supplier, "contact"),
        yes_no_column("No longer there", "is_gone", Supplier, "is_gone"),
        text_column("Note", "note", Supplier, "note", width=40),
    ),
)
COMPONENTS = Sheet(
    "Components",
    (
        text_column(
            "Component", "name", Component, "name", ALWAYS, "the component's name", width=28
        ),
        text_column("Element", "element", Component, "element", width=10),
        Column(
            "Unit",
            "unit",
            Kind.TEXT,
            ALWAYS,
            "a unit, like piece, ft or gal",
            40,
            width=10,
            model=Component,
            field="unit",
        ),
        quantity_column("Required", "required", Component, "required_text", OPTIONAL),
        percent_column("Waste %", "waste_percent", Component, "waste_percent", Decimal(1000)),
        text_column("Contents", "contents", Component, "contents", width=32),
        rate_column("New price", "new_price", RetailPrice, "price"),
        text_column("New price per", "new_price_per", RetailPrice, "per_text", width=14),
        date_column("Priced on", "priced_on", RetailPrice, "priced_on", OPTIONAL),
        text_column("Priced at", "priced_at", RetailPrice, "priced_at"),
        number_column(
            "New quantity per one", "new_per_one", Component, "new_qty_per_one", TEN_THOUSAND, 12
        ),
        yes_no_column("Would buy new", "would_buy_new", Component, "would_buy_new"),
        number_column("Life years", "life_years", Component, "life_years", TEN_THOUSAND),
        text_column("Note", "note", Component, "note", width=40),
        Column(
            "For cautions",
            "traits",
            Kind.TEXT,
            max_length=300,
            width=24,
            model=Component,
            field="traits",
        ),
        choice_column("Heaped as", "load_kind", Component, "load_kind", [*LOADS, NOT_WASTE]),
    ),
)
PRICES = Sheet(
    "Prices",
    (
        component_column("Component", "component", RetailPrice),
        rate_column("New price", "new_price", RetailPrice, "price", ALWAYS),
        text_column("New price per", "new_price_per", RetailPrice, "per_text", width=14),
        date_column("Priced on", "priced_on", RetailPrice, "priced_on"),
        text_column("Priced at", "priced_at", RetailPrice, "priced_at"),
    ),
)
PURCHASES = Sheet(
    "Purchases",
    (
        text_column(
            "Purchase", "purchase", Purchase, "number", ALWAYS, "the purchase's number", 10
        ),
        date_column("Date", "date", Purchase, "bought_on", FIRST),
        text_column("Supplier", "supplier", Purchase, "supplier", FIRST_OPTIONAL),
        choice_column("State", "state", Purchase, "state", State.values, FIRST_OPTIONAL),
        text_column("Paid by", "paid_by", Purchase, "paid_by", FIRST_OPTIONAL, width=14),
        amount_column("Lot price", "lot_price", Purchase, "lot_price_amount", FIRST_OPTIONAL),
        choice_column(
            "Lot split", "lot_split", Purchase, "lot_split", Split.values, FIRST_OPTIONAL
        ),
        component_column("Component", "component", PurchaseLine),
        quantity_column("Quantity", "quantity", PurchaseLine, "quantity_text"),
        choice_column("Source", "source", PurchaseLine, "source", Source.values, ALWAYS),
        choice_column("Obtained by", "obtained_by", PurchaseLine, "obtained_by", ObtainedBy.values),
        percent_column("Usable %", "usable_percent", PurchaseLine, "usable_percent"),
        rate_column("Unit price", "unit_price", PurchaseLine, "unit_price"),
        text_column("Price per", "price_per", PurchaseLine, "price_per_text", width=10),
        amount_column("Line price", "line_price", PurchaseLine, "line_price_amount"),
        number_column("Lot weight", "lot_weight", PurchaseLine, "lot_weight"),
        text_column("Note", "note", PurchaseLine, "note", width=40),
        text_column("Purchase note", "purchase_note", Purchase, "note", FIRST_OPTIONAL, width=40),
        number_column("Built in", "origin_year", PurchaseLine, "origin_year", Decimal(2200)),
        yes_no_column("Through fire", "through_fire", PurchaseLine, "through_fire"),
        hours_column(
            "Expected hours", "expected_hours", Purchase, "expected_hours", FIRST_OPTIONAL, width=10
        ),
        text_column("Price breaks", "price_breaks", PurchaseLine, "price_breaks", width=24),
        text_column("At most", "most", PurchaseLine, "most_text", width=12),
        text_column("Sold by", "step", PurchaseLine, "step_text", width=12),
    ),
)
CHARGES = Sheet(
    "Charges",
    (
        text_column(
            "Purchase", "purchase", Charge, "purchase", ALWAYS, "the purchase's number", 10
        ),
        choice_column("Kind", "kind", Charge, "kind", ChargeKind.values, ALWAYS),
        amount_column("Amount", "amount", Charge, "amount", low=None),
        percent_column("Percent", "percent", Charge, "percent", Decimal(1000), Decimal(-100)),
        choice_column("On", "percent_on", Charge, "percent_on", PercentOn.values),
        Column(
            "Distance",
            "distance",
            Kind.QUANTITY,
            max_length=60,
            model=Charge,
            field="distance_text",
        ),
        choice_column("Spread by", "spread_by", Charge, "spread_by", Split.values),
    ),
)
CONVERSIONS = Sheet(
    "Conversions",
    (
        text_column(
            "Conversion", "conversion", Conversion, "number", ALWAYS, "its number", width=10
        ),
        date_column("Date", "date", Conversion, "converted_on", FIRST),
        component_column("From", "source", Conversion, "source", FIRST),
        quantity_column("Quantity used", "used", Conversion, "used_text", FIRST),
        component_column("To", "component", ConversionOutput),
        quantity_column("Quantity made", "made", ConversionOutput, "made_text"),
        amount_column("Extra cost", "extra_cost", Conversion, "extra_cost_amount", FIRST_OPTIONAL),
        hours_column("Hours", "hours", Conversion, "hours", FIRST_OPTIONAL, width=8),
        text_column("Note", "note", Conversion, "note", FIRST_OPTIONAL, width=40),
    ),
)
LEFT_OVER = Sheet(
    "Left over",
    (
        date_column("Date", "date", LeftOver, "noted_on"),
        component_column("Component", "component", LeftOver),
        quantity_column("Quantity", "quantity", LeftOver, "quantity_text"),
        choice_column("Fate", "fate", LeftOver, "fate", Fate.values, ALWAYS),
        amount_column("Proceeds", "proceeds", LeftOver, "proceeds_amount"),
        text_column("Note", "note", LeftOver, "note", width=40),
        amount_column("Value", "value", Move, "value_amount", low=None),
    ),
)
# The same sheet for material that was moved to another build: its rows tell of moves.
MOVED_OUT = Sheet(
    LEFT_OVER.title,
    (
        date_column("Date", "date", Move, "moved_on"),
        component_column("Component", "component", Move),
        quantity_column("Quantity", "quantity", Move, "quantity_text"),
        text_column("Note", "note", Move, "note"),
        amount_column("Value", "value", Move, "value_amount", low=None),
    ),
)
MOVED_IN = Sheet(
    "Moved in",
    (
        date_column("Date", "date", Move, "moved_on"),
        component_column("Component", "component", Move, "to_component"),
        quantity_column("Quantity", "quantity", Move, "to_text"),
        amount_column("Cost", "cost", Move, "value_amount", low=None),
        text_column("From", "origin", Move, "elsewhere"),
        text_column("Note", "note", Move, "note", width=40),
    ),
)
TASKS = Sheet(
    "Tasks",
    (
        text_column("Task", "name", Task, "name", ALWAYS, "the task's name", width=28),
        text_column("Element", "element", Task, "element", width=10),
        hours_column("Planned hours", "planned_hours", Task, "planned_hours"),
        percent_column("Done %", "done_percent", Task, "done_percent"),
    ),
)
LABOUR = Sheet(
    "Labour",
    (
        date_column("Date", "date", LabourEntry, "worked_on"),
        text_column(
            "Person", "person", LabourEntry, "person", ALWAYS, "the person's name", width=18
        ),
        text_column("Task", "task", LabourEntry, "task", width=28),
        choice_column("Kind", "kind", LabourEntry, "kind", LabourKind.values, ALWAYS),
        hours_column("Hours", "hours", LabourEntry, "hours", ALWAYS, "the hours, like 4.5", 8),
        amount_column("Paid", "paid", LabourEntry, "paid_amount"),
        text_column("Note", "note", LabourEntry, "note", width=40),
    ),
)
SHARES = Sheet(
    "Shares",
    (
        text_column("Person", "person", Share, "person", ALWAYS, "the person's name", width=18),
        Column(
            "Share",
            "weight",
            Kind.NUMBER,
            ALWAYS,
            "a number, like 2",
            width=10,
            model=Share,
            field="weight",
        ),
    ),
)
HANDED_OVER = Sheet(
    "Handed over",
    (
        date_column("Date", "date", HandOver, "handed_on"),
        text_column("From", "giver", HandOver, "giver", ALWAYS, "who gave the money", width=18),
        text_column("To", "receiver", HandOver, "receiver", ALWAYS, "who got the money", width=18),
        amount_column("Amount", "amount", HandOver, "amount", ALWAYS),
        text_column("Note", "note", HandOver, "note", width=40),
    ),
)
# What is stated and a workbook does not carry, and why.
NOT_CARRIED: dict[type[Model], frozenset[str]] = {
    # How the list of builds is kept; a build that is read in begins in plain view.
    Build: frozenset({"put_away_on"}),
    # Read in, a quantity is one that was stated for the build.
    Component: frozenset({"required_from"}),
    # Which heaps it was taken from; the Left over sheet holds what is left of them.
    Conversion: frozenset({"hand_text"}),
    LeftOver: frozenset({"hand_text"}),
    Move: frozenset({"was_on_hand", "moved_by"}),
}
SHEETS: tuple[Sheet, ...] = (
    ELEMENTS,
    SUPPLIERS,
    COMPONENTS,
    PRICES,
    PURCHASES,
    CHARGES,
    CONVERSIONS,
    LEFT_OVER,
    MOVED_IN,
    TASKS,
    LABOUR,
    SHARES,
    HANDED_OVER,
)
TITLES: tuple[str, ...] = (BUILD, *(sheet.title for sheet in SHEETS))

BUILD_COLUMNS: dict[str, Column] = {
    column.title: column
    for column in (
        text_column("Name", "name", Build, "name"),
        text_column("Currency", "currency", Build, "currency"),
        amount_column("Budget", "budget_amount", Build, "budget_amount"),
        percent_column(
            "Contingency %", "contingency_percent", Build, "contingency_percent", Decimal(1000)
        ),
        percent_column("Retail tax %", "retail_tax_percent", Build, "retail_tax_percent"),
        rate_column("Own labour rate", "own_labour_rate", Build, "own_labour_rate"),
        yes_no_column("Own hours count", "own_hours_count", Build, "own_hours_count"),
        Column(
            "Distance unit",
            "distance_unit",
            Kind.CHOICE,
            hint="mi or km",
            choices=("mi", "km"),
            model=Build,
            field="distance_unit",
        ),
    )
}
DISTANCE_RATE = Column("Distance rate", "rate", Kind.RATE)
AREA = Column("Area", "area", Kind.QUANTITY, max_length=60)
AREA_LABEL_LENGTH = BuildArea._meta.get_field("label").max_length
DISTANCE_FROM = "Distance rate from "
AREA_ENDING = " area"


def area_title(label: str) -> str:
    """Name of an area's row on the Build sheet, by whose ending it is known for one."""
    return label if label.casefold().endswith(AREA_ENDING) else f"{label}{AREA_ENDING}"


def sheet_title(name: str) -> str | None:
    """Our sheet that a sheet or file called ``name`` stands for: without case, _ for a space."""
    wanted = " ".join(name.replace("_", " ").split()).casefold()
    return next((title for title in TITLES if title.casefold() == wanted), None)


def is_for_reading(name: str) -> bool:
    """Whether a sheet is one of those that the export adds and an import leaves aside."""
    return name in (ABOUT, COST_SHEET, HISTORY) or name.startswith(WORKINGS)
