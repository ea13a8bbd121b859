"""Ways to make: what conversions show, what is stated, and that no cost is lost or gained."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.calc.stock import work_out_positions
from materials.calc.types import ComponentInput, ConversionInput, OutputInput
from materials.calc.ways import (
    MOST_LED,
    Done,
    Way,
    Yielded,
    follow,
    leading_to,
    learn,
    state,
    without_circles,
)

F = Fraction
amounts = st.fractions(min_value=F(1, 50), max_value=F(500), max_denominator=60)


def test_learned_of_several_conversions_with_their_spread():
    # 6 boards made 21 battens in 3 h for 1.50, and 4 made 11 in an hour nobody logged.
    way = learn(
        "board",
        [
            Done(F(6), {"batten": F(21)}, F("1.50"), F(3)),
            Done(F(4), {"batten": F(11)}, F(0), F(0)),
        ],
    )
    made = way.makes[0]
    # 32 of 10, between 11 of 4 and 21 of 6.
    assert made.quantity == F(32, 10)
    assert (made.spread.low, made.spread.high, made.spread.count) == (F(11, 4), F(21, 6), 2)
    assert way.extra == F("0.15")
    # Half an hour a board where it was logged.
    assert way.hours == F(1, 2)
    assert (way.hours_spread.low, way.hours_spread.high, way.hours_spread.count) == (
        F(1, 7),
        F(1, 7),
        1,
    )
    assert (way.extra_spread.low, way.extra_spread.high) == (0, F("1.50") / 21)
    assert (way.count, way.is_stated, way.used) == (2, False, 10)
    assert way.each(way.extra) == F("0.15") / F("3.2")


def test_hours_nobody_logged_are_not_known():
    way = learn("board", [Done(F(2), {"peg": F(9)}, F(0), F(0))])
    assert way.hours is None
    assert way.hours_spread is None
    assert way.extra == 0


def test_stated_with_losses_hours_and_extra_cost_of_each():
    # 2 sheets give 12 trays, a quarter lost: 4.5 a sheet serve; 6 a sheet take 0.2 h each.
    way = state("sheet", "tray", F(2), F(12), F(1, 4), F("0.2"), F("0.05"))
    assert way.makes[0].quantity == F("4.5")
    assert way.hours == F("1.2")
    assert way.extra == F("0.30")
    # (3.00 + 0.30) ÷ 4.5.
    assert way.cost_of_each(F(3), {}) == {"tray": F("3.30") / F("4.5")}
    assert way.is_stated


def test_what_is_not_known_stays_so():
    way = state("sheet", "tray", F(1), F(6), None, None, None)
    assert (way.hours, way.extra, way.lost) == (None, None, None)
    assert way.cost_of_each(F(3), {}) == {"tray": None}
    free = state("sheet", "tray", F(1), F(6), None, None, F(0))
    assert free.cost_of_each(None, {}) == {"tray": None}
    assert free.cost_of_each(F(3), {}) == {"tray": F(1, 2)}


@given(
    one=amounts,
    extra=amounts,
    made=st.dictionaries(st.sampled_from("abc"), amounts, min_size=1),
    retail=st.dictionaries(st.sampled_from("abc"), amounts),
)
def test_all_the_cost_goes_to_what_is_made(one, extra, made, retail):
    makes = tuple(Yielded(key, quantity) for key, quantity in made.items())
    way = Way("w", "log", makes, extra, None)
    each = way.cost_of_each(one, {key: retail.get(key) for key in made})
    assert sum(each[out.component] * out.quantity for out in makes) == one + extra


@given(used=amounts, extra=amounts, price=amounts, made=st.lists(amounts, min_size=1, max_size=2))
def test_a_way_costs_what_the_ledger_books_of_its_conversion(used, extra, price, made):
    """To the cent and beyond: the way learned of one conversion gives that conversion's cost."""
    keys = "ab"[: len(made)]
    done = dict(zip(keys, made, strict=True))
    parts = [ComponentInput("log", "Log", "piece", received=used, received_cost=used * price)]
    parts += [ComponentInput(key, key, "piece") for key in keys]
    outputs = tuple(OutputInput(key, quantity) for key, quantity in done.items())
    positions = work_out_positions(parts, [ConversionInput("log", used, outputs, extra)])
    each = learn("log", [Done(used, done, extra, F(0))]).cost_of_each(price, {})
    for key in keys:
        assert each[key] == positions[key].average


@given(first=amounts, second=amounts, price=amounts, extra=amounts)
def test_a_chain_keeps_the_cost(first, second, price, extra):
    """One log into boards, each of them into battens: all battens cost the log and the work."""
    saw = state("log", "board", F(1), first, None, None, extra)
    rip = state("board", "batten", F(1), second, None, None, extra)
    board = saw.cost_of_each(price, {})["board"]
    batten = rip.cost_of_each(board, {})["batten"]
    work = first * extra + first * second * extra
    assert batten * first * second == price + work


def test_a_stated_way_that_leads_back_is_left_out():
    saw = learn("log", [Done(F(1), {"board": F(3)}, F(0), F(1))])
    back = state("board", "log", F(3), F(1), None, None, None)
    rip = state("board", "batten", F(1), F(4), None, None, None)
    kept, dropped = without_circles([back, saw, rip])
    assert kept == (saw, rip)
    assert dropped == (back,)


@pytest.mark.parametrize(
    ("wanted", "keys"), [({"batten"}, ["saw", "rip"]), ({"board"}, ["saw"]), ({"lime"}, [])]
)
def test_ways_lead_to_what_is_wanted(wanted, keys):
    ways = [
        Way("saw", "log", (Yielded("board", F(3)),), None, None),
        Way("rip", "board", (Yielded("batten", F(4)),), None, None),
    ]
    assert [way.key for way in leading_to(wanted, ways)] == keys


def test_ways_that_part_and_join_again_end():
    """Twenty layers of two ways each would lead to a million places."""
    ways = [
        state(f"{layer} {one}", f"{layer + 1} {other}", F(1), F(2), None, None, F(1))
        for layer in range(20)
        for one in "ab"
        for other in "ab"
    ]
    found = follow(ways, "0 a", F(3), F(5), {}, frozenset())
    assert len(found) == MOST_LED
    lengths = [len(led.path) for led in found]
    assert lengths == sorted(lengths)
    assert lengths[0] == 1
