"""Marks: who saws along them, literally, gets every piece at exactly its length."""

import random
from fractions import Fraction

import pytest

from materials.cutting.calc.marks import marks_of
from materials.cutting.calc.picture import strips
from materials.cutting.calc.plan import plan_cuts
from materials.cutting.calc.types import CuttingError, Need, Order, Stock
from materials.cutting.calc.words import cut_lines
from tests.cutting.calc.test_plan import plan_of, some_order

F = Fraction


def sawn(length, kerf, marks):
    """The parts of a board whose blade begins at each mark, the saw cut behind it."""
    parts, at = [], F(0)
    for mark in marks:
        assert mark >= at, "the mark lies in the cut before it"
        parts.append(mark - at)
        at = mark + kerf
    if at < length:
        parts.append(length - at)
    return parts


@pytest.mark.parametrize("is_kept", [False, True])
def test_sawing_along_the_marks_gives_every_piece_its_length(is_kept):
    chance = random.Random(71)
    trimmed = kept = 0
    for _ in range(250):
        order = some_order(chance)
        try:
            plan = plan_of(order)
        except CuttingError:
            continue
        for cut in plan.cuts:
            stock = order.stocks[cut.stock]
            keeps = is_kept and cut.off_cut > 0
            parts = sawn(stock.length, order.kerf, marks_of(order, cut, keeps))
            if stock.trim:
                trimmed += 1
                assert parts.pop(0) == stock.trim - order.kerf
            wanted = [order.needs[n].length for n, count in cut.pieces for _ in range(count)]
            assert parts[: len(wanted)] == wanted
            if keeps:
                kept += 1
                assert parts[len(wanted)] == cut.off_cut
    assert trimmed > 40
    assert kept > 40 or not is_kept


def order_of(length, trim, kerf, *needs):
    stock = Stock("board", F(length), F(1), None, F(trim))
    return Order((stock,), tuple(Need(str(n), F(n), 1) for n in needs), F(kerf))


def test_the_cut_that_takes_the_end_off_lies_before_the_first_piece():
    """Trim 1 in and kerf 1/2 in: blade from 1/2 to 1 in, the piece from 1 to 25 in."""
    order = order_of(120, 1, "1/2", 24)
    plan = plan_of(order)
    assert marks_of(order, plan.cuts[0], False) == [F(1, 2), F(25)]
    # The far end comes off an off-cut that is kept.
    assert marks_of(order, plan.cuts[0], True) == [F(1, 2), F(25), F(119)]
    (strip,) = strips(order, plan, str, F(200))
    assert strip.marks == ("1/2", "25")
    lines = cut_lines(order, plan, str)
    assert lines[1] == "  Saw at 1/2, 25, 119."
    assert "The blade starts at the mark" in lines[-1]


def test_a_piece_that_reaches_to_the_far_end_is_cut_off_it():
    order = order_of(26, 1, "1/2", 24)
    plan = plan_of(order)
    assert marks_of(order, plan.cuts[0], False) == [F(1, 2), F(25)]


@pytest.mark.parametrize(("length", "marks"), [(120, [24]), ("24.5", [24]), (24, [])])
@pytest.mark.parametrize("is_kept", [False, True])
def test_nothing_is_sawn_off_a_board_that_keeps_its_ends(length, marks, is_kept):
    order = order_of(length, 0, "1/2", 24)
    (cut,) = plan_of(order).cuts
    assert marks_of(order, cut, is_kept) == marks


def test_no_end_is_thinner_than_its_cut():
    order = order_of(120, "1/16", "1/8", 24)
    with pytest.raises(CuttingError, match="less than one saw cut"):
        plan_cuts(order, lambda: 1000, 1)
    even = order_of(120, "1/8", "1/8", 24)
    assert marks_of(even, plan_of(even).cuts[0], False)[0] == 0
