"""Every fault is found, told with its sheet, row and column, and stops the import."""

from datetime import date
from typing import Any

import pytest

from materials.exchange.columns import Kind, Need
from materials.exchange.schema import CONVERSIONS, PURCHASES
from materials.models import Build

from .small import add, check, put, save, small_sheets

pytestmark = pytest.mark.django_db

# Sheet, row, column, value, and a part of the sentence; the fault stands at the same cell.
CELLS: list[tuple[str, int, str, Any, str]] = [
    ("Build", 0, "Currency", "DOLLAR", "ISO 4217"),
    ("Build", 0, "Floor area", "240", "has no unit"),
    ("Build", 0, "Floor area", "240 ft", "do not measure an area"),
    ("Build", 0, "Budget", "-4", "is negative"),
    ("Build", 0, "Budget", "a lot", "is not a number"),
    ("Build", 0, "Retail tax %", 150, "is above 100"),
    ("Build", 0, "Distance rate", "cheap", "is not a number"),
    ("Build", 0, "Distance rate from spring", 1, "is not a date"),
    ("Build", 0, "Distance unit", "league", "enter mi or km"),
    ("Elements", 2, "Name", None, "is missing its value"),
    ("Elements", 3, "Code", "b2010", "stands on row 2 already"),
    ("Elements", 3, "Code", None, "is missing its value"),
    ("Elements", 2, "Budget", True, "holds no amount"),
    ("Suppliers", 2, "Supplier", "x" * 121, "shorten it to 120"),
    ("Components", 3, "Component", "PLANK", "is listed on row 2 already"),
    ("Components", 2, "Component", "a\x0bb", "invisible character (U+000B)"),
    ("Components", 2, "Unit", "furlong", "is not a unit known here"),
    ("Components", 2, "Unit", None, "is missing its value"),
    ("Components", 2, "Element", "Roof of the shed", "not on the Elements sheet"),
    ("Components", 2, "Contents", "12 feet", "is not understood"),
    ("Components", 2, "Required", "300 gal", "cannot be turned into"),
    ("Components", 2, "Waste %", "ten", "is not a number"),
    ("Components", 2, "New price", "dear", "is not a number"),
    ("Components", 2, "New price per", "gal", "cannot be turned into"),
    ("Components", 2, "Priced on", "05/01/2026", "enter it like 2026-04-03"),
    ("Components", 2, "New quantity per one", 0, "would make new material free"),
    ("Components", 2, "Would buy new", "maybe", "enter yes or no"),
    ("Components", 2, "Life years", -1, "is negative"),
    ("Prices", 2, "Component", "Plonk", "did you mean “Plank”?"),
    ("Prices", 2, "Priced on", None, "is missing its value"),
    ("Purchases", 2, "Date", None, "is missing its value"),
    ("Purchases", 2, "Date", "03/04/2026", "enter it like 2026-04-03"),
    ("Purchases", 2, "Date", "20260403", "enter it like 2026-04-03"),
    ("Purchases", 2, "Date", 46000, "is not a clear date"),
    ("Purchases", 2, "Date", date(2206, 1, 1), "cannot be right"),
    ("Purchases", 2, "State", "bought", "offer, ordered, received, declined"),
    ("Purchases", 2, "Component", "Planks", "is not on the Components sheet"),
    ("Purchases", 2, "Component", None, "is missing its value"),
    ("Purchases", 2, "Quantity", "some", "has no number"),
    ("Purchases", 2, "Quantity", "0 ft", "above zero"),
    ("Purchases", 2, "Quantity", -5, "is negative"),
    ("Purchases", 2, "Quantity", "3 gal", "cannot be turned into"),
    ("Purchases", 2, "Quantity", date(2026, 1, 2), "spreadsheet programs turn text"),
    ("Purchases", 2, "Source", "found", "salvage, seconds, retail"),
    ("Purchases", 2, "Obtained by", "stolen", "is not known here"),
    ("Purchases", 2, "Usable %", 101, "is above 100"),
    ("Purchases", 2, "Usable %", -1, "is negative"),
    ("Purchases", 2, "Usable %", 0.85, "enter 85 for 85%"),
    ("Purchases", 2, "Lot price", 999_999_999.996, "Too large"),
    ("Purchases", 2, "Lot price", "1000000000", "is too large"),
    ("Purchases", 3, "Lot weight", None, "split by weight"),
    ("Purchases", 3, "Lot price", 55, "Two lots in one purchase disagree"),
    ("Purchases", 3, "Date", "2026-02-04", "on the purchase's first line (row 2)"),
    ("Purchases", 3, "Supplier", "Hill yard", "but “River yard” on the purchase's first line"),
    ("Purchases", 4, "Line price", 5, "a unit price and a line price"),
    ("Purchases", 4, "Price per", "bag", "cannot be turned into"),
    ("Purchases", 4, "Unit price", 900_000_000, "comes to 1,000,000,000 or more"),
    ("Charges", 2, "Purchase", "P9", "not on the Purchases sheet"),
    ("Charges", 2, "Kind", "bribe", "is not known here"),
    ("Charges", 4, "Amount", None, "has no size"),
    ("Charges", 4, "Percent", 5, "an amount and a percentage"),
    # The unit stands in the cell; a bare number is not guessed at.
    ("Purchases", 2, "Quantity", 20, "has no unit"),
    ("Purchases", 2, "Quantity", "20", "has no unit"),
    ("Left over", 2, "Quantity", 1, "has no unit"),
    ("Components", 2, "Required", "0 ft", "is zero"),
    ("Charges", 2, "Distance", "20 gal", "is not a distance"),
    ("Charges", 2, "Distance", "0 mi", "above zero"),
    ("Charges", 5, "Amount", -3, "make it a discount"),
    ("Conversions", 2, "From", "Log", "is not on the Components sheet"),
    ("Conversions", 2, "Date", None, "is missing its value"),
    ("Conversions", 2, "Quantity made", "130 ft", "65 pounds from 60"),
    ("Conversions", 2, "Hours", "long", "are not understood"),
    ("Left over", 2, "Fate", "lost", "on hand, scrapped, given away, sold, moved"),
    ("Left over", 3, "Proceeds", 4, "Proceeds belong to what was sold"),
    ("Left over", 2, "Quantity", "200 ft", "more “Plank” than there is: 216 ft usable"),
    ("Tasks", 2, "Done %", 120, "is above 100"),
    ("Build", 0, "Own hours count", "perhaps", "not an answer here"),
    ("Shares", 2, "Person", None, "is missing its value"),
    ("Shares", 3, "Person", "IDA", "has a share on row 2 already"),
    ("Shares", 2, "Share", None, "is missing its value"),
    ("Shares", 2, "Share", 0, "A share is above zero"),
    ("Shares", 2, "Share", -1, "is negative"),
    ("Shares", 2, "Share", "half", "is not a number"),
    ("Handed over", 2, "Date", None, "is missing its value"),
    ("Handed over", 2, "From", None, "is missing its value"),
    ("Handed over", 2, "To", "MAX", "Nobody pays themselves"),
    ("Handed over", 2, "Amount", 0, "A payment is above zero"),
    ("Handed over", 2, "Amount", -5, "is negative"),
    ("Handed over", 2, "Amount", None, "is missing its value"),
    ("Handed over", 2, "Note", "x" * 501, "shorten it to 500"),
    ("Labour", 2, "Person", None, "is missing its value"),
    ("Labour", 2, "Hours", 0, "0 hours is no work"),
    ("Labour", 2, "Hours", -2, "is negative"),
    ("Labour", 2, "Hours", 24.25, "A day has 24 hours"),
    ("Labour", 2, "Hours", "25 h 10", "A day has 24 hours"),
    ("Labour", 2, "Hours", "1:75", "enter them like 1.5, 1:30, 45 min or 2 h 30"),
    ("Labour", 2, "Hours", "9" * 20, "is too large"),
    ("Labour", 2, "Kind", "resting", "sourcing, preparing"),
    # The check is made on 1 September; the day after may have begun elsewhere.
    ("Labour", 2, "Date", date(2026, 9, 3), "has not come yet. Log hours once they are worked"),
    ("Purchases", 4, "Date", "2026-09-03", "Choose the state Ordered"),
    ("Conversions", 2, "Date", "2026-09-03", "has not come yet"),
    ("Left over", 3, "Date", "2026-09-03", "has not come yet"),
    ("Labour", 2, "Note", "x" * 501, "shorten it to 500"),
]


