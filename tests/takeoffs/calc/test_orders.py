"""What is to be bought: boards that yield whole sides, pieces by size, concrete in its unit."""

from fractions import Fraction
from itertools import product

import pytest

from materials.takeoffs.calc.takeoff import work_out
from materials.takeoffs.calc.whole_sides import boards_for

F = Fraction


def figure(key, shape, **typed):
    return next(each for each in work_out(shape, typed).figures if each.key == key)


def bed(**typed):
    start = {"length": "8 ft", "width": "4 ft", "height": "16 1/2 in", "board": "5 1/2 in"}
    given = {"board_thickness": "1 1/2 in", "fill": "100", "count": "3", "waste": "0"}
    return start | given | {"stock": "10 ft"} | typed


def test_sides_of_a_bed_are_whole():
    """Three beds of 8 x 4 ft in three courses: 18 boards for the long sides, 9 for the ends."""
    made = figure("stock", "raised-bed", **bed())
    assert (made.value, made.size) == (27, "10 ft")
    assert "18 sides of 8 ft and 18 of 4 ft" in made.formula
    worked = work_out("raised-bed", bed())
    assert "With joints in the sides, 22 boards would do" in worked.notes[0]
    assert figure("stock", "raised-bed", **bed(waste="10")).value == 30


def test_sides_longer_than_the_stock_are_joined_and_it_is_said():
    worked = work_out("raised-bed", bed(stock="6 ft"))
    made = next(each for each in worked.figures if each.key == "stock")
    assert (made.value, made.label) == (36, "Boards of stock length, joined")
    assert "longer than boards of 6 ft" in worked.notes[0]


def fewest_by_looking(long, short, count, stock):
    """The fewest boards of every way to fill up to that many of them."""
    fills = [
        (n, m)
        for n, m in product(range(count + 1), repeat=2)
        if n + m and n * long + m * short <= stock
    ]
    boards, reached = 0, {(0, 0)}
    while (count, count) not in reached:
        boards += 1
        reached |= {(min(count, a + n), min(count, b + m)) for a, b in reached for n, m in fills}
    return boards


@pytest.mark.parametrize("stock", [8, 10, 12, 16])
def test_no_fewer_boards_would_do(stock):
    for long, short, count in product((4, 5, F("6.5"), 8), (F("2.5"), F("3.5"), 4, 5), (2, 4, 6)):
        found = boards_for(F(long), F(short), count, F(stock))
        assert found == fewest_by_looking(max(long, short), min(long, short), count, stock)


def test_many_sides_and_short_ones():
    assert boards_for(F(8), F(4), 480, F(10)) == 480 + 240
    assert boards_for(F(1, 12), F(1, 24), 400_000, F(5000)) is not None
    assert boards_for(F(11), F(4), 2, F(10)) is None


def test_pieces_are_rounded_for_each_size():
    typed = {"pieces": "1 @ 2x4x8\n1 @ 2x6x10\n1 @ 2x8x12", "waste": "10", "rounding": "up"}
    figures = [f for f in work_out("lumber", typed).figures if f.key.startswith("pieces-waste")]
    assert [(f.label, f.value) for f in figures] == [
        ("Pieces of 2x4x8 with the allowance", 2),
        ("Pieces of 2x6x10 with the allowance", 2),
        ("Pieces of 2x8x12 with the allowance", 2),
        ("All sizes together, each with the allowance", 6),
    ]
    assert figures[-1].formula == "2 of 2x4x8 + 2 of 2x6x10 + 2 of 2x8x12"


def test_lines_of_one_size_are_one_size():
    typed = {"pieces": "3 @ 2x4x8\n4 @ 2X4X8", "waste": "10", "rounding": "up"}
    (made,) = [f for f in work_out("lumber", typed).figures if f.key.startswith("pieces-waste")]
    assert (made.value, made.label) == (8, "Pieces of 2x4x8 with the allowance")


def test_concrete_in_metres_is_ordered_in_cubic_metres():
    made = figure("order", "concrete", volumes="3 cu m", waste="10")
    assert (made.value, made.unit) == (F("3.3"), "cu m")
    assert figure("order", "concrete", volumes="3.01 cu m", waste="0").value == F("3.1")
    worked = work_out("concrete", {"volumes": "3 cu m", "waste": "10"})
    assert worked.drawing.words == "Cubic metres: 3 as measured, 0.3 allowance."
    made = figure("order", "concrete", volumes="3 cu yd", waste="10")
    assert (made.value, made.unit) == (4, "cu yd")
