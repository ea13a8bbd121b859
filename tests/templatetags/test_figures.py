"""How figures are written on pages: rounded in one place, by one rule each."""

from decimal import Decimal as D

import pytest

from materials.templatetags.figures import (
    UNKNOWN,
    money_range,
    names,
    percent,
    quantity,
    rate_text,
    signed_percent,
    stated_percent,
    to_buy,
)


@pytest.mark.parametrize(
    ("value", "written"),
    [
        (D("44.5"), "45%"),
        (D("44.4"), "44%"),
        (D("0.4"), "under 1%"),
        (D("-0.4"), "under 1%"),
        (D(0), "0%"),
        (D("-12.6"), "−13%"),
        (D("1234.5"), "1,235%"),
        (None, UNKNOWN),
    ],
)
def test_per_cent_is_whole_and_closed_up(value, written):
    assert percent(value) == written


def test_per_cent_that_somebody_stated_is_as_stated():
    assert stated_percent(D("8.2500")) == "8.25%"
    assert stated_percent(D(10)) == quantity(D(10), "%") == "10%"
    assert stated_percent(None) == UNKNOWN


def test_per_cent_with_its_way():
    assert (signed_percent(D("12.4")), signed_percent(D("-3.6"))) == ("+12%", "−4%")


@pytest.mark.parametrize(
    ("amount", "currency", "written"),
    [
        ("2.8676", "USD", "$2.87"),
        ("1.005", "USD", "$1.01"),
        ("0.9996", "USD", "$0.9996"),
        ("0.4286", "USD", "$0.4286"),
        ("0.5", "USD", "$0.50"),
        ("-1.2345", "USD", "−$1.23"),
        ("3.456", "JPY", "3.46 JPY"),
        ("3", "JPY", "3 JPY"),
        ("3.45678", "KWD", "3.457 KWD"),
    ],
)
def test_prices_have_two_decimals_from_one_up(amount, currency, written):
    assert rate_text(D(amount), currency) == written


def test_files_keep_four_decimals():
    assert rate_text(D("2.8676"), "USD", exact=True) == "$2.8676"


def test_what_is_to_be_bought_is_rounded_up():
    assert to_buy(D("1.047"), "square") == "2&nbsp;squares"
    assert to_buy(D("5.2"), "bag") == "6&nbsp;bags"


def test_names_in_a_sentence():
    assert names(["Board, oak", "Stud"]) == "Board, oak; Stud"
    assert names(["Board", "Stud"]) == "Board, Stud"


def test_a_range_whose_ends_are_shown_alike_is_one_amount():
    assert money_range(D("12"), D("15.5"), "USD") == "$12.00 to $15.50"
    assert money_range(D("3474.771"), D("3474.774"), "USD") == "$3,474.77"
    assert money_range(None, D(1), "USD") == UNKNOWN