def test_what_is_on_its_way_may_come_later_and_today_may_be_tomorrow_elsewhere():
    sheets = small_sheets()
    put(sheets, "Purchases", 6, "Date", "2027-03-01")
    put(sheets, "Purchases", 4, "Date", "2026-09-02")
    put(sheets, "Labour", 2, "Date", "2026-09-02")
    put(sheets, "Labour", 2, "Hours", 24)
    plan = check(sheets).plan
    states = {one.values["number"]: one.values.get("state") for one in plan.purchases}
    assert (states["P4"], plan.labour[0].values["hours"]) == ("ordered", 24)


def raw(sheets):
    """A workbook with signs that openpyxl refuses to write."""
    marked = {
        title: [[_mark(cell) for cell in row] for row in rows] for title, rows in sheets.items()
    }
    return save(marked)


def _mark(cell):
    return cell.replace("\x0b", "_x000B_") if isinstance(cell, str) else cell


@pytest.mark.parametrize(
    ("sheet", "row", "column", "value", "fragment"),
    CELLS,
    ids=[f"{sheet}-{column}-{str(value)[:20]}" for sheet, _, column, value, _ in CELLS],
)
def test_a_faulty_cell_is_told(sheet, row, column, value, fragment):
    sheets = small_sheets()
    put(sheets, sheet, row, column, value)
    checked = check(raw(sheets))
    assert checked.plan is None
    place = f"{sheet} row {row}, {column}: " if sheet != "Build" else "Build"
    found = [str(fault) for fault in checked.faults]
    assert any(text.startswith(place) and fragment in text for text in found), found
    # One mistake is told once.
    assert len(found) == 1 or sheet in ("Components", "Build"), found


