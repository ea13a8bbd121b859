"""Plans of sheets: what is claimed when time runs out, what goes first, what is refused."""

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction as F

import pytest

from materials.cutting.calc import cheapest_boards
from materials.cutting.calc.flat import fillers
from materials.cutting.calc.flat import plan as plan_module
from materials.cutting.calc.flat.check import check
from materials.cutting.calc.flat.plan import MOST_STEPS, plan_sheets
from materials.cutting.calc.flat.remnant import largest_remnant
from materials.cutting.calc.flat.types import FlatOrder, Part, Sheet
from materials.cutting.calc.types import MOST_COUNT, MOST_KINDS, MOST_PIECES, CuttingError
from tests.cutting.calc.flat.follows import follows_from
from tests.cutting.calc.flat.test_brute import by_looking_at_all, some_order

SECONDS = 10


def plan_of(order, times=None):
    """``times``: how often the clock may be asked before the time is used up."""
    if times is None:
        return plan_sheets(order, lambda: SECONDS * 1000, SECONDS)
    clock = iter([SECONDS * 1000] * times)
    return plan_sheets(order, lambda: next(clock, 0), SECONDS)


def sheet(length, width, price=None, count=None, **values):
    return Sheet(f"{length} × {width}", F(length), F(width), price, count, **values)


def part(length, width, count=1, **values):
    return Part(f"{length} × {width}", F(length), F(width), count, **values)


@pytest.mark.parametrize("few", [False, True], ids=["all fillings", "by prices"])
def test_whenever_time_runs_out_nothing_is_claimed_that_is_not_so(monkeypatch, few):
    if few:
        monkeypatch.setattr(fillers, "_STEPS", 0)
    chance, claimed, refused = random.Random(41), Counter(), []
    for _ in range(14):
        order = some_order(chance, chance.random() < 0.3)
        best = by_looking_at_all(order)
        if best is None:
            continue
        needed = sum(part.area * part.count for part in order.parts)
        for times in (0, 1, 2, 3, 5, 9):
            try:
                plan = plan_of(order, times)
            except CuttingError as error:
                refused.append(str(error))
                continue
            follows_from(order, plan)
            assert plan.cost_bound <= best[0] <= plan.cost
            assert 0 <= plan.waste_bound <= plan.waste
            if plan.is_least_cost:
                assert plan.cost == plan.cost_bound == best[0]
                assert plan.waste_bound <= best[1] - needed
            if plan.is_least_waste:
                assert (plan.is_least_cost, plan.waste) == (True, plan.waste_bound)
                assert plan.used == best[1]
            if plan.is_largest:
                assert (plan.is_least_waste, plan.largest) == (True, -best[2])
            claimed[plan.is_least_cost, plan.is_least_waste, plan.is_largest] += 1
    assert all("within 10 seconds: at best" in sentence for sentence in refused)
    assert len(claimed) == (3 if few else 4)


def test_what_is_on_hand_goes_first_and_what_has_no_price_is_left_out():
    hand, buy = sheet(4, 3, None, 2, is_on_hand=True), sheet(8, 3, F(10))
    plan = plan_of(FlatOrder((hand, buy), (part(2, 3, 6),)))
    assert (plan.cost, plan.waste, plan.proved) == (10, 0, True)
    assert [(cut.sheet, cut.count) for cut in plan.cuts] == [(0, 1), (1, 1)]
    unknown = sheet(4, 3)
    plan = plan_of(FlatOrder((unknown, sheet(5, 3, F(5))), (part(2, 3, 2),)))
    assert (plan.left_out, plan.cost, plan.cuts[0].sheet) == ((0,), 5, 1)
    # Where no price is known, area stands for it, and what is on hand goes first all the same.
    plan = plan_of(FlatOrder((sheet(5, 3), unknown), (part(2, 3, 2),)))
    assert (plan.left_out, plan.cost, plan.cost_bound) == ((), None, None)
    assert (plan.cuts[0].sheet, plan.waste, plan.proved) == (1, 0, True)
    large = sheet(9, 3, None, 1, is_on_hand=True)
    plan = plan_of(FlatOrder((unknown, large), (part(2, 3, 2),)))
    assert (plan.cuts[0].sheet, plan.cost, plan.waste, plan.proved) == (1, 0, 15, True)


@pytest.mark.parametrize(("pieces", "missing"), [(2, 1), (3, 2)])
def test_as_little_as_can_be_is_missing(pieces, missing):
    hand = sheet(1, 1, None, 1, is_on_hand=True)
    with pytest.raises(CuttingError, match=f": {missing} × 1 × 1 cannot be cut from them"):
        plan_of(FlatOrder((hand,), (part(1, 1, pieces),)))


