"""Lengths, boards and pieces of a cutting plan as they are typed, and a plan as it is kept."""

from copy import deepcopy
from fractions import Fraction as F
from typing import Any

import pytest

from materials.calc.measures import QuantityError
from materials.calc.units import UNITS
from materials.cutting.calc.reading import (
    Lengths,
    read_length,
    read_need,
    read_stock,
    refuse,
    write_length,
)
from materials.cutting.calc.store import StoredPlanError, from_data, to_data
from materials.cutting.calc.types import Cut, CuttingError, Need, Order, Plan, Stock

FT, INCH, METRE, MILLIMETRE = UNITS["ft"], UNITS["in"], UNITS["m"], UNITS["mm"]


@pytest.mark.parametrize(
    ("text", "metres", "unit"),
    [
        # 12 x 0.3048, and 90 x 0.0254.
        ("12 ft", "3.6576", FT),
        ("7' 6\"", "2.286", FT),
        ("28 in", "0.7112", INCH),
        ("2.4 m", "2.4", METRE),
        ("28", "28", None),
        ("0", "0", None),
    ],
)
def test_a_length(text: str, metres: str, unit: Any) -> None:
    assert read_length(text) == (F(metres), unit)


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("5 gal", "is in gallons, not a length"),
        ("8 ft long", "holds 'long', which is not understood"),
        ("", "is empty: enter for example 8 ft"),
        ("9" * 500, "is longer than .* for example 8 ft"),
    ],
)
def test_no_length(text: str, result: str) -> None:
    with pytest.raises(QuantityError, match=result):
        read_length(text)


@pytest.mark.parametrize(
    ("inches", "unit", "text"),
    [
        ("96", FT, "8 ft"),
        ("90", FT, "7 ft 6 in"),
        ("6.5", FT, "6-1/2 in"),
        ("12.515625", FT, "1 ft 33/64 in"),
        ("0", FT, "0 in"),
        ("28", INCH, "28 in"),
        ("90", INCH, "90 in"),
        ("0.5", INCH, "1/2 in"),
        # A 128th is on no tape.
        ("0.0078125", INCH, "0.008 in"),
        ("1/3", INCH, "0.333 in"),
        ("1000/25.4", METRE, "1 m"),
        ("100", METRE, "2.54 m"),
        ("100", MILLIMETRE, "2540 mm"),
    ],
)
def test_a_length_is_written_to_be_measured(inches: str, unit: Any, text: str) -> None:
    number, _, by = inches.partition("/")
    exact = F(number) / F(by or 1)
    assert write_length(exact * F("0.0254"), unit) == text


def test_a_number_without_a_unit_stays_one() -> None:
    assert write_length(F("28.5"), None) == "28.5"


@pytest.mark.parametrize(
    ("text", "need"),
    [
        ("28 in x 4", ("28 in", 4)),
        (" 7' 6\" × 12 ", ("7' 6\"", 12)),
        ("4 @ 28 in", ("28 in", 4)),
        ("28*3", ("28", 3)),
        ("999999999 @ 1", ("1", 999999999)),
        ("1000000000 @ 1", None),
        ("28 in", None),
        ("x 4", None),
        ("4 @", None),
    ],
)
def test_pieces(text: str, need: tuple[str, int] | None) -> None:
    assert read_need(text) == need


def test_lengths_are_written_in_the_unit_of_the_first() -> None:
    lengths = Lengths()
    assert lengths.read("0", "Kerf") == 0
    assert lengths.read(" 28 in ", "Piece") == F("0.7112")
    assert lengths.read("8 ft", "Stock") == F("2.4384")
    lengths.agree()
    assert (lengths.faults, lengths.unit) == ([], INCH)
    assert lengths.number(F("2.4384")) == "96"
    assert lengths.write(F("2.4384")) == "96 in"


def test_no_length_at_all_has_a_unit_too() -> None:
    lengths = Lengths()
    for text in ("0 in", "8 ft", "30"):
        lengths.read(text, "Piece")
    lengths.agree()
    assert lengths.write(F("2.4384")) == "96 in"
    assert lengths.faults == [
        "'30' has no unit, and other lengths have one: enter it like '30 in'."
    ]


def test_numbers_alone_are_numbers() -> None:
    lengths = Lengths()
    assert [lengths.read(text, "Piece") for text in ("28", "5 gal", "3.5")] == [28, None, F(7, 2)]
    assert len(lengths.faults) == 1
    assert lengths.faults[0].startswith("Piece: '5 gal' is in gallons")
    lengths.agree()
    assert lengths.unit is None
    assert (lengths.number(F(28)), lengths.write(F(28))) == ("28", "28")


