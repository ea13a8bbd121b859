"""A shopping list asks for whole things; what is still needed stays exact."""

from fractions import Fraction as F

import pytest

from materials.calc.contents import parse_contents
from materials.calc.shopping import (
    Pack,
    ToGet,
    held_pack,
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


# unit, contents, the whole thing it comes in
HELD = [
    ("ft", "1 piece = 8 ft", Pack("piece", F(8))),
    ("sq ft", "1 bundle = 64 sq ft; 1 sq ft = 2.4 lb", Pack("bundle", F(64))),
    # Of two the smaller, so that least is left over.
    ("sq ft", "1 box = 20 sq ft; 1 piece = 2 sq ft", Pack("piece", F(2))),
    ("gal", "1 can = 5 gal; 1 gal = 350 sq ft", Pack("can", F(5))),
    # A length is cut from a roll, and a pound of screws is not sold by the screw.
    ("ft", "1 roll = 100 ft", None),
    ("lb", "1 lb = 95 pieces", None),
    ("gal", "1 gal = 350 sq ft", None),
    ("bag", "1 bag = 50 lb", None),
    ("ft", "", None),
]


@pytest.mark.parametrize(("unit", "typed", "pack"), HELD)
def test_contents_tell_what_a_measure_comes_in(unit, typed, pack):
    assert held_pack(unit, parse_contents(typed)) == pack


def test_boards_come_whole_wherever_they_are_got():
    """85.8 ft of slats of 8 ft: eleven of them, whether bought before or new by the foot."""
    slat, held, eleven = part(unit="ft"), Pack("piece", F(8)), ToGet(F(11), "piece", F(88))
    assert to_get(slat, F("85.8"), held) == eleven
    assert to_get_new(slat, F("85.8"), None, held) == eleven
    # What the new price is for goes before.
    assert to_get_new(slat, F("85.8"), Pack("bundle", F(40)), held) == ToGet(F(3), "bundle", F(120))


@pytest.mark.parametrize(
    ("quantity", "unit", "asked"),
    [
        ("1.047", "square", 2),
        ("9.91", "gal", 10),
        ("12.2", "cu yd", 13),
        ("0.4", "gal", "0.4"),
        ("0.401", "gal", "0.41"),
        ("12.2", "sq ft", 13),
        ("0.2", "bag", 1),
        (3, "piece", 3),
        (0, "ft", 0),
    ],
)
def test_what_is_asked_for_is_never_too_little_and_has_few_digits(quantity, unit, asked):
    assert round_to_get(F(quantity), unit) == F(asked)
    assert round_to_get(F(quantity), unit) >= F(quantity)