def test_a_text_of_a_control_character_is_not_lost_in_the_file():
    sheets = small_sheets()
    put(sheets, "Components", 2, "Note", "a\x0bb")
    assert [fault.column for fault in check(raw(sheets)).faults] == ["Note"]


def test_every_fault_is_told_in_the_order_of_the_sheets():
    sheets = small_sheets()
    put(sheets, "Labour", 3, "Kind", "resting")
    put(sheets, "Purchases", 4, "Source", "found")
    put(sheets, "Purchases", 4, "Quantity", "many")
    put(sheets, "Elements", 2, "Name", None)
    places = [(fault.sheet, fault.row, fault.column) for fault in check(sheets).faults]
    assert places == [
        ("Elements", 2, "Name"),
        ("Purchases", 4, "Source"),
        ("Purchases", 4, "Quantity"),
        ("Labour", 3, "Kind"),
    ]


def sentences_of(sheets, **options):
    return [str(fault) for fault in check(sheets, **options).faults]


def test_a_lot_price_needs_a_line_without_a_price():
    sheets = small_sheets()
    put(sheets, "Purchases", 4, "Lot price", 50)
    (text,) = sentences_of(sheets)
    assert text.startswith("Purchases row 4, Lot price: ")
    assert "every line has a price of its own" in text