def test_a_number_beside_lengths_with_a_unit_is_a_fault() -> None:
    lengths = Lengths()
    for text in ("28", "8 ft", "30"):
        lengths.read(text, "Piece")
    lengths.agree()
    assert lengths.faults == [
        "'28' has no unit, and other lengths have one: enter it like '28 ft'.",
        "'30' has no unit, and other lengths have one: enter it like '30 ft'.",
    ]


@pytest.mark.parametrize(
    ("text", "length", "price", "count", "is_on_hand"),
    [
        ("8 ft", "2.4384", None, None, False),
        ("8 ft: 4.50", "2.4384", "4.50", None, False),
        ("8 ft:4.50:12", "2.4384", "4.50", 12, False),
        ("8 ft:0:12", "2.4384", "0", 12, False),
        ("8 ft::12", "2.4384", None, 12, True),
        ("120:free", "120", "0", None, False),
        ("120::999999999", "120", None, 999999999, True),
        ("120::0", "120", None, 0, True),
    ],
)
def test_a_board(
    text: str, length: str, price: str | None, count: int | None, is_on_hand: bool
) -> None:
    lengths = Lengths()
    found = read_stock(text, lengths, F(1, 8))
    name = text.partition(":")[0]
    cost = None if price is None else F(price)
    assert found == Stock(name, F(length), cost, count, F(1, 8), is_on_hand)
    assert lengths.faults == []


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("8 ft:1:2:3", "holds more than a length, a price and a count"),
        ("8 ft:dear", "the price “dear” is not a number"),
        ("8 ft:1:many", "'many' is not a count"),
        ("8 ft:1:-2", "'-2' is not a count"),
        ("8 ft:1:1.5", "'1.5' is not a count"),
        ("8 ft:1:٣", "'٣' is not a count"),
        ("8 ft:1:1000000000", "'1000000000' is not a count"),
        ("8 gal:1", "is in gallons, not a length"),
    ],
)
def test_no_board(text: str, result: str) -> None:
    lengths = Lengths()
    assert read_stock(text, lengths, F(0)) is None
    (fault,) = lengths.faults
    assert result in fault


def test_faults_are_raised_together() -> None:
    refuse([])
    with pytest.raises(CuttingError) as caught:
        refuse(["One.", "Two."])
    assert caught.value.faults == ("One.", "Two.")


ORDER = Order((Stock("a", F(120), F(5)), Stock("b", F(96))), (Need("x", F(28), 9),))
PLAN = Plan(
    cuts=(Cut(0, 2, ((0, 4),), F(15, 2), 4), Cut(1, 1, ((0, 1),), F(68), 1)),
    cost=F(21, 2),
    waste=F(84),
    used=F(336),
    longest=F(68),
    cost_bound=None,
    waste_bound=F(1, 3),
    is_least_cost=True,
    is_least_waste=False,
    is_longest=True,
    patterns=7,
    boards_alone=F(9, 4),
    left_out=(1,),
)


def test_a_plan_comes_back_as_it_was_kept() -> None:
    assert from_data(to_data(PLAN), ORDER) == PLAN
    bare = Plan(PLAN.cuts, None, *[F(1)] * 3, F(2), F(3), False, True, False, None, None, ())
    assert from_data(to_data(bare), ORDER) == bare


@pytest.mark.parametrize(
    ("place", "value"),
    [
        (("cuts", 0, "stock"), 2),
        (("cuts", 0, "stock"), -1),
        (("cuts", 0, "stock"), "0"),
        (("cuts", 0, "count"), 0),
        (("cuts", 0, "count"), 3),
        (("cuts", 0, "count"), "2"),
        (("cuts", 0, "pieces"), [[1, 4]]),
        (("cuts", 0, "pieces"), [[0, 5]]),
        (("cuts", 0, "pieces"), [[0, 0]]),
        (("cuts", 0, "off_cut"), "1/0"),
        (("cuts",), None),
        (("waste",), None),
        (("cost",), "dear"),
        (("patterns",), 0),
        (("left_out",), [2]),
    ],
)
def test_what_is_no_plan_for_the_order_is_refused(place: tuple[Any, ...], value: Any) -> None:
    data = deepcopy(to_data(PLAN))
    at: Any = data
    for step in place[:-1]:
        at = at[step]
    at[place[-1]] = value
    with pytest.raises(StoredPlanError):
        from_data(data, ORDER)


def test_what_is_missing_is_refused() -> None:
    data = to_data(PLAN)
    del data["used"]
    with pytest.raises(StoredPlanError):
        from_data(data, ORDER)