def test_what_is_missing_is_the_least_area():
    """A sheet of 6 by 2 holds two doors of 3 by 2, or one and a lid: three doors and a lid."""
    hand = sheet(6, 2, None, 1, is_on_hand=True)
    order = FlatOrder((hand,), (part(3, 2, 3), part(1, 2, 1)))
    with pytest.raises(CuttingError, match=r": 1 × 3 × 2 and 1 × 1 × 2 cannot be cut"):
        plan_of(order)
    # One door is larger than two lids.
    lids = FlatOrder((sheet(3, 2, None, 1, is_on_hand=True),), (part(3, 2), part(1, 2, 2)))
    with pytest.raises(CuttingError, match=r": 2 × 1 × 2 cannot be cut"):
        plan_of(lids)
    # Without time it is said that nobody knows.
    with pytest.raises(CuttingError, match=r"within 10 seconds: at best, 3 × 3 × 2 and 1 × 1 × 2"):
        plan_of(order, 0)


def test_sheets_that_just_suffice_are_found():
    """The largest first are two of 4 by 3 on one sheet; with one on each, all of 3 by 3 go on."""
    hand = sheet(10, 3, None, 2, is_on_hand=True)
    order = FlatOrder((hand,), (part(4, 3, 2), part(3, 3, 4)))
    plan = plan_of(order)
    follows_from(order, plan)
    assert [(cut.count, cut.pieces) for cut in plan.cuts] == [(2, ((0, 1), (1, 2)))]
    assert plan.proved


def test_of_what_costs_the_same_the_least_is_wasted():
    ten, twelve = sheet(10, 3, F(5)), sheet(12, 3, F(5))
    for sheets in ((ten, twelve), (twelve, ten)):
        plan = plan_of(FlatOrder(sheets, (part(4, 3, 2), part(3, 3, 4))))
        assert (plan.cost, plan.waste, plan.waste_bound, plan.proved) == (10, 0, 0, True)


@pytest.mark.parametrize("is_first", [True, False])
def test_nothing_is_called_the_best_that_rests_on_what_is_not_proved(monkeypatch, is_first):
    """Least cost first, then least waste, then the largest remnant."""
    calls = []

    def unproved(*args):
        calls.append(args)
        found = cheapest_boards.cover(*args)
        is_this = (len(calls) == 1) == is_first
        return replace(found, bound=found.bound - 1) if is_this else found

    # Area alone would prove it: two sheets would do by area, and three are needed.
    monkeypatch.setattr(plan_module, "cover", unproved)
    monkeypatch.setattr(plan_module, "least", lambda *_: None)
    order = FlatOrder((sheet(10, 3, F(5)), sheet(7, 3, F(4))), (part(4, 3, 2), part(3, 3, 3)))
    plan = plan_of(order)
    assert len(calls) == 2
    assert (plan.is_least_cost, plan.is_least_waste, plan.is_largest) == (
        not is_first,
        False,
        False,
    )


def test_what_costs_nothing_or_goes_with_area_is_searched_once(monkeypatch):
    calls = []

    def counted(*args):
        calls.append(args)
        return cheapest_boards.cover(*args)

    monkeypatch.setattr(plan_module, "cover", counted)
    monkeypatch.setattr(plan_module, "least", lambda *_: None)
    # Price goes with area: 30 and 60 sq ft for 5.00 and 10.00.
    by_area = FlatOrder((sheet(10, 3, F(5)), sheet(10, 6, F(10))), (part(4, 3, 2), part(3, 3, 3)))
    plan = plan_of(by_area)
    assert (plan.cost, plan.used, plan.waste_bound, plan.proved) == (10, 60, 9, True)
    assert len(calls) == 1
    hand = sheet(10, 3, None, 5, is_on_hand=True)
    plan = plan_of(replace(by_area, sheets=(hand,)))
    assert (plan.cost, plan.used, plan.waste_bound, plan.proved) == (0, 60, 9, True)
    assert len(calls) == 2


def test_the_least_possible_waste_follows_from_the_least_possible_cost(monkeypatch):
    """20 × 3 at 2.00 and 10 × 3 at 1.00: the pieces fill 40 of length, so 4.00 at least.

    That is 120 of area, and the pieces are 80.
    """
    monkeypatch.setattr(fillers, "_STEPS", 0)
    monkeypatch.setattr(plan_module, "least", lambda *_: None)
    sheets = sheet(20, 3, F(2)), sheet(10, 3, F(1))
    order = FlatOrder(sheets, (part(8, 2, 2), part(6, 2, 4)))
    found = set()
    for times in range(8):
        plan = plan_of(order, times)
        assert plan.waste_bound == max(0, 30 * plan.cost_bound - 80)
        found.add((plan.cost, plan.cost_bound, plan.waste_bound, plan.proved))
    # Nothing is known, the least is known, it is found.
    assert found >= {(5, 0, 0, False), (5, 4, 40, False), (4, 4, 40, True)}


def test_a_remnant_is_as_wide_as_is_kept_to_the_last_part():
    """1 1/2 are kept: 1 beside a piece of 3 is waste, and 2 beside one of 2 a remnant."""
    for length, kind in ((3, "waste"), (2, "remnant")):
        plan = plan_of(FlatOrder((sheet(4, 2, F(1)),), (part(length, 2),), F(0), F(3, 2)))
        assert [box.kind for box in plan.cuts[0].boxes] == ["piece", kind]
        assert plan.largest == (4 if kind == "remnant" else 0)


