"""Days, numbers, prices and hours in the styles of one column: understood, or asked for."""

from datetime import date
from decimal import Decimal as D

import pytest

from materials.calc.names import loose_key, near_names
from materials.exchange.cells import CellError
from materials.exchange.outside_tables.cells import cell_text, tagged
from materials.exchange.outside_tables.dates import date_style, read_date
from materials.exchange.outside_tables.guess import (
    build_profile,
    guess_columns,
    guess_kind,
    split_heading,
)
from materials.exchange.outside_tables.mapping import OPTIONS, make_mapping
from materials.exchange.outside_tables.numbers import Price, number_style, read_price
from materials.exchange.outside_tables.read import RowReader

DAYS = [
    ("2026-04-03", date(2026, 4, 3), "clear"),
    ("2026/4/3", date(2026, 4, 3), "clear"),
    ("20260403", date(2026, 4, 3), ""),
    ("3 Mar 2026", date(2026, 3, 3), "clear"),
    ("Sat, 7th of March 2026", date(2026, 3, 7), "clear"),
    ("March 3, 2026", date(2026, 3, 3), "clear"),
    ("3-Mar-26", date(2026, 3, 3), "clear"),
    ("31/12/2026", date(2026, 12, 31), "day"),
    ("31.12.26", date(2026, 12, 31), "day"),
    ("12/31/26", date(2026, 12, 31), "month"),
    ("4/4/2026", date(2026, 4, 4), "clear"),
    ("2026-04-03 14:20:00", date(2026, 4, 3), "clear"),
    (["d", "2026-04-03"], date(2026, 4, 3), ""),
]


@pytest.mark.parametrize(("cell", "day", "style"), DAYS)
def test_a_day_that_can_be_read_in_one_way_is_read(cell, day, style):
    assert read_date(cell) == day
    if isinstance(cell, str):
        assert date_style(cell) == style


def test_a_day_that_can_be_read_in_two_ways_is_asked_for():
    for text in ("4/3/2026", "04.03.26", "4-3-2026"):
        assert date_style(text) == "either"
        with pytest.raises(CellError, match="two days"):
            read_date(text)
        assert read_date(text, day_first=True) == date(2026, 3, 4)
        assert read_date(text, day_first=False) == date(2026, 4, 3)


def test_a_day_without_a_year_needs_one_said():
    with pytest.raises(CellError, match="no year"):
        read_date("5 May")
    assert read_date("5 May", year=2026) == date(2026, 5, 5)
    assert read_date("4/3", day_first=True, year=2026) == date(2026, 3, 4)


@pytest.mark.parametrize(
    "text", ["soon", "May 2026", "31/02/2026", "13/13/2026", "3/2026", "1/1/0001"]
)
def test_what_is_no_day_is_refused(text):
    with pytest.raises(CellError):
        read_date(text, day_first=True)


def test_a_day_number_is_not_guessed_but_named():
    with pytest.raises(CellError, match="it means 2026-04-03"):
        read_date(["n", "46115"])


PRICES = [
    ("$1,234.50", D("1234.50"), "point"),
    ("1.234,50 $", D("1234.50"), "comma"),
    ("1 234,50", D("1234.50"), "comma"),
    ("1'234.50", D("1234.50"), "point"),
    ("1,234,567", D(1234567), "point"),
    ("12,5", D("12.5"), "comma"),
    ("0,125", D("0.125"), "comma"),
    ("USD 12", D(12), "plain"),
    ("12.-", D(12), "plain"),
    ("12.50 ea", D("12.50"), "point"),
    ("free", D(0), ""),
    ("Donated", D(0), ""),
    ("?", None, ""),
    ("n/a", None, ""),
]  # fmt: skip


@pytest.mark.parametrize(("text", "value", "style"), PRICES)
def test_prices(text, value, style):
    assert read_price(text, "USD").value == value
    assert number_style(text) == style


@pytest.mark.parametrize(
    ("text", "price"),
    [
        ("~20", Price(D(20), remark="Price is an estimate.")),
        ("40 for all", Price(D(40), is_total=True)),
        ("6¢/ft", Price(D("0.06"), per="ft")),
        ("65 cents each", Price(D("0.65"), is_each=True)),
        ("3 for $10", Price(D(10), per="3")),
    ],
)
def test_prices_in_words_as_the_forms_read_them(text, price):
    assert read_price(text, "USD") == price


@pytest.mark.parametrize("text", ["1,234", "1.234"])
def test_a_number_that_can_be_read_in_two_ways_is_asked_for(text):
    assert number_style(text) == "either"
    with pytest.raises(CellError, match="two numbers"):
        read_price(text, "USD")
    values = {read_price(text, "USD", mark).value for mark in ".,"}
    assert values == {D(1234), D("1.234")}


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("(12.00)", "below zero"), ("-5", "below zero"), ("€12", "another currency"),
        ("12 EUR", "another currency"), ("C$12", "another currency"), ("12 20", "decimal point"),
        ("1,23,456", "decimal point"),
        ("9999999999", "too large"),
    ],
)  # fmt: skip
def test_prices_that_are_refused(text, says):
    with pytest.raises(CellError, match=says):
        read_price(text, "USD")


def test_a_currency_in_the_heading_holds_for_numbers_below_it():
    heading = split_heading("Total (€)")
    assert (heading.key, heading.currency) == ("total", "€")
    with pytest.raises(CellError, match="another currency"):
        read_price(["n", "12"], "USD", named=heading.currency)
    assert read_price(["n", "12"], "EUR", named=heading.currency).value == 12


