"""One cell to one value."""

from datetime import date, datetime, time
from decimal import Decimal

import pytest

from materials.exchange.cells import CellError, CellReader, number_of, text_of
from materials.exchange.columns import Column, Kind
from materials.exchange.schema import CHARGES, PURCHASES

D = Decimal


def read(kind, cell, places=2, **options):
    return CellReader(places).read(cell, Column("It", "it", kind, **options))


@pytest.mark.parametrize(
    ("cell", "value"),
    [(0.1, "0.1"), (1e22, "1E+22"), (5.0, "5.0"), (7, "7"), (D("1.10"), "1.10")],
)
def test_a_binary_number_is_its_shortest_decimal(cell, value):
    assert number_of(cell) == D(value)


def test_what_is_not_finite_is_no_number():
    with pytest.raises(CellError, match="does not hold a usable number"):
        number_of(1e308 * 10)


@pytest.mark.parametrize(
    ("cell", "text"),
    [
        (12.0, "12"),
        (2400, "2400"),
        (" a  b\n c ", "a b c"),
        (True, "yes"),
        (date(2026, 4, 3), "2026-04-03"),
        ("½ in", "½ in"),
    ],
)
def test_cells_as_text(cell, text):
    assert text_of(cell) == text


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\x85", "\ud800"])
def test_control_characters_are_refused(sign):
    with pytest.raises(CellError, match="invisible character"):
        text_of(f"a{sign}b")


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        (0.1 + 0.2, "0.30"),
        ("$1,250.005", "1250.01"),
        ("free", "0"),
        ("0,85", "0.85"),
        (12.345, "12.35"),
    ],
)
def test_amounts_are_rounded_half_up_to_the_minor_unit(cell, value):
    assert read(Kind.AMOUNT, cell) == D(value)


def test_a_currency_without_decimals():
    assert read(Kind.AMOUNT, 12.5, places=0) == 13


def test_a_price_keeps_six_decimals():
    assert read(Kind.RATE, 0.3035) == D("0.3035")


@pytest.mark.parametrize("cell", ["8.25 %", "8.25%", 8.25, "8,25"])
def test_percentages(cell):
    assert read(Kind.PERCENT, cell) == D("8.25")


@pytest.mark.parametrize(
    ("cell", "value"), [(4.5, "4.5"), ("4 h 30 min", "4.5"), ("20 min", "0.3333"), ("2", "2")]
)
def test_hours(cell, value):
    assert read(Kind.HOURS, cell) == D(value)


@pytest.mark.parametrize(
    "cell",
    [
        "2026-04-03",
        date(2026, 4, 3),
        datetime.combine(date(2026, 4, 3), time(9)),
        "2026-04-03 00:00:00",
    ],
)
def test_dates(cell):
    assert read(Kind.DATE, cell) == date(2026, 4, 3)


@pytest.mark.parametrize(
    "cell", ["03/04/2026", "3.4.2026", "April 3", "2026-W14-5", "2026-02-30", 46115.0, time(9), ""]
)
def test_dates_that_can_be_read_in_more_than_one_way_are_refused(cell):
    with pytest.raises(CellError, match="enter it like 2026-04-03"):
        read(Kind.DATE, cell)


def test_choices_are_read_without_case_and_with_any_apostrophe():
    kind = CHARGES.column("kind")
    assert CellReader(2).read("Buyer’s  Premium", kind) == "buyer's premium"
    assert CellReader(2).read("OFFER", PURCHASES.column("state")) == "offer"


@pytest.mark.parametrize(
    ("cell", "value"), [("Yes", True), (False, False), (1.0, True), ("n", False)]
)
def test_yes_and_no(cell, value):
    assert read(Kind.YES_NO, cell) is value


@pytest.mark.parametrize(
    ("cell", "value"),
    [
        ("18:00", time(18)),
        ("6:30 pm", time(18, 30)),
        (time(18), time(18)),
        # What is reckoned of a time is a binary share of the day, seldom the whole minute.
        (time(17, 59, 59, 999_997), time(18)),
        (datetime(2026, 4, 3, 9, 30), time(9, 30)),  # noqa: DTZ001
        (0.75, time(18)),
        (0, time(0)),
        (0.99999, time(0)),
    ],
)
def test_times_of_day(cell, value):
    assert read(Kind.TIME, cell) == value


@pytest.mark.parametrize("cell", ["18", "soon", 18, -0.25, True, date(2026, 4, 3), "25:00"])
def test_what_is_no_time_of_day(cell):
    with pytest.raises(CellError, match="is not a time: enter it like 18:00 or 6:30 pm"):
        read(Kind.TIME, cell)


def test_a_time_zone_is_found_in_any_case():
    assert read(Kind.ZONE, "america/new york") == "America/New_York"
    with pytest.raises(CellError, match="is not known here: enter a time zone"):
        read(Kind.ZONE, "../etc/passwd", hint="a time zone, like Europe/Lisbon")
