"""Cutting plans: exact, the best of all plans where all are looked at, and plainly refused."""

import random
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from functools import lru_cache
from itertools import product

import pytest

from materials.calc.measures import plain
from materials.cutting.calc import cheapest_boards
from materials.cutting.calc import off_cut as off_cuts
from materials.cutting.calc import plan as plan_module
from materials.cutting.calc.check import check
from materials.cutting.calc.plan import plan_cuts
from materials.cutting.calc.types import (
    MOST_COUNT,
    MOST_KINDS,
    MOST_PIECES,
    CuttingError,
    Need,
    Order,
    Stock,
)
from materials.cutting.calc.words import why

MANY = 10


def plan_of(order):
    return plan_cuts(order, lambda: MANY * 1000, MANY)


def follows_from(order, plan):
    """A plan yields exactly what is needed, from no more than there is, and adds up."""
    for place, need in enumerate(order.needs):
        assert sum(cut.count * dict(cut.pieces).get(place, 0) for cut in plan.cuts) == need.count
    # Board by board as they were stated, those with the most of the longest pieces first.
    lengths = sorted({need.length for need in order.needs}, reverse=True)
    rows = [
        (cut.stock, [-sum(n for at, n in cut.pieces if order.needs[at].length == one)
                     for one in lengths])
        for cut in plan.cuts
    ]  # fmt: skip
    assert rows == sorted(rows)
    for place, stock in enumerate(order.stocks):
        taken = sum(cut.count for cut in plan.cuts if cut.stock == place)
        assert stock.count is None or taken <= stock.count
    for cut in plan.cuts:
        number = sum(count for _, count in cut.pieces)
        length = sum(order.needs[place].length * count for place, count in cut.pieces)
        rest = order.stocks[cut.stock].usable - length - order.kerf * (number - 1)
        assert rest >= 0
        # What is no longer than the saw cut goes with it.
        assert cut.off_cut == max(0, rest - order.kerf)
        assert cut.kerfs == (number if rest else number - 1)
    used = sum(order.stocks[cut.stock].length * cut.count for cut in plan.cuts)
    assert plan.used == used
    assert plan.waste == used - sum(need.length * need.count for need in order.needs)
    assert plan.longest == max(cut.off_cut for cut in plan.cuts)


def by_looking_at_all(order):
    """The least (cost, length used, -longest off-cut) of every plan there is; None without one."""
    lengths = sorted({need.length for need in order.needs})
    demand = tuple(sum(n.count for n in order.needs if n.length == one) for one in lengths)

    @lru_cache(None)
    def fillings(stock, left):
        found = []
        for counts in product(*(range(count + 1) for count in left)):
            number = sum(counts)
            length = sum(count * one for count, one in zip(counts, lengths, strict=True))
            rest = order.stocks[stock].usable - length - order.kerf * (number - 1)
            if number and rest >= 0:
                found.append((counts, max(Fraction(0), rest - order.kerf)))
        return found

    @lru_cache(None)
    def least(left, boards, first):
        if not any(left):
            return Fraction(0), Fraction(0), Fraction(0)
        if first == len(boards):
            return None
        best = least(left, boards, first + 1)
        if boards[first]:
            stock = order.stocks[first]
            fewer = (*boards[:first], boards[first] - 1, *boards[first + 1 :])
            for counts, off_cut in fillings(first, left):
                rest = tuple(a - b for a, b in zip(left, counts, strict=True))
                further = least(rest, fewer, first)
                if further is None:
                    continue
                whole = (
                    further[0] + (stock.price or 0),
                    further[1] + stock.length,
                    min(further[2], -off_cut),
                )
                best = whole if best is None else min(best, whole)
        return best

    pieces = sum(demand)
    boards = tuple(pieces if s.count is None else min(pieces, s.count) for s in order.stocks)
    return least(demand, boards, 0)


