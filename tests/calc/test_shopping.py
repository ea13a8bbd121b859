"""A shopping list asks for whole things; what is still needed stays exact."""

from fractions import Fraction as F

import pytest

from materials.calc.shopping import (
    Pack,
    ToGet,
    is_counted,
    round_to_get,
    to_get,
    to_get_new,
    whole,
)
from materials.calc.units import UNITS, Dimension
from tests.calc.builders import part


@pytest.mark.parametrize(
    ("needed", "asked"),
    [(F("5.9"), 6), (F(6), 6), (F(1, 10**9), 1), (F(0), 0), (F(13, 2), 7)],
)
def test_whole_ones_are_never_too_few_and_never_one_too_many(needed, asked):
    assert whole(needed) == asked


@pytest.mark.parametrize(
    ("unit", "counted"),
    [("piece", True), ("bag", True), ("sheet", True), ("roll", True), ("bundle", True),
     ("pair", True), ("ft", False), ("sq ft", False), ("gal", False), ("square", False),
     ("lb", False), ("bf", False)],
)  # fmt: skip
def test_things_are_counted_and_stuff_is_measured(unit, counted):
    assert is_counted(unit) is counted


def test_every_unit_is_one_or_the_other():
    counted = {unit.dimension for unit in UNITS.values() if unit.is_counted}
    assert counted == {Dimension.COUNT, Dimension.PACK}


def test_what_was_bought_before_is_rounded_only_where_it_is_counted():
    assert to_get(part(unit="bag"), F("5.9")) == ToGet(F(6), "bag", F(6))
    assert to_get(part(unit="ft"), F("85.8")) == ToGet(F("85.8"), "ft", F("85.8"))


# component's unit, new quantity per one, what the new price is for, needed -> to get, in base units
NEW = [
    # 441 ft of bar sold by pieces of 20 ft: 22.05 pieces.
    ("ft", 1, Pack("piece", F(20)), F(441), ToGet(F(23), "piece", F(460))),
    # Screws counted singly and sold by boxes of 100.
    ("piece", 1, Pack("box", F(100)), F(430), ToGet(F(5), "box", F(500))),
    ("ft", 1, Pack("roll", F(250)), F(500), ToGet(F(2), "roll", F(500))),
    # By the gallon any part of one can be had.
    ("gal", 1, None, F("0.4"), ToGet(F("0.4"), "gal", F("0.4"))),
    ("bag", 1, None, F("5.9"), ToGet(F(6), "bag", F(6))),
    ("bag", 1, Pack("bag", F(1)), F("5.9"), ToGet(F(6), "bag", F(6))),
    ("gal", 1, Pack("gal", F(1)), F("0.4"), ToGet(F("0.4"), "gal", F("0.4"))),
    # A bag that fills a cubic foot comes whole all the same.
    ("cu ft", 1, Pack("bag", F(1)), F("5.9"), ToGet(F(6), "bag", F(6))),
    # Pieces half as long as those counted: twelve do the work of six.
    ("piece", 1, Pack("piece", F(1, 2)), F("5.9"), ToGet(F(12), "piece", F(6))),
    # 1.2 new ones do the work of an old one: 5.9 x 1.2 = 7.08.
    ("piece", F("1.2"), None, F("5.9"), ToGet(F(8), "piece", F(8))),
]


@pytest.mark.parametrize(("unit", "per_one", "pack", "needed", "expected"), NEW)
def test_new_material_comes_by_what_its_price_is_for(unit, per_one, pack, needed, expected):
    assert to_get_new(part(unit=unit, new_per_one=per_one), needed, pack) == expected


@pytest.mark.parametrize(
    ("quantity", "unit", "asked"),
    [
        ("1.047", "square", "1.1"),
        ("9.91", "gal", 10),
        ("12.2", "cu yd", 13),
        ("0.4", "gal", "0.4"),
        ("0.401", "gal", "0.41"),
        ("1.1", "square", "1.1"),
        ("0.2", "bag", 1),
        (3, "piece", 3),
        (0, "ft", 0),
    ],
)
def test_what_is_asked_for_is_never_too_little_and_has_few_digits(quantity, unit, asked):
    assert round_to_get(F(quantity), unit) == F(asked)
    assert round_to_get(F(quantity), unit) >= F(quantity)
