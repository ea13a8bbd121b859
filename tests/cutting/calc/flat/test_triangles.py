"""Triangles head to tail in strips: none overlaps another, and the saw has its cut between them."""

from fractions import Fraction as F
from itertools import pairwise

import pytest

from materials.cutting.calc.flat.plan import plan_sheets
from materials.cutting.calc.flat.triangles import shifts, slants, strip_length, triangles
from materials.cutting.calc.flat.types import FlatOrder, Part, Sheet
from materials.cutting.calc.flat.words import cut_lines, notes
from materials.cutting.calc.types import CuttingError
from tests.cutting.calc.flat.follows import follows_from

SHAPES = [(40, 34, None), (36, 30, F(10)), (36, 30, F(26)), (30, 40, F(0)), (30, 40, F(30))]


def part(length, width, offset, count=9):
    return Part("panel", F(length), F(width), count, True, True, offset)


def cross(a, b, c):
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


@pytest.mark.parametrize("kerf", [F(0), F(1, 8)])
@pytest.mark.parametrize(("length", "width", "offset"), SHAPES)
def test_each_is_whole_and_a_saw_cut_from_the_next(length, width, offset, kerf):
    made = triangles(part(length, width, offset), kerf, 7)
    sides = set()
    for corners in made:
        assert abs(cross(*corners)) == length * width
        pairs = pairwise([*corners, corners[0]])
        squares = [(a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2 for a, b in pairs]
        sides.add(tuple(sorted(squares)))
        assert all(0 <= y <= width for _, y in corners)
    assert len(sides) == 1
    for at, (one, other) in enumerate(pairwise(made)):
        # The side of one that faces the next, from the bottom to the top.
        low, high = (one[1], one[2]) if at % 2 == 0 else (one[2], one[1])
        square = (high[0] - low[0]) ** 2 + (high[1] - low[1]) ** 2
        for corner in other:
            area = cross(high, low, corner)
            # Twice the area is the side times the distance.
            assert area >= 0
            assert area**2 >= kerf**2 * square
    assert [low for low, _ in slants(part(length, width, offset), kerf, 7)] == sorted(
        low for low, _ in slants(part(length, width, offset), kerf, 7)
    )


def test_two_take_little_more_than_one():
    """Of 40 by 34: a pair is 60 long and a cut, five are 120 long."""
    assert strip_length(part(40, 34, None), F(0), 1) == 40
    assert strip_length(part(40, 34, None), F(0), 2) == 60
    assert strip_length(part(40, 34, None), F(0), 5) == 120
    # The side is the root of 20² + 34², over 34: 1.16, up to the next quarter.
    right, left = shifts(part(40, 34, None), F(1))
    assert right == left == F(5, 4)
    # Of 30 by 40 with its corner above the start: sides of 50 and 40 over 40, exact.
    assert shifts(part(30, 40, F(0)), F(1)) == (F(5, 4), 1)
    # From the side of the first, down from its top at 20 to 40; behind the second, up to its end.
    assert slants(part(40, 34, None), F(1), 3) == [(40, 20), (F("41.25"), F("61.25"))]


def planned(order):
    return plan_sheets(order, lambda: 20_000, 20)


def test_strips_lie_on_sheets_and_what_is_wanted_is_cut():
    """Two right triangles make a rectangle: twelve of 24 by 48 fill three sheets of 96 by 48."""
    order = FlatOrder((Sheet("sheet", F(96), F(48), F(30)),), (part(24, 48, F(0), 12),), F(0))
    plan = planned(order)
    follows_from(order, plan)
    assert (plan.sheets, plan.cost, plan.proved) == (2, 60, True)
    # Eight fill one sheet without waste, four half of another.
    assert plan.waste == 96 * 48 * 2 - 12 * 24 * 48 / 2
    assert "Other ways to lay them were not compared." in " ".join(notes(order, plan))


@pytest.mark.parametrize(("length", "sheets"), [(60 + F(5, 32), 1), (60 + F(9, 64), 2)])
def test_the_slanted_cut_counts_to_its_last_part(length, sheets):
    """A pair of 40 by 34 is 60 long, and a cut of 1/8 takes 5/4 of that along the strip."""
    order = FlatOrder((Sheet("sheet", length, F(34), F(9)),), (part(40, 34, None, 2),), F(1, 8))
    plan = planned(order)
    follows_from(order, plan)
    assert plan.sheets == sheets


def hand(corners) -> tuple:
    """The sides as one meets them going round from the longest, the face side up."""
    a, b, c = corners
    round_it = [a, b, c] if cross(a, b, c) > 0 else [a, c, b]
    ends = zip(round_it, [*round_it[1:], round_it[0]], strict=True)
    squares = [(p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2 for p, q in ends]
    at = squares.index(max(squares))
    return tuple(squares[at:] + squares[:at])


def test_on_a_face_side_all_of_a_scalene_triangle_are_of_one_hand():
    """Sides of 36, the root of 1000 and the root of 1576: mirrored it is a part of its own."""
    one = {hand(each) for each in triangles(part(36, 30, F(10)), F(1, 8), 7)}
    other = {hand(each) for each in triangles(part(36, 30, F(26)), F(1, 8), 7)}
    assert len(one) == len(other) == 1
    assert one != other
    assert sorted(*one) == sorted(*other)
    # With two equal sides both hands are the same.
    assert len({hand(each) for each in triangles(part(40, 34, None), F(0), 7)}) == 1
    sheet = (Sheet("sheet", F(96), F(48), F(30)),)
    both = (part(36, 30, F(10), 2), part(36, 30, F(26), 2))
    order = FlatOrder(sheet, both, F(0))
    plan = planned(order)
    follows_from(order, plan)
    for parts, is_said in ((both, True), ((part(40, 34, None, 3),), False)):
        order = FlatOrder(sheet, parts, F(0))
        said = " ".join(notes(order, planned(order)))
        assert ("add triangles that mirror others as a row of their own" in said) is is_said


def test_cuts_between_triangles_are_told():
    order = FlatOrder(
        (Sheet("sheet", F(96), F(48), F(30)),), (part(40, 34, None, 3),), F(1, 8), F(6)
    )
    lines = "\n".join(cut_lines(order, planned(order), str))
    assert "slanted cuts from the bottom edge to the top, first 0 to 20, then 40 to 20;" in lines
    assert "A1 to A3" in lines


def test_a_corner_beyond_the_side_is_refused():
    order = FlatOrder((Sheet("sheet", F(96), F(48), F(30)),), (part(20, 20, F(30), 2),))
    with pytest.raises(CuttingError, match="enter the longest side as the length"):
        planned(order)
