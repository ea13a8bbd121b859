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
- ``Heaped as`` on Components: the loose material it weighs like (``calc.sheets.loads``).
- ``Kind of material`` on Components; where it is empty, the kind is guessed.
- ``For cautions`` on Components (what it is, words with commas between them), and on
  Purchases ``Built in`` (the year), ``Through fire``, an offer's ``Expected hours`` and when it
  ends (``Ends on``, ``Ends at``; ``Fetch by`` for an order), and of its
  lines ``Price breaks``, ``At most`` and ``Sold by``.
- ``Time zone`` on the Build sheet: by its clocks deadlines are meant.
- ``Ways to make``: what somebody states that can be made of what.
- ``Lessons``: regrets and wins, about one component, element, task or supplier, or about the
  build where none is named.
- ``Landed cost`` on Purchases is worked out, and an import leaves it aside.
- On the Build sheet any further name ending in " area" is a measured area of the builder's;
  ``Distance rate from 2026-01-01`` is a rate that holds from a date on, the plain
  ``Distance rate`` from the beginning; ``Distance unit`` (mi or km) is written when it is km,
  and ``0.40 / km`` in a rate says the same. ``Own hours count`` (yes or no) lets own hours
  count as paid in settling up.
- ``Shares`` (who bears how much, in any measure) and ``Handed over`` (money between people).
"""

from decimal import Decimal

from django.db.models import Model

from .. import models
from ..calc.kinds import Kind as MaterialKind
from ..calc.sheets.loads import LOADS, NOT_WASTE
from ..calc.types import Basis, PercentOn
from ..choices import (
    ChargeKind,
    Fate,
    LabourKind,
    LessonKind,
    ObtainedBy,
    Source,
    State,
)
from .columns import (
    ALWAYS,
    FIRST,
    FIRST_OPTIONAL,
    OPTIONAL,
    TEN_THOUSAND,
    Column,
    Kind,
    Of,
    Sheet,
    length_of,
)

_element = Of(models.Element)
_supplier = Of(models.Supplier)
_component = Of(models.Component)
_price = Of(models.RetailPrice)
_purchase = Of(models.Purchase)
_line = Of(models.PurchaseLine)
_charge = Of(models.Charge)
_conversion = Of(models.Conversion)
_output = Of(models.ConversionOutput)
_way = Of(models.WayToMake)
_left_over = Of(models.LeftOver)
_move = Of(models.Move)
_task = Of(models.Task)
_labour = Of(models.LabourEntry)
_share = Of(models.Share)
_hand_over = Of(models.HandOver)
_lesson = Of(models.Lesson)
_build = Of(models.Build)

BUILD = "Build"
# Sheets that are written for people to read and calculate with, and never read in again.
ABOUT, COST_SHEET, WORKINGS, HISTORY = "About", "Cost sheet", "Workings ", "History"
# A line's landed cost: worked out, and so never read in.
LANDED = "landed"
ELEMENTS = Sheet(
    "Elements",
    (
        _element.text("Code", "code", need=ALWAYS, hint="a code, like B2010", width=10),
        _element.text("Name", "name", need=ALWAYS, hint="the element's name", width=32),
        _element.amount("Budget", "budget", field="budget_amount"),
    ),
)
SUPPLIERS = Sheet(
    "Suppliers",
    (
        _supplier.text("Supplier", "name", need=ALWAYS, hint="the supplier's name", width=28),
        _supplier.text("Place", "place"),
        _supplier.text("Contact", "contact"),
        _supplier.yes_no("No longer there", "is_gone"),
        _supplier.text("Note", "note", width=40),
    ),
)
COMPONENTS = Sheet(
    "Components",
    (
        _component.text("Component", "name", need=ALWAYS, hint="the component's name", width=28),
        _component.text("Element", "element", width=10),
        _component.column(
            "Unit",
            "unit",
            Kind.TEXT,
            need=ALWAYS,
            hint="a unit, like piece, ft or gal",
            max_length=40,
            width=10,
        ),
        _component.quantity("Required", "required", OPTIONAL, field="required_text"),
        _component.percent("Waste %", "waste_percent", Decimal(1000)),
        _component.text("Contents", "contents", width=32),
        _price.rate("New price", "new_price", field="price"),
        _price.text("New price per", "new_price_per", field="per_text", width=14),
        _price.date("Priced on", "priced_on", OPTIONAL),
        _price.text("Priced at", "priced_at"),
        _component.number(
            "New quantity per one",
            "new_per_one",
            field="new_qty_per_one",
            high=TEN_THOUSAND,
            width=12,
        ),
        _component.yes_no("Would buy new", "would_buy_new"),
        _component.number("Life years", "life_years", high=TEN_THOUSAND),
        _component.text("Note", "note", width=40),
        _component.column("For cautions", "traits", Kind.TEXT, max_length=300, width=24),
        _component.choice("Heaped as", "load_kind", [*LOADS, NOT_WASTE]),
        _component.choice("Kind of material", "kind", list(MaterialKind)),
    ),
)
PRICES = Sheet(
    "Prices",
    (
        _price.component("Component", "component"),
        _price.rate("New price", "new_price", ALWAYS, field="price"),
        _price.text("New price per", "new_price_per", field="per_text", width=14),
        _price.date("Priced on", "priced_on"),
        _price.text("Priced at", "priced_at"),
    ),
)
PURCHASES = Sheet(
    "Purchases",
    (
        _purchase.text(
            "Purchase",
            "purchase",
            field="number",
            need=ALWAYS,
            hint="the purchase's number",
            width=10,
        ),
        _purchase.date("Date", "date", FIRST, field="bought_on"),
        _purchase.text("Supplier", "supplier", need=FIRST_OPTIONAL),
        _purchase.choice("State", "state", State.values, FIRST_OPTIONAL),
        _purchase.text("Paid by", "paid_by", need=FIRST_OPTIONAL, width=14),
        _purchase.amount("Lot price", "lot_price", FIRST_OPTIONAL, field="lot_price_amount"),
        _purchase.choice("Lot split", "lot_split", list(Basis), FIRST_OPTIONAL),
        _line.component("Component", "component"),
        _line.quantity("Quantity", "quantity", field="quantity_text"),
        _line.choice("Source", "source", Source.values, ALWAYS),
        _line.choice("Obtained by", "obtained_by", ObtainedBy.values),
        _line.percent("Usable %", "usable_percent"),
        _line.rate("Unit price", "unit_price"),
        _line.text("Price per", "price_per", field="price_per_text", width=10),
        _line.amount("Line price", "line_price", field="line_price_amount"),
        Column("Landed cost", LANDED, Kind.AMOUNT, low=None, width=12, is_shown=True),
        _line.number("Lot weight", "lot_weight"),
        _line.text("Note", "note", width=40),
        _purchase.text(
            "Purchase note", "purchase_note", field="note", need=FIRST_OPTIONAL, width=40
        ),
        _line.number("Built in", "origin_year", high=Decimal(2200)),
        _line.yes_no("Through fire", "through_fire"),
        _purchase.hours("Expected hours", "expected_hours", FIRST_OPTIONAL, width=10),
        _purchase.date("Ends on", "ends_on", FIRST_OPTIONAL),
        _purchase.time("Ends at", "ends_time", FIRST_OPTIONAL, width=10),
        _purchase.date("Fetch by", "fetch_on", FIRST_OPTIONAL),
        _purchase.time("Fetch by, at", "fetch_time", FIRST_OPTIONAL, width=10),
        _line.text("Price breaks", "price_breaks", width=24),
        _line.text("At most", "most", field="most_text", width=12),
        _line.text("Sold by", "step", field="step_text", width=12),
    ),
    # Up to the landed cost: with the notes beside it no line could be read on paper.
    printed=16,
)
CHARGES = Sheet(
    "Charges",
    (
        _charge.text("Purchase", "purchase", need=ALWAYS, hint="the purchase's number", width=10),
        _charge.choice("Kind", "kind", ChargeKind.values, ALWAYS),
        _charge.amount("Amount", "amount", low=None),
        _charge.percent("Percent", "percent", Decimal(1000), low=Decimal(-100)),
        _charge.choice("On", "percent_on", list(PercentOn)),
        _charge.column("Distance", "distance", Kind.QUANTITY, max_length=60, field="distance_text"),
        _charge.choice("Spread by", "spread_by", list(Basis)),
    ),
)
CONVERSIONS = Sheet(
    "Conversions",
    (
        _conversion.text(
            "Conversion", "conversion", field="number", need=ALWAYS, hint="its number", width=10
        ),
        _conversion.date("Date", "date", FIRST, field="converted_on"),
        _conversion.component("From", "source", FIRST),
        _conversion.quantity("Quantity used", "used", FIRST, field="used_text"),
        _output.component("To", "component"),
        _output.quantity("Quantity made", "made", field="made_text"),
        _conversion.amount("Extra cost", "extra_cost", FIRST_OPTIONAL, field="extra_cost_amount"),
        _conversion.hours("Hours", "hours", FIRST_OPTIONAL, width=8),
        _conversion.text("Note", "note", need=FIRST_OPTIONAL, width=40),
    ),
)
WAYS = Sheet(
    "Ways to make",
    (
        _way.component("From", "source"),
        _way.quantity("Quantity used", "used", field="used_text"),
        _way.component("To", "component"),
        _way.quantity("Quantity made", "made", field="made_text"),
        _way.percent("Lost %", "lost", field="lost_percent"),
        _way.hours("Hours for one", "hours", field="hours_each", width=10),
        _way.rate("Extra cost of one", "extra", field="extra_each"),
        _way.text("Note", "note", width=40),
    ),
)
LEFT_OVER = Sheet(
    "Left over",
    (
        _left_over.date("Date", "date", field="noted_on"),
        _left_over.component("Component", "component"),
        _left_over.quantity("Quantity", "quantity", field="quantity_text"),
        _left_over.choice("Fate", "fate", Fate.values, ALWAYS),
        _left_over.amount("Proceeds", "proceeds", field="proceeds_amount"),
        _left_over.text("Note", "note", width=40),
        _move.amount("Value", "value", field="value_amount", low=None),
    ),
)
# The same sheet for material that was moved to another build: its rows tell of moves.
MOVED_OUT = Sheet(
    LEFT_OVER.title,
    (
        _move.date("Date", "date", field="moved_on"),
        _move.component("Component", "component"),
        _move.quantity("Quantity", "quantity", field="quantity_text"),
        _move.text("Note", "note"),
        _move.amount("Value", "value", field="value_amount", low=None),
    ),
)
MOVED_IN = Sheet(
    "Moved in",
    (
        _move.date("Date", "date", field="moved_on"),
        _move.component("Component", "component", field="to_component"),
        _move.quantity("Quantity", "quantity", field="to_text"),
        _move.amount("Cost", "cost", field="value_amount", low=None),
        _move.text("From", "origin", field="elsewhere"),
        _move.text("Note", "note", width=40),
    ),
)
TASKS = Sheet(
    "Tasks",
    (
        _task.text("Task", "name", need=ALWAYS, hint="the task's name", width=28),
        _task.text("Element", "element", width=10),
        _task.hours("Planned hours", "planned_hours"),
        _task.percent("Done %", "done_percent"),
    ),
)
LABOUR = Sheet(
    "Labour",
    (
        _labour.date("Date", "date", field="worked_on"),
        _labour.text("Person", "person", need=ALWAYS, hint="the person's name", width=18),
        _labour.text("Task", "task", width=28),
        _labour.choice("Kind", "kind", LabourKind.values, ALWAYS),
        _labour.hours("Hours", "hours", ALWAYS, hint="the hours, like 4.5", width=8),
        _labour.amount("Paid", "paid", field="paid_amount"),
        _labour.text("Note", "note", width=40),
    ),
)
SHARES = Sheet(
    "Shares",
    (
        _share.text("Person", "person", need=ALWAYS, hint="the person's name", width=18),
        _share.column(
            "Share", "weight", Kind.NUMBER, need=ALWAYS, hint="a number, like 2", width=10
        ),
    ),
)
PAYMENTS = Sheet(
    "Handed over",
    (
        _hand_over.date("Date", "date", field="handed_on"),
        _hand_over.text("From", "giver", need=ALWAYS, hint="who paid", width=18),
        _hand_over.text("To", "receiver", need=ALWAYS, hint="who received the money", width=18),
        _hand_over.amount("Amount", "amount", ALWAYS),
        _hand_over.text("Note", "note", width=40),
    ),
)
LESSONS = Sheet(
    "Lessons",
    (
        _lesson.date("Date", "date", field="noted_on"),
        _lesson.choice("Kind", "kind", LessonKind.values, ALWAYS),
        _lesson.text("Lesson", "text", need=ALWAYS, hint="what was learned", width=48),
        _lesson.text("Component", "component", width=28),
        _lesson.text("Element", "element", width=10),
        _lesson.text("Task", "task", width=28),
        _lesson.text("Supplier", "supplier", width=28),
        _lesson.amount("Money", "amount"),
        _lesson.hours("Hours", "hours", width=8),
        _lesson.text("Noted by", "author", width=18),
    ),
)
# What is stated and a workbook does not carry, and why.
NOT_CARRIED: dict[type[Model], frozenset[str]] = {
    # How the list of builds is kept; a build that is read in begins in plain view.
    models.Build: frozenset({"put_away_on"}),
    # Read in, a quantity is one that was stated for the build.
    models.Component: frozenset({"required_from"}),
    # Which heaps it was taken from; the Left over sheet holds what is left of them.
    models.Conversion: frozenset({"hand_text"}),
    models.LeftOver: frozenset({"hand_text"}),
    models.Move: frozenset({"was_on_hand", "moved_by"}),
}
SHEETS: tuple[Sheet, ...] = (
    ELEMENTS,
    SUPPLIERS,
    COMPONENTS,
    PRICES,
    PURCHASES,
    CHARGES,
    CONVERSIONS,
    WAYS,
    LEFT_OVER,
    MOVED_IN,
    TASKS,
    LABOUR,
    SHARES,
    PAYMENTS,
    LESSONS,
)
TITLES: tuple[str, ...] = (BUILD, *(sheet.title for sheet in SHEETS))

BUILD_COLUMNS: dict[str, Column] = {
    column.title: column
    for column in (
        _build.text("Name", "name"),
        _build.text("Currency", "currency"),
        _build.amount("Budget", "budget_amount"),
        _build.percent("Contingency %", "contingency_percent", Decimal(1000)),
        _build.percent("Retail tax %", "retail_tax_percent"),
        _build.rate("Own labour rate", "own_labour_rate"),
        _build.yes_no("Own hours count", "own_hours_count"),
        _build.column("Time zone", "time_zone", Kind.ZONE, hint="a time zone, like Europe/Lisbon"),
        _build.column(
            "Distance unit", "distance_unit", Kind.CHOICE, hint="mi or km", choices=("mi", "km")
        ),
    )
}
DISTANCE_RATE = Column("Distance rate", "rate", Kind.RATE)
AREA = Column("Area", "area", Kind.QUANTITY, max_length=60)
AREA_LABEL_LENGTH = length_of(models.BuildArea, "label")
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