def test_a_distance_needs_a_rate():
    sheets = small_sheets()
    sheets["Build"] = [row for row in sheets["Build"] if not row[0].startswith("Distance")]
    (text,) = sentences_of(sheets)
    assert text.startswith("Charges row 2, Distance: The build has no distance rate")


def test_a_distance_needs_a_rate_on_its_day():
    sheets = small_sheets()
    sheets["Build"] = [row for row in sheets["Build"] if row[0] != "Distance rate"]
    (text,) = sentences_of(sheets)
    assert "holds from 2026-03-01, the purchase is of 2026-02-03" in text


def test_rates_per_mile_and_per_kilometre_do_not_mix():
    sheets = small_sheets()
    put(sheets, "Build", 0, "Distance rate", "0.40 / km")
    put(sheets, "Build", 0, "Distance rate from 2026-03-01", "0.70 per mile")
    (text,) = sentences_of(sheets)
    assert "partly per mi and partly per km" in text


def test_a_rate_per_kilometre_sets_the_unit():
    sheets = small_sheets()
    put(sheets, "Build", 0, "Distance rate", "0.40 / km")
    assert check(sheets).plan.build.distance_unit == "km"


def test_a_weight_must_not_miss_where_a_charge_is_spread_by_weight():
    sheets = small_sheets()
    put(sheets, "Purchases", 2, "Lot split", "equal")
    put(sheets, "Purchases", 3, "Lot weight", None)
    (text,) = sentences_of(sheets)
    assert text.startswith("Purchases row 3, Lot weight: A charge of this purchase")


def test_two_charges_in_one_row():
    sheets = small_sheets()
    put(sheets, "Charges", 2, "Amount", 4)
    put(sheets, "Charges", 2, "Percent", 4)
    (text,) = sentences_of(sheets)
    assert "an amount and a percentage and a distance: keep one" in text


def test_conversions_in_a_circle_are_refused_by_name():
    sheets = small_sheets()
    row = add(
        sheets, "Conversions", Conversion="K2", Date="2026-05-03", From="Batten",
        Quantity_used="10 ft", To="Plank", Quantity_made="1 ft",
    )  # fmt: skip
    (text,) = sentences_of(sheets)
    assert text.startswith(f"Conversions row {row}, Conversion: Conversion “K2” closes a circle")
    assert "Plank" in text
    assert "Batten" in text


def test_a_conversion_into_itself_is_a_circle():
    sheets = small_sheets()
    put(sheets, "Conversions", 2, "To", "Plank")
    put(sheets, "Conversions", 2, "Quantity made", "30 ft")
    assert any("closes a circle" in text for text in sentences_of(sheets))


def test_conversions_may_make_more_length_and_more_pieces():
    """Ripping doubles a length and cutting multiplies pieces; only matter is conserved."""
    sheets = small_sheets()
    assert sheets["Conversions"][1][3:6:2] == ["40 ft", "90 ft"]
    assert check(sheets).plan is not None


def test_more_area_or_volume_than_was_used():
    sheets = small_sheets()
    add(sheets, "Components", Component="Big sheet", Unit="sq ft")
    add(sheets, "Components", Component="Small sheet", Unit="sq ft")
    add(
        sheets, "Purchases", Purchase="P5", Date="2026-04-04", Component="Big sheet",
        Quantity="32 sq ft", Source="salvage", Line_price=1,
    )  # fmt: skip
    row = add(
        sheets, "Conversions", Conversion="K2", Date="2026-05-03", From="Big sheet",
        Quantity_used="32 sq ft", To="Small sheet", Quantity_made="33 sq ft",
    )  # fmt: skip
    (text,) = sentences_of(sheets)
    assert text.startswith(f"Conversions row {row}, Quantity made: ")
    assert "33 square feet from 32" in text