def some_order(chance):
    parts = chance.choice((1, 1, 2, 8))

    def length(low, high):
        return Fraction(chance.randint(low * parts, high * parts), parts)

    stocks = []
    for _ in range(chance.randint(1, 3)):
        how = chance.choice(("on hand", "to buy", "some to buy"))
        one = length(8, 20)
        stocks.append(
            Stock(
                plain(one),
                one,
                None if how == "on hand" else Fraction(chance.randint(0, 300), 100),
                None if how == "to buy" else chance.randint(1, 3),
                chance.choice((Fraction(0), Fraction(0), Fraction(1, 2))),
                how == "on hand",
            )
        )
    needs = [
        Need("piece", length(1, 11), chance.randint(1, 3)) for _ in range(chance.randint(1, 3))
    ]
    while sum(need.count for need in needs) > 6:
        needs.pop()
    kerf = chance.choice((Fraction(0), Fraction(1, 8), Fraction(1, 2), Fraction(1)))
    stocks = [replace(s, trim=max(s.trim, kerf)) if s.trim else s for s in stocks]
    return Order(tuple(stocks), tuple(needs), kerf)


@pytest.mark.parametrize(
    ("is_by_parts", "count"),
    [(False, 150), (True, 150), pytest.param(False, 500, marks=pytest.mark.slow)],
)
def test_no_plan_at_all_is_better(monkeypatch, is_by_parts, count):
    """Small orders, also with patterns found one by one instead of all of them."""
    if is_by_parts:
        monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    chance = random.Random(17 + is_by_parts)
    impossible = 0
    for _ in range(count):
        order = some_order(chance)
        best = by_looking_at_all(order)
        if best is None:
            impossible += 1
            with pytest.raises(CuttingError):
                plan_of(order)
            continue
        plan = plan_of(order)
        follows_from(order, plan)
        assert plan.proved
        if is_by_parts:
            assert (plan.cost, plan.used) == best[:2]
            assert not plan.is_longest or -plan.longest == best[2]
        else:
            assert (plan.cost, plan.used, -plan.longest) == best
            assert plan.is_longest
    assert impossible > 5


@pytest.mark.parametrize("is_by_parts", [False, True])
def test_whenever_time_runs_out_nothing_is_claimed_that_is_not_so(monkeypatch, is_by_parts):
    """Small orders and clocks that are asked so many times before the time is used up."""
    if is_by_parts:
        monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    chance = random.Random(31 + is_by_parts)
    claimed, refused = Counter(), []
    for _ in range(25):
        order = some_order(chance)
        best = by_looking_at_all(order)
        if best is None:
            continue
        needed = sum(need.length * need.count for need in order.needs)
        for times in (0, 1, 2, 3, 5, 9):
            clock = iter([MANY * 1000] * times)
            try:
                plan = plan_cuts(order, lambda clock=clock: next(clock, 0), MANY)
            except CuttingError as error:
                refused.append(str(error))
                continue
            follows_from(order, plan)
            assert plan.cost_bound <= best[0] <= plan.cost
            assert plan.waste_bound <= plan.waste
            if plan.is_least_cost:
                assert plan.cost == plan.cost_bound == best[0]
                assert plan.waste_bound <= best[1] - needed
            if plan.is_least_waste:
                assert (plan.is_least_cost, plan.waste, plan.used) == (
                    True, plan.waste_bound, best[1]
                )  # fmt: skip
            if plan.is_longest:
                assert (plan.is_least_waste, plan.longest) == (True, -best[2])
            if len(order.stocks) == 1:
                assert plan.waste_bound <= best[1] - needed
            claimed[plan.is_least_cost, plan.is_least_waste, plan.is_longest] += 1
    # Boards that just suffice are not always found at once.
    assert all("within 10 seconds: at best" in sentence for sentence in refused)
    # Seen: nothing proved, the cost, the waste too, all.
    assert len(claimed) == 4