@pytest.mark.parametrize(
    ("text", "unit", "key"),
    [
        ("Qty (ft)", "ft", "qty"), ("Price per sheet", "sheet", "price per sheet"),
        ("Length in ft", "ft", "length in ft"), ("Cost/bag", "bag", "cost/bag"),
        ("Notes (odd)", "", "notes"),
    ],
)  # fmt: skip
def test_units_in_headings(text, unit, key):
    heading = split_heading(text)
    assert (heading.unit, heading.key) == (unit, key)


HEADINGS = {
    "purchases": ["Date", "Vendor", "Description", "Qty", "Unit Price", "Amount", "Comments"],
    "hours": ["Day", "Name", "Job", "Hours"],
    "prices": ["Material", "Price", "Per", "Store"],
    "components": ["Item", "Qty needed", "Unit", "Waste"],
}


@pytest.mark.parametrize("kind", HEADINGS)
def test_the_kind_of_table_is_guessed_by_its_headings(kind):
    row = [
        "2026-03-07" if h in ("Date", "Day") else "4" if h in _NUMBERS else "Text"
        for h in HEADINGS[kind]
    ]
    profile = build_profile(HEADINGS[kind], [[2, row]])
    assert guess_kind(profile) == kind
    assert len(guess_columns(kind, profile)) == len(HEADINGS[kind])


def test_a_price_list_is_told_from_purchases_by_what_is_counted():
    row = ["2026-03-07", "Yard", "Board", "4 ft", "2"]
    counted = ["Date", "Where from", "What", "How many", "Price each"]
    assert guess_kind(build_profile(counted, [[2, row]])) == "purchases"


_NUMBERS = {"Qty", "Unit Price", "Amount", "Hours", "Price", "Qty needed", "Waste"}


def test_names_are_alike_in_spite_of_case_plural_order_and_marks():
    assert loose_key("2 X 4 Studs") == loose_key("stud, 2x4")
    assert loose_key("Boxes") == loose_key("box")
    assert loose_key("2x4 stud") != loose_key("2x6 stud")
    assert loose_key("!!!") == ""
    known = {name: loose_key(name) for name in ("oak board", "slate")}
    assert near_names("Oak bord", known) == ["oak board"]


def read(kind, headings, cells, columns=None, **options):
    profile = build_profile(headings, [[2, cells]])
    fields = columns or guess_columns(kind, profile)
    stored = {
        "columns": [{"field": fields.get(i, "")} for i in range(len(profile))],
        "options": OPTIONS | options,
    }
    mapping = make_mapping(kind, stored, profile, currency="USD", places=2, distance_unit="mi")
    return RowReader(mapping).read(cells, {})


@pytest.mark.parametrize(
    ("cell", "hours"),
    [
        ("4.5", "4.5"), ("4:30", "4.5"), ("4 h 30 min", "4.5"), ("45 min", "0.75"),
        ("3 hrs", "3"), (["n", "5"], "5"), (["t", "16200"], "4.5"),
    ],
)  # fmt: skip
def test_hours(cell, hours):
    found = read("hours", ["Date", "Who", "Hours"], ["2026-03-07", "Ida", cell], labour="upkeep")
    assert found.values["hours"] == hours
    assert found.faults == []


@pytest.mark.parametrize("cell", ["0", "-2", "half a day", "4:75", "99999", ["d", "2026-03-07"]])
def test_hours_that_are_refused(cell):
    found = read("hours", ["Date", "Who", "Hours"], ["2026-03-07", "Ida", cell], labour="upkeep")
    assert [key for key, _ in found.faults] == ["hours"]


COUNTED = ["Date", "Item", "Qty", "Unit"]
QUANTITIES = [
    (["20 gal", None], "20 gal"),
    (["16 @ 2x8x12", None], "16 @ 2x8x12"),
    (["7' 6\"", None], "7' 6\""),
    (["12", "ft"], "12 ft"),
    ([["n", "2.5"], "squares"], "2.5 squares"),
    (["1 1/2", "in."], None),
    (["40 (ten split)", "pcs"], "40 pieces"),
]


@pytest.mark.parametrize(("cells", "text"), [q for q in QUANTITIES if q[1]])
def test_quantities_with_their_unit_in_the_cell_or_beside_it(cells, text):
    found = read("purchases", COUNTED, ["2026-03-07", "Board", *cells], source="retail")
    assert (found.values.get("quantity"), found.faults) == (text, [])


@pytest.mark.parametrize(
    ("cells", "says"),
    [
        (["12", None], "no unit"), (["many", None], "number"), (["-3 ft", None], "negative"),
        (["0", "ft"], "is zero"), (["12 ft", "gal"], "correct one"), (["3", "armful"], "unit"),
        ([["d", "2026-01-02"], None], "1/2 or 3-4"), (["1,250 ft", None], "two numbers"),
        (["1e5 ft", None], "exponent"), (["10-12 ft", None], "range"), (["9" * 40, "ft"], "long"),
    ],
)  # fmt: skip
def test_quantities_that_are_refused(cells, says):
    found = read("purchases", COUNTED, ["2026-03-07", "Board", *cells], source="retail")
    assert found.faults, found.values
    assert says in " ".join(sentence for _, sentence in found.faults)


def test_cells_are_kept_exactly():
    assert tagged(0.1) == ["n", "0.1"]
    assert tagged(1e22) == ["n", "10000000000000000000000"]
    assert tagged(float("nan"))[0] == "e"
    assert cell_text(tagged(12.0)) == "12"
    assert tagged("  ") is None