def test_two_rows_of_one_conversion_are_two_outputs():
    sheets = small_sheets()
    add(sheets, "Conversions", Conversion="k1", To="Stove", Quantity_made="1 piece")
    conversion = check(sheets).plan.conversions[0]
    assert [output.links["component"] for output in conversion.outputs] == ["batten", "stove"]
    put(sheets, "Conversions", 3, "From", "Batten")
    (text,) = sentences_of(sheets)
    assert "on the conversion's first row (row 2)" in text


# What differs from the first row of a group in every column that stands there once.
ANOTHER: dict[Kind, Any] = {
    Kind.TEXT: "Batten", Kind.DATE: "2026-01-02", Kind.QUANTITY: "1 ft", Kind.AMOUNT: 3,
    Kind.HOURS: 7, Kind.TIME: "7:00",
}  # fmt: skip
OF_FIRST = [
    (sheet, column)
    for sheet in (PURCHASES, CONVERSIONS)
    for column in sheet.columns
    if column.need in (Need.FIRST, Need.FIRST_OPTIONAL)
]


@pytest.mark.parametrize(("sheet", "column"), OF_FIRST, ids=lambda one: one.title)
def test_what_stands_once_in_a_group_differs_in_no_later_row(sheet, column):
    sheets = small_sheets()
    if sheet is CONVERSIONS:
        add(sheets, "Conversions", Conversion="K1", To="Stove", Quantity_made="1 piece")
    differing = column.choices[-1] if column.kind is Kind.CHOICE else ANOTHER[column.kind]
    headings = sheets[sheet.title][0]
    if column.title not in headings:
        headings.append(column.title)
        for row in sheets[sheet.title][1:]:
            row.append(None)
    put(sheets, sheet.title, 3, column.title, differing)
    said = [text for text in sentences_of(sheets) if "(row 2)" in text]
    assert len(said) == 1
    assert said[0].startswith(f"{sheet.title} row 3, {column.title}: ")


def test_the_balance_is_told_at_the_row_that_passes_what_there_is():
    sheets = small_sheets()
    put(sheets, "Conversions", 2, "Quantity used", "210 ft")
    (text,) = sentences_of(sheets)
    # 20 pieces of 12 ft, 90 % usable, are 216 ft; 210 and 12 are 6 more.
    assert text == (
        "Left over row 2, Quantity: That is 6 ft more “Plank” than there is: 216 ft usable came"
        " in. Lower it, or add what is missing."
    )


@pytest.mark.parametrize(
    ("day", "at", "column", "said"),
    [
        (None, "18:00", "Ends on", "There is a time without its day: enter the day too."),
        ("2027-03-28", "1:30", "Ends at", "Clocks are set forward over this time"),
        ("2027-03-28", "soon", "Ends at", "“soon” is not a time: enter it like 18:00 or 6:30 pm."),
    ],
)
def test_a_deadline_is_there_by_the_clocks_of_the_build(day, at, column, said):
    """Lisbon sets its clocks from 1:00 to 2:00 on 28 March 2027 (IANA time zone database)."""
    sheets = small_sheets()
    sheets["Build"].append(["Time zone", "europe/lisbon"])
    for title, value in (("Ends on", day), ("Ends at", at)):
        sheets["Purchases"][0].append(title)
        for row in sheets["Purchases"][1:]:
            row.append(None)
        put(sheets, "Purchases", 5, title, value)
    (text,) = sentences_of(sheets)
    assert text.startswith(f"Purchases row 5, {column}: {said}")


def test_a_time_zone_that_is_not_there_is_refused():
    sheets = small_sheets()
    sheets["Build"].append(["Time zone", "Moon/Base"])
    (text,) = sentences_of(sheets)
    assert text.endswith("“Moon/Base” is not known here: enter a time zone, like Europe/Lisbon.")


def test_the_balance_is_not_judged_while_quantities_are_faulty():
    sheets = small_sheets()
    put(sheets, "Conversions", 2, "Quantity used", "210 ft")
    put(sheets, "Purchases", 2, "Quantity", "many")
    assert len(sentences_of(sheets)) == 1


