"""Lumber against published tables; each row names its source and how well it is known."""

from fractions import Fraction

import pytest

from materials.calc.lumber import (
    LumberError,
    NominalSize,
    board_feet,
    hardwood_board_feet,
    inch_text,
    surface_measure,
)
from materials.calc.quantities import convert, parse_contents, parse_quantity, to_base
from materials.calc.units import UNITS

PS20 = "US Dept of Commerce, PS 20 table 3"
REPRINTED = "as reprinted"
MEMORY = "from memory"
NOTHING = parse_contents("")


def inches(text: str) -> Fraction:
    whole, _, part = text.rpartition("-")
    return Fraction(part) + int(whole or 0)


def nominal(size: str) -> NominalSize:
    """A size as it is written here: thickness x width."""
    thick, wide = size.split("x")
    return NominalSize(Fraction(thick), Fraction(wide))


# id, nominal thickness, dry, green, status
THICKNESSES = [
    ("L01", "1", "3/4", "25/32", REPRINTED),
    ("L02", "2", "1-1/2", "1-9/16", REPRINTED),
    ("L02", "3", "2-1/2", "2-9/16", REPRINTED),
    ("L02", "4", "3-1/2", "3-9/16", REPRINTED),
    ("-", "5/4", "1", "1-1/32", MEMORY),
    ("-", "3/2", "1-1/4", "1-9/32", MEMORY),
    ("-", "5/2", "2", "2-1/16", MEMORY),
    ("-", "7/2", "3", "3-1/16", MEMORY),
]
# id, nominal width, dry, green, status
WIDTHS = [
    ("L03", "4", "3-1/2", "3-9/16", REPRINTED),
    ("L03", "6", "5-1/2", "5-5/8", REPRINTED),
    ("L04", "8", "7-1/4", "7-1/2", REPRINTED),
    ("L04", "10", "9-1/4", "9-1/2", REPRINTED),
    ("L04", "12", "11-1/4", "11-1/2", REPRINTED),
    ("L05", "14", "13-1/4", "13-1/2", REPRINTED),
    ("L05", "16", "15-1/4", "15-1/2", REPRINTED),
    ("-", "2", "1-1/2", "1-9/16", MEMORY),
    ("-", "3", "2-1/2", "2-9/16", MEMORY),
    ("-", "5", "4-1/2", "4-5/8", MEMORY),
    ("-", "7", "6-1/2", "6-5/8", MEMORY),
    ("-", "9", "8-1/4", "8-1/2", MEMORY),
    ("-", "11", "10-1/4", "10-1/2", MEMORY),
]
# id, nominal side of a timber, dry, green, status
TIMBERS = [
    ("L06", "5", "4-1/2", "4-1/2", REPRINTED),
    ("L06", "6", "5-1/2", "5-1/2", REPRINTED),
    ("L06", "7", "6-1/4", "6-1/2", REPRINTED),
    ("L06", "8", "7-1/4", "7-1/2", REPRINTED),
    ("L06", "15", "14-1/4", "14-1/2", REPRINTED),
    ("L06", "16", "15", "15-1/2", REPRINTED),
    ("L06", "20", "19", "19-1/2", REPRINTED),
]


@pytest.mark.parametrize(("row", "nominal", "dry", "green", "status"), THICKNESSES)
def test_dressed_thickness(row: str, nominal: str, dry: str, green: str, status: str) -> None:
    size = NominalSize(inches(nominal), Fraction(8))
    assert size.dressed()[0] == inches(dry), (row, PS20, status)
    assert size.dressed(green=True)[0] == inches(green), (row, PS20, status)


@pytest.mark.parametrize(("row", "nominal", "dry", "green", "status"), WIDTHS)
def test_dressed_width(row: str, nominal: str, dry: str, green: str, status: str) -> None:
    size = NominalSize(Fraction(2), inches(nominal))
    assert size.dressed()[1] == inches(dry), (row, PS20, status)
    assert size.dressed(green=True)[1] == inches(green), (row, PS20, status)


@pytest.mark.parametrize(("row", "nominal", "dry", "green", "status"), TIMBERS)
def test_dressed_timber(row: str, nominal: str, dry: str, green: str, status: str) -> None:
    size = NominalSize(inches(nominal), inches(nominal))
    assert size.is_timber
    assert size.dressed() == (inches(dry),) * 2, (row, PS20, status)
    assert size.dressed(green=True) == (inches(green),) * 2, (row, PS20, status)


def test_four_by_six_is_dimension_lumber_not_a_timber() -> None:
    size = NominalSize(Fraction(4), Fraction(6))
    assert not size.is_timber
    assert size.dressed() == (Fraction(7, 2), Fraction(11, 2))


# id, sticks as typed (pieces @ size), board feet, tolerance, source, status
STICKS = [
    ("B01", "1 @ 2x4x8", "16/3", "0", "handbook tables", "arithmetic"),
    ("B02", "1 @ 2x4x14", "28/3", "0", "Navy Engineering/Builder basics sec. 6",
     "answer worked out"),
    ("B03", "1 @ 2x6x10", "10", "0", "Army EN0069A para 4-7/4-8", REPRINTED),
    ("B04", "3 @ 2x6x10", "30", "0", "Army EN0069A fig. 4-3", REPRINTED),
    ("B06", "1 @ 2x6x16", "16", "0", "handbook tables", "arithmetic"),
    ("B07", "1 @ 1x12x16", "16.0", "0.005", "1-in board-foot chart", REPRINTED),
    ("B07", "1 @ 1x4x8", "2.67", "0.005", "1-in board-foot chart", REPRINTED),
    ("B07", "1 @ 1x6x10", "5.0", "0.005", "1-in board-foot chart", REPRINTED),
    ("B08", "1 @ 3x8x10", "20", "0", "sawmill teaching page", REPRINTED),
    ("B12", "1 @ 2x8x12", "16", "0", "formula", "arithmetic"),
    ("B12", "1 @ 2x10x14", "70/3", "0", "formula", "arithmetic"),
    ("B12", "1 @ 2x12x16", "32", "0", "formula", "arithmetic"),
    ("B13", "30 @ 2x6x10", "300", "0", "formula", "arithmetic"),
]  # fmt: skip


