"""What a kind is asked for, and what its price is compared by; own examples, worked by hand."""

from fractions import Fraction as F

import pytest

from materials.calc.kind_sense import ASKED, MEASURES, example_of, measures_of, missing_of
from materials.calc.kinds import Kind
from materials.calc.quantities import QuantityError, meanings, parse_contents
from materials.calc.units import UNITS


def measured(kind, base, contents="", *, is_metric=False):
    found = measures_of(kind, UNITS[base], parse_contents(contents), is_metric=is_metric)
    return [
        (f"{one.unit.symbol}, {one.thickness}" if one.thickness else one.unit.symbol, one.held)
        for one in found
    ]


def missing(kind, base, contents=""):
    return [ask.what for ask in missing_of(kind, UNITS[base], parse_contents(contents))]


def test_every_kind_says_what_it_asks_and_compares_by():
    assert set(ASKED) == set(MEASURES) == set(Kind)


@pytest.mark.parametrize("kind", [kind for kind in Kind if ASKED[kind]])
def test_the_example_of_a_kind_answers_all_that_it_asks(kind):
    base = "sheet" if kind is Kind.SHEET else "piece"
    base = {Kind.LOOSE: "cu yd", Kind.LIQUID: "gal", Kind.FASTENER: "lb"}.get(kind, base)
    said = example_of(kind).replace("1 piece = 4", f"1 {base} = 4")
    assert missing(kind, base, said) == []
    assert measured(kind, base, said)


def test_lumber_compares_by_the_board_foot():
    """A 2x6 of 10 ft: 2 x 6 x 10 / 12 = 10 board feet."""
    assert measured(Kind.LUMBER, "piece", "1 piece = 2x6x10") == [("bf", 10), ("ft", 10)]
    assert missing(Kind.LUMBER, "piece", "1 piece = 10 ft") == ["size and length"]


def test_a_sheet_compares_in_its_thickness_and_by_its_r_value():
    """A sheet of 4 x 8 ft: 32 sq ft; of R-5: 160."""
    contents = "1 sheet = 4x8 ft; thickness = 1 in; R-value = 5"
    assert measured(Kind.SHEET, "sheet", contents) == [
        ("R sq ft", 160), ("sq ft, 1 in", 32),
    ]  # fmt: skip
    assert missing(Kind.SHEET, "sheet", contents) == []
    assert measured(Kind.SHEET, "sheet", "1 sheet = 7/16 in x 4 ft x 8 ft") == [
        ("sq ft, 7/16 in", 32)
    ]
    assert measured(Kind.SHEET, "sheet", "1 sheet = 4x8 ft") == [("sq ft", 32)]
    assert missing(Kind.SHEET, "sheet", "1 sheet = 4x8 ft") == [
        "thickness", "R-value, if it insulates",
    ]  # fmt: skip


def test_a_panel_by_the_watt_and_a_battery_by_what_it_holds():
    assert measured(Kind.ELECTRICAL, "piece", "1 piece = 250 W") == [("W", 250)]
    assert measured(Kind.ELECTRICAL, "piece", "1 piece = 90 Ah; 1 piece = 1.08 kWh") == [
        ("kWh", F(27, 25)), ("Ah", 90),
    ]  # fmt: skip
    assert missing(Kind.ELECTRICAL, "piece") == ["watts, what a battery holds, or length"]
    assert missing(Kind.ELECTRICAL, "piece", "1 piece = 90 Ah") == []


def test_metric_builds_compare_in_metric_units():
    assert measured(Kind.PIPE, "piece", "1 piece = 3 m", is_metric=True) == [("m", 3)]
    contents = "1 sheet = 1.2 m x 2.4 m; thickness = 12.5 mm"
    assert measured(Kind.SHEET, "sheet", contents, is_metric=True) == [("sq m, 12.5 mm", F(72, 25))]


def test_what_contents_do_not_say_compares_by_nothing():
    assert measured(Kind.LIQUID, "gal") == [("gal", 1)]
    assert measured(Kind.COVERING, "roll") == []
    assert measured(Kind.OTHER, "piece", "1 piece = 8 ft") == []
    assert measured(None, "piece", "1 piece = 8 ft") == []


def test_a_price_goes_by_the_measure():
    (watt,) = measures_of(
        Kind.ELECTRICAL, UNITS["piece"], parse_contents("1 piece = 250 W"), is_metric=False
    )
    assert watt.words == "watt"
    assert watt.price(F(100)) == F(2, 5)
    assert watt.price(F(0)) == 0
    assert watt.price(None) is None


@pytest.mark.parametrize("text", ["R-value =", "R-value = 0", "R-value = warm", "R-value = 5 ft"])
def test_an_r_value_is_a_number_above_zero(text):
    with pytest.raises(QuantityError, match="R-value = 13"):
        parse_contents(text)


def test_an_r_value_given_twice_is_refused():
    with pytest.raises(QuantityError, match="two different ways"):
        parse_contents("R-value = 5; R-value = 6")


@pytest.mark.parametrize(
    ("text", "means"),
    [
        ("12 @ 2 in x 10 ft", ("12 @ 10 ft",)),
        ("4 in x 10 ft", ("1 @ 10 ft",)),
        ("3 lengths @ 50 mm x 3 m", ("3 @ 3 m",)),
        ("3 @ 10 ft", ()),
    ],
)
def test_a_pipe_is_as_wide_as_it_is_across(text, means):
    """2 in x 10 ft of pipe are ten feet of it; of a sheet they would be an area."""
    assert meanings(text, Kind.PIPE, UNITS["piece"]) == means
    assert meanings(text, Kind.SHEET, UNITS["piece"]) != means or not means