def test_what_is_only_ordered_cannot_be_used():
    sheets = small_sheets()
    put(sheets, "Purchases", 5, "State", "offer")
    more = {"Date": "2026-06-05", "Component": "Stove", "Quantity": "1 piece"}
    add(sheets, "Left over", **more, Fate="scrapped")
    (text,) = sentences_of(sheets)
    assert "0 pieces usable came in" in text


def test_headings_match_in_any_case_and_order_with_a_star_and_extra_columns():
    sheets = small_sheets()
    sheets["Tasks"] = [
        [None, None, None, None],
        ["DONE %", "colour", "task *", "Planned  Hours"],
        [50, "red", "Walls", 60],
    ]
    checked = check(sheets)
    assert checked.plan.tasks[0].values["done_percent"] == 50
    assert any("“colour” are not read" in note for note in checked.notes)


def test_a_missing_column_and_a_doubled_one_are_told_once():
    sheets = small_sheets()
    sheets["Labour"][0][4] = "Hour"
    sheets["Labour"][0][6] = "Paid"
    assert sentences_of(sheets) == [
        "Labour row 1, Paid: Two columns have this heading: keep one of them.",
        "Labour row 1, Hours: The column is missing: add a column headed Hours.",
    ]


def test_a_build_needs_a_currency_and_a_name():
    sheets = small_sheets()
    sheets["Build"] = [["Floor area", "240 sq ft"], ["Distance rate", 1]]
    assert sentences_of(sheets) == [
        "Build, Name: The build has no name: add a row Name.",
        "Build, Currency: The currency is missing: add a row Currency, like USD.",
    ]
    assert len(sentences_of(sheets, name="Other")) == 1


def test_a_heading_row_on_the_build_sheet_is_no_name():
    sheets = small_sheets()
    sheets["Build"].insert(0, ["Name", "Value"])
    assert check(sheets).plan.build.values["name"] == "Creek cabin"


def test_without_a_components_sheet_components_come_from_purchases():
    sheets = {"Purchases": small_sheets()["Purchases"]}
    plan = check(sheets, name="Bare").plan
    units = {part.name: part.unit for part in plan.components}
    assert units == {"Plank": "piece", "Batten": "ft", "Paint": "gal", "Stove": "piece"}


def test_without_a_components_sheet_what_was_never_bought_is_unknown():
    sheets = {name: small_sheets()[name] for name in ("Purchases", "Left over")}
    put(sheets, "Left over", 4, "Component", "Pain")
    (text,) = sentences_of(sheets, name="Bare")
    assert text.startswith("Left over row 4, Component: “Pain” was not bought or made")


def test_an_element_code_that_nobody_listed_is_created():
    sheets = small_sheets()
    put(sheets, "Components", 5, "Element", "C3010")
    put(sheets, "Components", 4, "Element", "q7")
    plan = check(sheets).plan
    codes = {one.values["code"]: one.values["name"] for one in plan.elements}
    assert codes["Q7"] == "Q7"
    assert codes["C3010"] not in ("", "C3010")


def test_nothing_is_saved_by_a_check():
    check(small_sheets())
    assert not Build.objects.exists()


def test_own_hours_that_count_at_no_rate_are_told_at_their_row():
    sheets = small_sheets()
    sheets["Build"] = [row for row in sheets["Build"] if row[0] != "Own labour rate"]
    number = 1 + [row[0] for row in sheets["Build"]].index("Own hours count")
    (fault,) = check(sheets).faults
    assert (fault.sheet, fault.row, fault.column) == ("Build", number, "Own hours count")
    assert "add a row Own labour rate, or enter no" in fault.text
    put(sheets, "Build", 0, "Own labour rate", "much")
    assert [fault.column for fault in check(sheets).faults] == ["Own labour rate"]
    del sheets["Build"][-1]
    put(sheets, "Build", 0, "Own hours count", "no")
    assert check(sheets).faults == ()
