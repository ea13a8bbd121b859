"""The longest off-cut: by hand, and what is claimed of it where columns or time are wanting."""

from dataclasses import replace
from fractions import Fraction as F
from typing import Any

import pytest

from materials.calc import solver
from materials.calc.solver import Answer
from materials.cutting.calc import off_cut
from materials.cutting.calc.off_cut import Boards, _choose, longest_off_cut, without_surplus
from materials.cutting.calc.patterns import Kind, full_patterns

# Pieces of 30 and 20, a saw cut of 2; boards of 100 and of 60.
PIECES = {"widths": (32, 22), "kerf": 2}
LONG, SHORT = Kind(102, 3), Kind(62, 3)


def boards(*kinds: Kind, demand: tuple[int, int]) -> Boards:
    spans = tuple(kind.room - 2 for kind in kinds)
    return Boards(PIECES["widths"], demand, kinds, spans, spans, PIECES["kerf"])


@pytest.mark.parametrize(
    ("column", "rest"),
    [
        # 100 less two pieces of 30 and the cuts behind both.
        ((0, (2, 0)), 36),
        ((0, (3, 0)), 4),
        ((1, (1, 1)), 6),
        # 100 and the four cuts between the pieces: the last one lacks the cut behind it.
        ((0, (1, 3)), 2),
        ((1, (0, 0)), 60),
    ],
)
def test_what_stays_of_a_board(column: tuple, rest: int) -> None:
    assert boards(LONG, SHORT, demand=(1, 1)).rest(column) == rest


@pytest.mark.parametrize(
    ("demand", "made", "left"),
    [
        ((3, 0), {(0, (3, 0)): 1}, {(0, (3, 0)): 1}),
        # One too many comes off the board that has more room left.
        ((3, 0), {(0, (3, 0)): 1, (0, (1, 0)): 1}, {(0, (3, 0)): 1}),
        ((4, 0), {(0, (3, 0)): 1, (0, (2, 0)): 1}, {(0, (3, 0)): 1, (0, (1, 0)): 1}),
        (
            (4, 0),
            {(1, (1, 0)): 1, (0, (2, 0)): 2},
            {(1, (1, 0)): 1, (0, (1, 0)): 1, (0, (2, 0)): 1},
        ),
        # Two too many of the one, one of the other.
        ((1, 2), {(0, (3, 0)): 1, (0, (0, 3)): 1}, {(0, (1, 0)): 1, (0, (0, 2)): 1}),
        # Three of 20 leave more room than two of 30 and one of 20.
        ((2, 3), {(0, (2, 1)): 1, (0, (0, 3)): 1}, {(0, (2, 1)): 1, (0, (0, 2)): 1}),
        # Boards that become alike are counted together.
        ((2, 0), {(0, (1, 1)): 1, (0, (1, 0)): 1}, {(0, (1, 0)): 2}),
    ],
)
def test_no_piece_too_many_is_cut(demand: tuple, made: dict, left: dict) -> None:
    assert without_surplus(demand, PIECES["widths"], (LONG, SHORT), made) == left


def longest(what: Boards, plain: dict, is_complete: bool = True, time: int = 20_000) -> tuple:
    spans = sum(what.spans[place] * count for (place, _), count in plain.items())
    columns = [
        (place, pattern)
        for place, kind in enumerate(what.kinds)
        for pattern in full_patterns(what.widths, what.demand, kind.room, 999)
    ]
    return longest_off_cut(what, plain, (spans, spans), columns, is_complete, lambda: time)


def test_pieces_move_together_so_that_one_off_cut_is_long() -> None:
    """Four pieces of 30 on two boards of 100: three on one, and of the other 68 stays."""
    what = boards(LONG, demand=(4, 0))
    even = {(0, (2, 0)): 2}
    assert longest(what, even) == ({(0, (3, 0)): 1, (0, (1, 0)): 1}, True)
    # Without time, or where ways to fill a board are wanting, it is not said to be the longest.
    assert longest(what, even, time=0) == (even, False)
    assert longest(what, even, is_complete=False)[1] is False


def test_what_is_the_longest_already_stays_as_it_is() -> None:
    """32 + 32 + 32 of 102 and a cut of 2 leave 4; so the other can keep 68 and the 4, no more."""
    what = boards(LONG, demand=(4, 0))
    best = {(0, (3, 0)): 1, (0, (1, 0)): 1}
    assert longest(what, best) == (best, True)


@pytest.mark.parametrize(
    ("widths", "plain", "found"),
    [
        # 101 and 100 of 102 leave nothing behind the last cut; 102 and 99 leave one step.
        ((51, 50, 49), ((1, 1, 0), (1, 0, 1)), ((2, 0, 0), (0, 1, 1))),
        # 101 and 101: with 102 and 100 the last cut still takes all there is.
        ((51, 50), ((1, 1), (1, 1)), ((1, 1), (1, 1))),
    ],
)
def test_an_off_cut_of_one_step_is_one(widths: tuple, plain: tuple, found: tuple) -> None:
    demand = tuple(sum(counts) for counts in zip(*plain, strict=True))
    what = Boards(widths, demand, (LONG,), (100,), (100,), 2)

    def made(patterns: tuple) -> dict:
        return {(0, pattern): patterns.count(pattern) for pattern in patterns}

    assert longest(what, made(plain)) == (made(found), True)