def test_the_same_order_gives_the_same_plan():
    chance = random.Random(3)
    order = Order(
        (Stock("16", Fraction(16), Fraction(9)), Stock("10", Fraction(10), Fraction(5))),
        tuple(Need(str(n), Fraction(chance.randint(20, 90), 10), n + 3) for n in range(12)),
        Fraction(1, 96),
    )
    assert plan_of(order) == plan_of(order)


def need(length, count=1):
    return Need(f"{length} ft", Fraction(length), count)


def test_what_is_no_longer_than_the_saw_cut_goes_with_it():
    board = Stock("10 ft", Fraction(10), Fraction(1))
    for kerf, off_cut, kerfs in ((Fraction(1), 0, 2), (Fraction(1, 2), Fraction(1, 2), 2)):
        plan = plan_of(Order((board,), (need(4, 2),), kerf))
        (cut,) = plan.cuts
        # 10 - 2 × 4 - one cut between them - one behind the second.
        assert (cut.off_cut, cut.kerfs, plan.waste) == (1 if kerf != 1 else off_cut, kerfs, 2)
    plan = plan_of(Order((board,), (need(5, 2),), Fraction(0)))
    assert (plan.cuts[0].off_cut, plan.cuts[0].kerfs) == (0, 1)
    assert plan_of(Order((board,), (need(5, 2),), Fraction(1, 8))).boards == 2