@pytest.mark.parametrize(("row", "text", "expected", "tolerance", "source", "status"), STICKS)
def test_board_feet_per_stick(
    row: str, text: str, expected: str, tolerance: str, source: str, status: str
) -> None:
    count, _, size = text.partition(" @ ")
    thick, wide, long = (int(side) for side in size.split("x"))
    near = Fraction(tolerance)
    by_rule = board_feet(thick, wide, long, int(count))
    assert abs(by_rule - Fraction(expected)) <= near, (row, source, status)
    # The same through the door a builder uses.
    assert to_base(parse_quantity(text), UNITS["bf"], NOTHING) == by_rule


def test_b04_table_total() -> None:
    # Army EN0069A fig. 4-3, as reprinted: three 2x6x10 and others of 33 board feet, 63 in all.
    assert board_feet(2, 6, 10, 3) + 33 == 63


def test_b10_stock_under_one_inch_counts_as_one() -> None:
    # Navy Builder text, as reprinted.
    assert board_feet(Fraction(1, 2), 12, 16) == board_feet(1, 12, 16) == 16
    assert hardwood_board_feet(Fraction(3, 4), 6, 8) == hardwood_board_feet(1, 6, 8) == 4
    assert board_feet(Fraction(5, 4), 12, 12) == 15


def test_b11_hardwood_surface_measure_is_rounded_first() -> None:
    # NHLA-style rule as described by a trade page, as reprinted; figures by arithmetic.
    assert surface_measure(7, 10) == 6  # 5 5/6
    assert hardwood_board_feet(2, 7, 10) == 12
    assert board_feet(2, 7, 10) == Fraction(35, 3)
    assert surface_measure(Fraction(25, 4), 8) == 4  # 4 1/6
    assert surface_measure(9, 6) == 5  # 4 1/2 goes up
    assert hardwood_board_feet(Fraction(5, 4), 7, 10, pieces=3) == Fraction(45, 2)


def test_b13_price_per_thousand_board_feet() -> None:
    bought = to_base(parse_quantity("30 @ 2x6x10"), UNITS["MBF"], NOTHING)
    assert bought * 800 == 240  # $240.00, arithmetic


def test_j11_joint_cost_by_board_feet() -> None:
    # Lumber problem (inputs), answer worked out: 16.2 M over 27 M bf of A and 9 M bf of B.
    grade_a = convert(Fraction(27000), UNITS["MBF"], UNITS["bf"], NOTHING)
    grade_b = convert(Fraction(9000), UNITS["MBF"], UNITS["bf"], NOTHING)
    each = Fraction(16_200_000) / (grade_a + grade_b)
    assert each == Fraction("0.45")
    assert each * grade_a == 12_150_000
    assert each * grade_b == 4_050_000


def test_one_wide_plank_gives_four_battens() -> None:
    # Common practice, no published source: three cuts make four 2x3 of a dressed 2x12.
    _, width = NominalSize(Fraction(2), Fraction(12)).dressed()
    _, batten = NominalSize(Fraction(2), Fraction(3)).dressed()
    assert 4 * batten + Fraction(3, 8) <= width < 5 * batten


@pytest.mark.parametrize(
    ("size", "written"),
    [
        ("2x6", "2x6"),
        ("6x8", "6x8"),
        ("5/4x6", "5/4x6"),
        ("6/4x4", "1-1/2x4"),
        ("24x24", "24x24"),
    ],
)
def test_nominal_sizes_are_written(size: str, written: str) -> None:
    assert str(nominal(size)) == written


@pytest.mark.parametrize(
    ("size", "fragment"),
    [
        ("6x2", "thickness first: enter 2x6, not 6x2"),
        ("3x13", "3x13 is not a nominal lumber size"),
        ("1x1", "is not a nominal lumber size"),
        ("26x30", "is not a nominal lumber size"),
        ("2x13", "is not a nominal lumber size"),
        ("0x6", "is not a nominal lumber size"),
        ("6x25", "is not a nominal lumber size"),
        ("11/2x6", "is not a nominal lumber size"),
        ("11/2x14", "is not a nominal lumber size"),
    ],
)
def test_other_sizes_are_explained(size: str, fragment: str) -> None:
    with pytest.raises(LumberError) as caught:
        nominal(size)
    assert fragment in str(caught.value)


@pytest.mark.parametrize(
    ("value", "text"),
    [("6", "6"), ("5/4", "5/4"), ("7/2", "3-1/2"), ("1/2", "1/2"), ("185/2", "92-1/2")],
)
def test_inches_are_written_as_a_builder_does(value: str, text: str) -> None:
    assert inch_text(Fraction(value)) == text


def test_the_side_of_a_timber_is_a_whole_number() -> None:
    for sides in ((Fraction(6), Fraction(13, 2)), (Fraction(11, 2), Fraction(6))):
        with pytest.raises(LumberError, match="is not a nominal lumber size"):
            NominalSize(*sides)