def test_boards_cut_alike_may_be_cut_unlike() -> None:
    """50 and 40 of 100, twice: 10 stay of each, but 20 behind two of 40."""
    what = Boards((50, 40), (2, 2), (Kind(100, 2),), (100,), (100,), 0)
    assert longest(what, {(0, (1, 1)): 2}) == ({(0, (2, 0)): 1, (0, (0, 2)): 1}, True)


def test_the_board_whose_rest_is_longest_may_be_cut_like_others() -> None:
    what = boards(LONG, demand=(4, 0))
    assert _choose(what, (200, 200), ((0, (2, 0)),), 20_000) == ({(0, (2, 0)): 2}, 36, 36)
    unlike = {(0, (3, 0)): 1, (0, (1, 0)): 1}
    assert _choose(what, (200, 200), ((0, (3, 0)),), 20_000) == (unlike, 68, 68)


def test_how_many_boards_it_takes_does_not_count() -> None:
    """One of 150 and 31 of a board of 50, or four of 50 and 30: as long in all."""
    what = Boards((50, 30, 20, 19), (2, 1, 1, 1), (Kind(150, 1), Kind(50, 4)), *[(150, 50)] * 2, 0)
    four = {(1, (1, 0, 0, 0)): 2, (1, (0, 1, 0, 1)): 1, (1, (0, 0, 1, 0)): 1}
    found, is_proved = longest(what, four)
    assert (max(what.rest(column) for column in found), is_proved) == (31, True)


def test_an_off_cut_longer_than_the_shortest_board_may_not_be_the_longest() -> None:
    """68 of 100 behind one of 30; behind one of 20 there are 78."""
    what = boards(LONG, SHORT, demand=(3, 1))
    found = longest(what, {(0, (1, 0)): 1, (0, (2, 1)): 1})
    assert found == ({(0, (3, 0)): 1, (0, (0, 1)): 1}, True)


def test_one_board_alone_needs_no_search() -> None:
    """All of its rest lies behind its last piece."""
    what = boards(LONG, demand=(1, 1))
    one = {(0, (1, 1)): 1}
    for time in (0, 20_000):
        assert longest(what, one, time=time) == (one, True)
    # Of two kinds there might be another.
    assert longest(boards(LONG, SHORT, demand=(1, 1)), one, time=0) == (one, False)


def test_pieces_move_between_boards_of_two_lengths() -> None:
    """Three of 30 and one of 20 need both boards: at best the 20 lies alone on the board of 60."""
    what = boards(LONG, SHORT, demand=(3, 1))
    best = {(0, (3, 0)): 1, (1, (0, 1)): 1}
    for other in ({(0, (2, 1)): 1, (1, (1, 0)): 1}, {(0, (2, 0)): 1, (1, (1, 1)): 1}):
        assert longest(what, other) == (best, True)
    assert longest(what, best) == (best, True)


@pytest.mark.parametrize(
    ("found", "bound", "is_proved"),
    [(38, 38, True), (38, 39, False), (38, None, False), (37, 38, True), (37, 39, False)],
)
def test_what_is_as_long_already_stays_and_is_proved_where_no_longer_one_is_possible(
    monkeypatch: pytest.MonkeyPatch, found: int, bound: int | None, is_proved: bool
) -> None:
    """38 are there: what a search that ended early says of it."""
    what = boards(LONG, SHORT, demand=(3, 1))
    best = {(0, (3, 0)): 1, (1, (0, 1)): 1}

    def least(*asked: Any) -> Answer:
        whole = solver.least(*asked)
        assert whole is not None
        return Answer(whole.values, F(-found), None if bound is None else F(-bound), False)

    monkeypatch.setattr(off_cut, "least", least)
    boards_found, told = longest(what, best)
    assert boards_found is best
    assert told is is_proved


@pytest.mark.parametrize(("bound", "is_proved"), [(38, True), (39, False), (None, False)])
def test_what_is_longer_is_proved_where_no_longer_one_is_possible(
    monkeypatch: pytest.MonkeyPatch, bound: int | None, is_proved: bool
) -> None:
    what = boards(LONG, SHORT, demand=(3, 1))

    def least(*asked: Any) -> Answer | None:
        whole = solver.least(*asked)
        assert whole is not None
        return replace(whole, bound=None if bound is None else F(-bound))

    monkeypatch.setattr(off_cut, "least", least)
    found = longest(what, {(0, (2, 1)): 1, (1, (1, 0)): 1})
    assert found == ({(0, (3, 0)): 1, (1, (0, 1)): 1}, is_proved)
    monkeypatch.setattr(off_cut, "least", lambda *_: None)
    other = {(0, (2, 1)): 1, (1, (1, 0)): 1}
    assert longest(what, other) == (other, False)


@pytest.mark.parametrize("limit", [F(0), F(1)])
def test_nothing_dearer_or_longer_is_taken_for_an_off_cut(limit: F) -> None:
    """Two short ones that cost 120 may not become a long and a short one for 160."""
    what = boards(LONG, SHORT, demand=(2, 0))
    two = {(1, (1, 0)): 2}
    spans = 120 + int(limit)
    columns = [(0, (2, 0)), (0, (1, 0)), (1, (1, 0))]
    found = longest_off_cut(what, two, (spans, spans), columns, True, lambda: 20_000)
    # One long board with both leaves 36, two short ones 28 each.
    assert found == ({(0, (2, 0)): 1}, True)
    found = longest_off_cut(what, two, (99, 120), columns, True, lambda: 20_000)
    assert found == (two, False)
    found = longest_off_cut(what, two, (120, 99), columns, True, lambda: 20_000)
    assert found == (two, False)