def test_as_much_as_a_plan_takes_is_not_refused_and_one_more_is():
    board, pieces = Stock("10 ft", Fraction(10), Fraction(1)), MOST_PIECES // MOST_KINDS
    check(Order((board,) * MOST_KINDS, (need(4, pieces),) * MOST_KINDS))
    check(Order((replace(board, count=MOST_COUNT),), (need(4, MOST_COUNT),)))
    more = need(3, MOST_COUNT)
    for order in (
        Order((board,) * (MOST_KINDS + 1), (need(4),)),
        Order((board,), (need(4),) * (MOST_KINDS + 1)),
        Order((board,), (need(4),) + (more,) * (MOST_PIECES // MOST_COUNT)),
        Order((board,), (need(4, MOST_COUNT + 1),)),
        Order((replace(board, count=MOST_COUNT + 1),), (need(4),)),
    ):
        with pytest.raises(CuttingError):
            check(order)


@pytest.mark.parametrize(
    ("board", "piece", "words"),
    [
        ({}, {"length": Fraction(0)}, "has no length"),
        ({}, {"count": 0}, "cannot be planned"),
        ({"length": Fraction(0)}, {}, "has no length"),
        ({"trim": Fraction(5)}, {}, "leave nothing of it"),
        ({"trim": Fraction(-1)}, {}, "cannot be below 0"),
        ({"price": Fraction(-1)}, {}, "cannot be below 0"),
        ({"count": 0}, {}, "cannot be planned"),
    ],
)
def test_what_is_nothing_or_less_is_refused(board, piece, words):
    stock = replace(Stock("10 ft", Fraction(10), Fraction(1)), **board)
    with pytest.raises(CuttingError, match=words):
        check(Order((stock,), (replace(need(4), **piece),)))
    check(Order((Stock("10 ft", Fraction(10), Fraction(0)),), (need(10),), Fraction(0)))


def test_both_ends_of_every_board_are_cut_off():
    board = Stock("10 ft", Fraction(10), Fraction(1), trim=Fraction(1))
    plan = plan_of(Order((board,), (need(4, 2),)))
    assert (plan.boards, plan.waste, plan.longest) == (1, 2, 0)
    with pytest.raises(CuttingError, match=r"9 ft is longer than any board .* both ends cut off"):
        plan_of(Order((board,), (need(9),)))


def test_ends_finer_than_all_else_are_cut_off_exactly():
    """A quarter at each end of 10 leaves 9.5: half behind 9."""
    board = Stock("10 ft", Fraction(10), Fraction(1), trim=Fraction(1, 4))
    assert plan_of(Order((board,), (need(9),))).longest == Fraction(1, 2)


def test_pieces_of_one_length_go_to_the_rows_that_asked_in_order():
    board = Stock("10 ft", Fraction(10), Fraction(1))
    plan = plan_of(Order((board,), (need(4, 1), need(4, 3))))
    assert [cut.pieces for cut in plan.cuts] == [((0, 1), (1, 1)), ((1, 2),)]


def test_what_is_on_hand_goes_first():
    hand = Stock("8 ft", Fraction(8), None, 2, is_on_hand=True)
    buy = Stock("16 ft", Fraction(16), Fraction(10))
    plan = plan_of(Order((hand, buy), (need(4, 6),)))
    assert (plan.cost, plan.waste) == (10, 0)
    assert sorted((cut.stock, cut.count) for cut in plan.cuts) == [(0, 1), (1, 1)]
    assert plan_of(Order((hand, buy), (need(4, 4),))).cost == 0


def test_a_length_without_a_price_is_not_weighed():
    known = Stock("10 ft", Fraction(10), Fraction(5))
    unknown = Stock("8 ft", Fraction(8))
    plan = plan_of(Order((unknown, known), (need(4, 2),)))
    assert (plan.left_out, plan.cost, plan.cuts[0].stock) == ((0,), 5, 1)
    # Where no price is known, the least length is all there is to go by.
    plan = plan_of(Order((unknown, Stock("10 ft", Fraction(10))), (need(4, 2),)))
    assert (plan.cost, plan.waste, plan.proved) == (None, 0, True)
    with pytest.raises(CuttingError, match=r"8 ft is longer .* 9 ft would do, but has no price"):
        plan_of(
            Order((Stock("5 ft", Fraction(5), Fraction(1)), Stock("9 ft", Fraction(9))), (need(8),))
        )


def test_where_no_price_is_known_what_is_on_hand_goes_before_what_would_waste_less():
    hand = Stock("12 ft", Fraction(12), None, 1, is_on_hand=True)
    buy = (Stock("8 ft", Fraction(8)), Stock("9 ft", Fraction(9)))
    plan = plan_of(Order((*buy, hand), (need(4, 2),)))
    assert [(cut.stock, cut.count) for cut in plan.cuts] == [(2, 1)]
    assert (plan.cost, plan.cost_bound, plan.waste, plan.proved) == (0, None, 4, True)
    # Even before what is shorter than one, and no more of it than is wanted.
    short = Order((Stock("0.9", Fraction("0.9")), replace(hand, count=2)), (need("0.9", 2),))
    plan = plan_of(short)
    assert [(cut.stock, cut.count) for cut in plan.cuts] == [(1, 1)]
    assert (plan.waste, plan.waste_bound, plan.proved) == (Fraction("10.2"), Fraction("10.2"), True)
    # 12 ft of five pieces on hand, the other two out of 8 ft.
    plan = plan_of(Order((*buy, hand), (need(4, 5),)))
    assert sorted((cut.stock, cut.count) for cut in plan.cuts) == [(0, 1), (2, 1)]
    assert (plan.cost, plan.cost_bound, plan.waste, plan.used) == (None, None, 0, 20)
    assert plan.proved


def test_how_many_ways_were_compared_and_what_the_pieces_alone_fill(monkeypatch):
    """10 ft hold 4 and 4, 4 and 3 and 3, or 3 and 3 and 3; 17 ft are 1.7 boards."""
    board = Stock("10 ft", Fraction(10), Fraction(1))
    order = Order((board,), (need(4, 2), need(3, 3)))
    plan = plan_of(order)
    assert (plan.patterns, plan.boards_alone, plan.boards) == (3, Fraction("1.7"), 2)
    # With a saw cut of 1 ft, 11 of 3 ft fill 44 of 11 ft.
    cut = Order((board, replace(board, price=Fraction(2), count=1)), (need(3, 11),), Fraction(1))
    assert plan_of(cut).boards_alone == 4
    # What stays uncut of the last board is no further way.
    assert plan_of(Order((board,), (need(4, 3),))).patterns == 1
    # The same of what is on hand and costs nothing.
    hand = replace(board, price=None, count=5, is_on_hand=True)
    assert plan_of(replace(order, stocks=(hand,))).patterns == 3
    two = replace(order, stocks=(board, Stock("6 ft", Fraction(6), Fraction(1))))
    assert plan_of(two).boards_alone is None
    monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    assert plan_of(order).patterns is None


def test_what_is_missing_is_named():
    hand = Stock("8 ft", Fraction(8), None, 2, is_on_hand=True)
    with pytest.raises(CuttingError, match="3 × 6 ft and 1 × 3 ft cannot be cut"):
        plan_of(Order((hand,), (need(6, 5), need(3, 1))))


@pytest.mark.parametrize(("pieces", "missing"), [(2, 1), (3, 2)])
def test_as_little_as_can_be_is_missing(pieces, missing):
    """One board of 1 ft is on hand, and nothing is measured finer than that."""
    hand = Stock("1 ft", Fraction(1), None, 1, is_on_hand=True)
    with pytest.raises(CuttingError, match=f": {missing} × 1 ft cannot be cut"):
        plan_of(Order((hand,), (need(1, pieces),)))


def test_boards_that_just_suffice_are_found():
    """The widest first are 4 and 4, then three of 3: a fourth is left, though all of it fits."""
    hand = Stock("10 ft", Fraction(10), None, 2, is_on_hand=True)
    order = Order((hand,), (need(4, 2), need(3, 4)))
    plan = plan_of(order)
    follows_from(order, plan)
    assert [(cut.count, cut.pieces) for cut in plan.cuts] == [(2, ((0, 1), (1, 2)))]
    assert plan.proved


def test_of_what_costs_the_same_the_least_is_wasted():
    """The widest first go on two of 12 ft; two of 10 ft cost as much, and all of them is used."""
    ten, twelve = (Stock(f"{n} ft", Fraction(n), Fraction(5)) for n in (10, 12))
    for stocks in ((ten, twelve), (twelve, ten)):
        plan = plan_of(Order(stocks, (need(4, 2), need(3, 4))))
        assert (plan.cost, plan.waste, plan.waste_bound, plan.proved) == (10, 0, 0, True)
    # Of boards that cost nothing more no more are used than are wanted either.
    hand = Stock("10 ft", Fraction(10), None, 5, is_on_hand=True)
    plan = plan_of(Order((ten, hand), (need(4, 2), need(3, 4))))
    assert (plan.cost, plan.boards, plan.waste, plan.proved) == (0, 2, 0, True)


def test_the_least_possible_waste_follows_from_the_least_possible_cost(monkeypatch):
    """20 ft at 2.00 and 10 ft at 1.00: the pieces fill 40 ft, so 4.00 and no waste at least."""
    monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    stocks = tuple(Stock(f"{n} ft", Fraction(n), Fraction(n, 10)) for n in (20, 10))
    order = Order(stocks, (need(8, 2), need(6, 4)))
    found = set()
    for times in range(12):
        clock = iter([MANY * 1000] * times)
        plan = plan_cuts(order, lambda clock=clock: next(clock, 0), MANY)
        assert plan.waste_bound == 10 * plan.cost_bound - 40
        found.add((plan.cost, plan.cost_bound, plan.proved))
    # Nothing is known, the least is known, it is found.
    assert found >= {(5, 0, False), (5, 4, False), (4, 4, True)}


@pytest.mark.parametrize("is_first", [True, False])
def test_nothing_is_called_the_best_that_rests_on_what_is_not_proved(monkeypatch, is_first):
    """Least cost first, then least waste, then the longest off-cut."""
    calls = []

    def unproved(*args):
        calls.append(args)
        found = cheapest_boards.cover(*args)
        is_this = (len(calls) == 1) == is_first
        return replace(found, bound=found.bound - 1) if is_this else found

    monkeypatch.setattr(plan_module, "cover", unproved)
    stocks = (Stock("10 ft", Fraction(10), Fraction(5)), Stock("7 ft", Fraction(7), Fraction(4)))
    plan = plan_of(Order(stocks, (need(4, 2), need(3, 3))))
    assert len(calls) == 2
    assert (plan.is_least_cost, plan.is_least_waste, plan.is_longest) == (
        not is_first,
        False,
        False,
    )


def test_an_off_cut_is_not_called_the_longest_unless_that_is_proved(monkeypatch):
    def unproved(*args):
        return off_cuts.longest_off_cut(*args)[0], False

    monkeypatch.setattr(plan_module, "longest_off_cut", unproved)
    board = Stock("10 ft", Fraction(10), Fraction(1))
    plan = plan_of(Order((board,), (need(4, 2), need(3, 3))))
    assert (plan.proved, plan.longest, plan.is_longest) == (True, 3, False)


def test_the_least_waste_is_called_so_when_no_less_is_possible(monkeypatch):
    """Three boards on hand at first; the pieces fill two."""
    monkeypatch.setattr(cheapest_boards, "_ALL", 0)
    hand = Stock("10 ft", Fraction(10), None, 5, is_on_hand=True)
    order = Order((hand,), (need(4, 2), need(3, 4)))
    found = set()
    for times in range(12):
        clock = iter([MANY * 1000] * times)
        plan = plan_cuts(order, lambda clock=clock: next(clock, 0), MANY)
        found.add((plan.boards, plan.waste_bound, plan.proved))
    assert found >= {(3, -20, False), (3, 0, False), (2, 0, True)}
    assert {proved for boards, _, proved in found if boards == 3} == {False}


def test_every_fault_is_said():
    faulty = Order(
        (Stock("0 ft", Fraction(0), Fraction(-1), 0), Stock("1 ft", Fraction(1), trim=Fraction(1))),
        (Need("0 ft", Fraction(0), 0),),
        Fraction(-1),
    )
    with pytest.raises(CuttingError) as caught:
        plan_of(faulty)
    assert len(caught.value.faults) == 7
    with pytest.raises(CuttingError) as caught:
        plan_of(Order((), ()))
    assert len(caught.value.faults) == 2


def test_without_time_there_is_still_a_plan_and_it_is_not_called_proved():
    order = Order(
        (Stock("16", Fraction(16), Fraction(9)), Stock("10", Fraction(10), Fraction(5))),
        (need(3, 7), need(4, 5), need(5, 3)),
    )
    plan = plan_cuts(order, lambda: 0, 0)
    follows_from(order, plan)
    assert not plan.proved
    assert plan.cost_bound == 0
    result = why(plan, plain, plain)
    assert "A cheaper plan may exist" in result[0]
    # The board for 5.00 that both go on, not the longer one for 9.00.
    plan = plan_cuts(replace(order, needs=(need(5, 2),)), lambda: 0, 0)
    assert (plan.cost, plan.waste) == (5, 0)


def test_it_is_said_why_no_fewer_will_do():
    order = Order((Stock("10 ft", Fraction(10), Fraction(1)),), (need(4, 11),), Fraction(1, 96))
    result = why(plan_of(order), plain, plain)
    # 11 pieces and their cuts are 44.11 ft, which is 4.4 boards; but two go on each.
    assert result[0].startswith("No plan costs less, or costs the same and wastes less")
    order = Order((Stock("10 ft", Fraction(10), Fraction(1)),), (need(3, 11),))
    assert "fewer than 4 boards" in why(plan_of(order), plain, plain)[0]
    assert "alone need 3.3" in why(plan_of(order), plain, plain)[0]