def test_a_remnant_is_not_called_the_largest_unless_that_is_proved(monkeypatch):
    def unproved(*args):
        return largest_remnant(*args)[0], False

    monkeypatch.setattr(plan_module, "largest_remnant", unproved)
    plan = plan_of(FlatOrder((sheet(10, 3, F(1)),), (part(4, 3, 2), part(3, 3, 3))))
    assert (plan.proved, plan.largest, plan.is_largest) == (True, 9, False)


def test_sizes_that_differ_too_finely_are_refused():
    """So many steps of 1 are the longest that is planned."""
    longest = FlatOrder((sheet(MOST_STEPS, 2, F(1)),), (part(MOST_STEPS, 1),))
    assert plan_of(longest).sheets == 1
    with pytest.raises(CuttingError, match="differ too finely"):
        plan_of(FlatOrder((sheet(MOST_STEPS + 1, 2, F(1)),), (part(MOST_STEPS, 1),)))
    # In larger steps the same sizes are few.
    assert plan_of(FlatOrder((sheet(MOST_STEPS * 2, 4, F(1)),), (part(MOST_STEPS, 2),))).sheets == 1


def test_as_much_as_a_plan_takes_is_not_refused_and_one_more_is():
    board, pieces = sheet(10, 4, F(1)), MOST_PIECES // MOST_KINDS
    check(FlatOrder((board,) * MOST_KINDS, (part(4, 2, pieces),) * MOST_KINDS))
    check(FlatOrder((replace(board, count=MOST_COUNT),), (part(4, 2, MOST_COUNT),)))
    check(FlatOrder((sheet(10, 4, F(0), 1, trim=F(1)),), (part(8, 2),), F(1)))
    more = part(3, 2, MOST_COUNT)
    for order in (
        FlatOrder((board,) * (MOST_KINDS + 1), (part(4, 2),)),
        FlatOrder((board,), (part(4, 2),) * (MOST_KINDS + 1)),
        FlatOrder((board,), (part(4, 2), *(more,) * (MOST_PIECES // MOST_COUNT))),
        FlatOrder((board,), (part(4, 2, MOST_COUNT + 1),)),
        FlatOrder((replace(board, count=MOST_COUNT + 1),), (part(4, 2),)),
    ):
        with pytest.raises(CuttingError):
            check(order)


@pytest.mark.parametrize(
    ("changed", "piece", "words"),
    [
        ({}, {"length": F(0)}, "A piece of .* has no size"),
        ({}, {"width": F(-1)}, "A piece of .* has no size"),
        ({}, {"count": 0}, "pieces of .* cannot be planned"),
        ({}, {"is_triangle": True, "offset": F(-1)}, "stands beyond its length"),
        ({}, {"is_triangle": True, "offset": F(5)}, "stands beyond its length"),
        ({"length": F(0)}, {}, "enter a length and a width above zero"),
        ({"width": F(0)}, {}, "enter a length and a width above zero"),
        ({"trim": F(2)}, {}, "leave nothing of it"),
        ({"trim": F(-1)}, {}, "cannot be below 0"),
        ({"trim": F(1, 16)}, {}, "less than one saw cut"),
        ({"price": F(-1)}, {}, "The price of .* cannot be below 0"),
        ({"count": 0}, {}, "cannot be planned"),
        ({}, {"length": F(11)}, r"A piece of .* fits on no sheet there is\.$"),
        ({}, {"length": F(2), "width": F(5)}, "It would, turned"),
    ],
)
def test_what_is_nothing_or_does_not_fit_is_refused(changed, piece, words):
    one = replace(sheet(10, 4, F(1)), **changed)
    with pytest.raises(CuttingError, match=words):
        plan_of(FlatOrder((one,), (replace(part(4, 2), **piece),), F(1, 8)))


def test_what_would_do_but_has_no_price_is_named():
    sheets = sheet(5, 4, F(1)), sheet(9, 4), sheet(8, 4)
    with pytest.raises(CuttingError) as caught:
        plan_of(FlatOrder(sheets, (part(8, 3),)))
    assert caught.value.faults == (
        "A piece of 8 × 3 fits on no sheet there is. 9 × 4 would do, but has no price. Add its"
        " price.",
    )
    with pytest.raises(CuttingError) as caught:
        plan_of(FlatOrder((sheet(8, 3, None, 1, is_on_hand=True), *sheets), (part(8, 3, 2),)))
    assert caught.value.faults[1:] == tuple(
        f"{name} has no price, so it is not used. Add one." for name in ("9 × 4", "8 × 4")
    )


def test_every_fault_is_said():
    faulty = FlatOrder((sheet(0, 1, F(-1), 0),), (part(0, 1, 0),), F(-1))
    with pytest.raises(CuttingError) as caught:
        plan_of(faulty)
    assert len(caught.value.faults) == 6
    with pytest.raises(CuttingError) as caught:
        plan_of(FlatOrder((), ()))
    assert len(caught.value.faults) == 2
    with pytest.raises(CuttingError, match="at least one board"):
        plan_of(FlatOrder((), (), is_ripped=True))
