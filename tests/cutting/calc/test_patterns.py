"""Ways to fill a board against all there are, and boards filled one after the other by hand."""

from itertools import product
from random import Random

import pytest

from materials.cutting.calc import patterns
from materials.cutting.calc.patterns import (
    Kind,
    by_worth,
    fill_greedily,
    full_patterns,
    remaining_gain,
    useful_patterns,
)

MANY = 1000


def ways(widths, demand, room):
    """Every way to fill a board to which no further needed piece can be added."""
    for counts in product(*(range(most + 1) for most in demand)):
        rest = room - sum(width * n for width, n in zip(widths, counts, strict=True))
        more = any(
            n < most and width <= rest
            for width, n, most in zip(widths, counts, demand, strict=True)
        )
        if rest >= 0 and any(counts) and not more:
            yield counts


def chances(seed, number=60):
    """Widths that differ, how many of each, and a room."""
    chance = Random(seed)
    for _ in range(number):
        widths = chance.sample(range(2, 13), chance.randint(1, 4))
        demand = [chance.randint(1, 4) for _ in widths]
        yield chance, widths, demand, chance.randint(1, 30)


def test_full_patterns_are_all_there_are_the_most_of_the_widest_first():
    for _, widths, demand, room in chances(1):
        places = sorted(range(len(widths)), key=lambda place: -widths[place])
        found = sorted(
            ways(widths, demand, room), key=lambda counts: [-counts[place] for place in places]
        )
        assert full_patterns(widths, demand, room, MANY) == found


def test_of_pieces_of_one_width_the_first_goes_first():
    assert full_patterns([5, 5], [1, 1], 9, MANY) == [(1, 0), (0, 1)]


def test_more_than_the_limit_is_none():
    assert len(full_patterns([7, 5, 3], [2, 2, 2], 15, MANY)) == 5
    assert len(full_patterns([7, 5, 3], [2, 2, 2], 15, 5)) == 5
    assert full_patterns([7, 5, 3], [2, 2, 2], 15, 4) is None
    assert full_patterns([16], [2], 15, MANY) == []


def test_what_takes_too_many_steps_is_none_and_never_a_part(monkeypatch):
    """Five patterns are found in more than five steps and in fewer than a hundred."""
    monkeypatch.setattr(patterns, "_STEPS_FOR_ONE", 20)
    assert len(full_patterns([7, 5, 3], [2, 2, 2], 15, 5)) == 5
    monkeypatch.setattr(patterns, "_STEPS_FOR_ONE", 1)
    assert full_patterns([7, 5, 3], [2, 2, 2], 15, 5) is None


@pytest.mark.parametrize("is_bounded", [True, False])
def test_useful_patterns_are_all_worth_so_much(is_bounded):
    seen = 0
    for chance, widths, demand, room in chances(2, 150):
        values = [chance.randint(0, 9) for _ in widths]
        at_least = chance.randint(0, 25)
        # What holds for a larger room holds for this one.
        still = remaining_gain(widths, values, room + 3) if is_bounded else []
        found = useful_patterns(widths, demand, room, values, at_least, MANY, still)
        expected = [
            counts
            for counts in ways(widths, demand, room)
            if sum(value * n for value, n in zip(values, counts, strict=True)) >= at_least
        ]
        assert len(found) == len(set(found))
        assert set(found) == set(expected)
        seen += bool(expected) and len(expected) < len(list(ways(widths, demand, room)))
    assert seen > 20


def test_what_is_left_of_a_board_can_gain_no_more():
    """By looking at every number of each piece, as if as many as wanted were needed."""
    for chance, widths, _, room in chances(3, 25):
        values = [chance.randint(0, 9) for _ in widths]
        places = by_worth(widths, values)
        found = remaining_gain(widths, values, room)
        assert len(found) == len(widths)
        for at in range(len(places)):
            assert len(found[at]) == room + 1
            own = places[at:]
            for left in range(room + 1):
                best = max(
                    sum(values[i] * n for i, n in zip(own, counts, strict=True))
                    for counts in product(*(range(left // widths[i] + 1) for i in own))
                    if sum(widths[i] * n for i, n in zip(own, counts, strict=True)) <= left
                )
                assert found[at][left] == best


def test_what_would_be_too_much_to_work_out_is_left(monkeypatch):
    monkeypatch.setattr(patterns, "_MOST_CELLS", 20)
    assert len(remaining_gain([2, 3], [1, 1], 10)) == 2
    assert remaining_gain([2, 3], [1, 1], 11) == []


def test_those_worth_the_most_for_their_width_come_first():
    # 1/3, 1/2, 1/4 and again 1/2 for a step of width.
    assert by_worth([3, 2, 4, 4], [1, 1, 1, 2]) == [1, 3, 0, 2]
    assert by_worth([3, 2], [0, 0]) == [0, 1]


def test_worth_for_width_is_compared_exactly():
    """100000/100001 is less than 100001/100002 by a ten-thousand-millionth."""
    widths, values = [100_001, 100_002], [100_000, 100_001]
    assert by_worth(widths, values) == [1, 0]
    # Were they the other way round, the second would be looked at too late.
    assert useful_patterns(widths, [1, 1], 100_002, values, 100_001, MANY, []) == [(0, 1)]


def shorter(kind, _):
    return (kind,)


def emptier(_, width):
    return (-width,)


@pytest.mark.parametrize(
    ("widths", "demand", "kinds", "rank", "boards"),
    [
        # Two of 4 on each board of 10, three boards; a 2 beside the first two.
        ([4, 2], [5, 2], [Kind(10, 9)], shorter, [(0, (2, 1)), (0, (2, 1)), (0, (1, 0))]),
        # The widest first, whatever stands first.
        ([2, 4], [2, 5], [Kind(10, 9)], shorter, [(0, (1, 2)), (0, (1, 2)), (0, (0, 1))]),
        # One of the first kind is there; then the second.
        ([4], [5], [Kind(8, 1), Kind(12, 9)], shorter, [(0, (2,)), (1, (3,))]),
        # None of the first kind is there at all.
        ([4], [3], [Kind(8, 0), Kind(12, 9)], shorter, [(1, (3,))]),
        # The one that holds more goes first, as long as there is some.
        ([4], [5], [Kind(8, 9), Kind(12, 1)], emptier, [(1, (3,)), (0, (2,))]),
        # As much of 8 as of 11; what one holds counts, not how long it is.
        ([4], [2], [Kind(8, 9), Kind(11, 9)], emptier, [(0, (2,))]),
        # The same again only as often as all of it is wanted.
        ([4, 2], [5, 1], [Kind(10, 9)], shorter, [(0, (2, 1)), (0, (2, 0)), (0, (1, 0))]),
        # What fits on none of them is not to be had, nor what boards run out for.
        ([9, 4], [1, 2], [Kind(8, 9)], shorter, None),
        ([4], [5], [Kind(8, 2)], shorter, None),
        ([4], [4], [Kind(8, 2)], shorter, [(0, (2,)), (0, (2,))]),
        # A board as wide as the piece; two pieces of one width.
        ([8, 8], [1, 2], [Kind(8, 3)], shorter, [(0, (1, 0)), (0, (0, 1)), (0, (0, 1))]),
    ],
)
def test_boards_filled_one_after_the_other(widths, demand, kinds, rank, boards):
    assert fill_greedily(widths, demand, kinds, rank) == boards
