"""Triangles in sheets: none overlaps another, none sticks out, and as many as can be told."""

from fractions import Fraction as F
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.takeoffs.calc.dome_geometry import dome
from materials.takeoffs.calc.nesting import nest
from tests.searches import TIMES

# Heights are rounded roots.
TINY = F(1, 10**20)


def cross(a, b, c):
    """Twice the area of a triangle, with the sign of its turn."""
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def overlap(one, other) -> bool:
    """Whether two triangles share more than an edge: no side of either parts them."""
    for first, second in ((one, other), (other, one)):
        for n in range(3):
            a, b, c = first[n], first[(n + 1) % 3], first[(n + 2) % 3]
            inner = 1 if cross(a, b, c) > 0 else -1
            if all(cross(a, b, point) * inner <= TINY for point in second):
                return False
    return True


def square(a, b):
    return (a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2


def check(sides, wide, tall):
    found = nest(sides, wide, tall)
    triangles = found.triangles(200)
    assert len(triangles) == min(found.count, 200)
    for each in triangles:
        assert all(-TINY <= x <= wide + TINY and -TINY <= y <= tall + TINY for x, y in each)
        lengths = sorted(square(*pair) for pair in combinations(each, 2))
        for length, side in zip(lengths, sorted(sides), strict=True):
            assert abs(length - side**2) < TINY * 10**4
    for one, other in combinations(triangles[:40], 2):
        assert not overlap(one, other)
    area = abs(cross(*triangles[0])) / 2 if triangles else 0
    assert found.count * area <= wide * tall + TINY
    return found


@settings(max_examples=40 * TIMES, deadline=None)
@given(
    sides=st.tuples(*[st.integers(20, 60)] * 3),
    wide=st.integers(10, 200),
    tall=st.integers(10, 200),
)
def test_whatever_is_nested_can_be_cut(sides, wide, tall):
    a, b, c = sorted(sides)
    if c >= a + b:
        return
    check((F(a, 10), F(b, 10), F(c, 10)), F(wide, 10), F(tall, 10))


@settings(max_examples=40 * TIMES, deadline=None)
@given(wide=st.integers(10, 99), tall=st.integers(10, 99), more=st.integers(0, 30))
def test_a_larger_sheet_never_holds_fewer_and_turning_it_changes_nothing(wide, tall, more):
    sides = (F(3), F("3.2"), F("3.4"))
    one = nest(sides, F(wide, 2), F(tall, 2)).count
    assert nest(sides, F(wide + more, 2), F(tall, 2)).count >= one
    assert nest(sides, F(tall, 2), F(wide, 2)).count == one


@pytest.mark.parametrize(
    ("sides", "sheet", "count"),
    [
        # By hand. Sides of 3, 4 and 5 in a sheet of 4 x 6: two to each 3 x 4.
        ((3, 4, 5), (4, 6), 4),
        # Four ft on each side, 3.46 high: a row of three along 8 ft; 8.1 ft hold no more.
        ((4, 4, 4), (4, 8), 3),
        ((4, 4, 4), (4, F("8.1")), 3),
        # With half a base left there is room for one more, turned.
        ((4, 4, 4), (4, 10), 4),
        ((4, 4, 4), (7, 10), 8),
        ((4, 4, 4), (F("3.4"), 100), 0),
        ((9, 9, 9), (4, 8), 0),
    ],
)
def test_counts_by_hand(sides, sheet, count):
    found = check(tuple(F(side) for side in sides), *(F(side) for side in sheet))
    assert found.count == count


@pytest.mark.parametrize("frequency", [2, 3, 4])
def test_no_scalene_panel_of_a_dome_is_flipped(frequency):
    """Going round from its longest side to its shortest, each turns the same way."""
    made = dome(frequency, 3 * frequency)
    for kind in made.face_counts:
        if len(set(kind)) < 3:
            continue
        sides = tuple(F(made.factors[ord(each) - ord("A")]) * 12 for each in kind)
        triangles = nest(sides, F(24), F(30)).triangles(40)
        turns = set()
        for each in triangles:
            by_side = sorted(range(3), key=lambda n, t=each: square(t[(n + 1) % 3], t[(n + 2) % 3]))
            turns.add(cross(*(each[n] for n in by_side)) > 0)
        assert len(turns) == 1, kind
