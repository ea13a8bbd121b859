"""Which is cheapest, what turns the choice, how sure it is; and its picture."""

import itertools
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.lifecycle.calc.break_even import Count, compare, differences, lives_within
from materials.lifecycle.calc.picture import cost_over_years
from materials.lifecycle.calc.present_cost import make_timeline, quick_cost
from materials.lifecycle.calc.types import Terms, out_of_order
from tests.lifecycle.calc.test_present_cost import ALTERNATIVES, TERMS, THREE, alternative
from tests.searches import TIMES

TERMS_30 = Terms(30, THREE, F(20))
CENT = F(1, 100)
PAINTED = alternative(
    "Painted",
    upkeep_every=5,
    upkeep=F(60),
    upkeep_hours=F(8),
    price_low=F(700),
    price_high=F(1100),
    life_low=8,
    life_high=16,
)
STEEL = alternative("Steel", price=F(1900), life=40, hours=F(12))


def cost(one, terms=TERMS_30, with_hours=False):
    """Its present cost."""
    return quick_cost(terms, one, with_hours)


def test_the_cheapest_and_its_rival():
    comparison = compare(TERMS_30, [PAINTED, STEEL], False)
    painted, steel = comparison.standings
    assert comparison.cheapest is steel
    assert (painted.rival, steel.rival) == (steel.timeline, painted.timeline)
    assert steel.ahead == cost(PAINTED) - cost(STEEL) > 0
    assert painted.ahead == -steel.ahead
    assert compare(TERMS_30, [PAINTED, replace(PAINTED, key="twin")], False).cheapest is None


def test_the_choice_turns_just_beyond_the_printed_price():
    comparison = compare(TERMS_30, [PAINTED, STEEL], False)
    for place, one in enumerate((PAINTED, STEEL)):
        row = comparison.standings[place]
        printed = row.highest_price(2)
        assert isinstance(printed, Decimal)
        at, above = (replace(one, price=F(printed) + more) for more in (F(0), CENT))
        assert cost(at) <= row.rival_cost < cost(above)
        below = [PAINTED, STEEL]
        below[place] = replace(one, price=F(printed) - CENT)
        assert compare(TERMS_30, below, False).cheapest.timeline.alternative.name == one.name
        below[place] = above
        assert compare(TERMS_30, below, False).cheapest.timeline.alternative.name != one.name


def test_the_choice_turns_with_the_printed_life():
    comparison = compare(TERMS_30, [PAINTED, STEEL], False)
    for place, one in enumerate((PAINTED, STEEL)):
        row = comparison.standings[place]
        ((first, last),) = row.lives
        assert row.break_even_life == first
        assert last is None
        for life, wins in ((first, True), (first - 1, False)):
            both = [PAINTED, STEEL]
            both[place] = replace(one, life=life)
            cheapest = compare(TERMS_30, both, False).cheapest
            assert (cheapest.timeline.alternative.name == one.name) is wins


def test_own_hours_can_turn_the_choice():
    """Without hours the paint is cheaper, with them at 40 an hour the steel is."""
    terms = Terms(30, THREE, F(40))
    paint = replace(PAINTED, price=F(500))
    names = [
        compare(terms, [paint, STEEL], with_hours).cheapest.timeline.alternative.name
        for with_hours in (False, True)
    ]
    assert names == ["Painted", "Steel"]


def test_nothing_given_is_cheap_enough_is_said():
    poor = replace(PAINTED, life=1, replacement=F(900))
    row = compare(TERMS_30, [poor, STEEL], False).standings[0]
    assert row.break_even_price < 0
    assert row.highest_price(2) is None


def test_what_must_hold_for_what_is_not_known():
    """An unknown life: how long it must last. An unknown price: what it may cost."""
    lasting = replace(PAINTED, life=None, life_low=None, life_high=None)
    comparison = compare(TERMS_30, [lasting, STEEL], False)
    assert comparison.cheapest is None
    assert comparison.left_out == (comparison.standings[0],)
    ((first, last),) = comparison.standings[0].lives
    assert last is None
    known = [replace(lasting, life=first), STEEL]
    assert compare(TERMS_30, known, False).cheapest.timeline.alternative.name == "Painted"
    priceless = replace(STEEL, price=None)
    row = compare(TERMS_30, [PAINTED, priceless], False).standings[1]
    assert (row.cost, row.lives) == (None, None)
    assert row.highest_price(2) == compare(TERMS_30, [PAINTED, STEEL], False).standings[
        1
    ].highest_price(2)


def test_alone_there_is_nothing_to_turn():
    comparison = compare(TERMS_30, [PAINTED], False)
    (row,) = comparison.standings
    assert comparison.cheapest is row.rival is row.own is row.joint is row.break_even_price is None
    assert row.cost == cost(PAINTED)


def test_nine_cases_of_price_and_life():
    comparison = compare(TERMS_30, [PAINTED, STEEL], False)
    painted, steel = comparison.standings
    costs = [
        cost(PAINTED.at(F(price), life))
        for price, life in itertools.product((700, 900, 1100), (8, 12, 16))
    ]
    assert painted.own == Count(sum(value < cost(STEEL) for value in costs), 9)
    assert (painted.low, painted.high) == (min(costs), max(costs))
    assert 0 < painted.own.cheaper < 9
    assert steel.own == Count(1, 1)
    assert steel.joint == Count(9 - painted.joint.cheaper, 9)
    assert painted.has_range
    assert not steel.has_range


def test_a_case_that_is_not_known_counts_nowhere():
    hourless = replace(STEEL, hours=None)
    comparison = compare(TERMS_30, [PAINTED, hourless, replace(STEEL, name="New")], True)
    assert comparison.standings[1].joint is None
    assert comparison.standings[0].joint.cases == 9


# Ten years without interest. A: 100 twice. B: 150, and 10 in years 4 and 8. C: half of 380 is left.
TEN = Terms(10, F(0), F(20))
A = alternative("A", price=F(100), life=5, hours=F(2))
B = alternative("B", price=F(150), life=10, hours=F(1), upkeep_every=4, upkeep=F(10),
                upkeep_hours=F(0))  # fmt: skip
C = alternative("C", price=F(380), life=20, hours=F(3))
# 10 x price / life: 212.50, 170, 106.25; 250, 200, 125; 275, 220, 137.50.
UNSURE = replace(A, price_low=F(85), price_high=F(110), life_low=4, life_high=8)


class TestByHand:
    """Worked out by hand: 200, 170 and 190; with hours at 20 it is 280, 190 and 220."""

    def test_order_and_rivals(self):
        comparison = compare(TEN, [A, B, C], False)
        assert [row.timeline.alternative.name for row in comparison.known] == ["B", "C", "A"]
        assert [row.cost for row in comparison.standings] == [200, 170, 190]
        assert [row.rival.alternative.name for row in comparison.standings] == ["B", "C", "B"]
        assert [row.rival_cost for row in comparison.standings] == [170, 190, 170]
        assert [row.ahead for row in comparison.standings] == [-30, 20, -20]
        assert comparison.cheapest is comparison.standings[1]
        with_hours = compare(TEN, [A, B, C], True)
        assert [row.cost for row in with_hours.standings] == [280, 190, 220]

    def test_where_prices_and_lives_turn(self):
        comparison = compare(TEN, [A, B, C], False)
        # 2 x 85, 170 + 20 and 340 / 2.
        assert [row.break_even_price for row in comparison.standings] == [85, 170, 340]
        assert [row.highest_price(2) for row in comparison.standings] == [85, 170, 340]
        # 1000 / 6 is less than 170; 1500 / 9 + 20 less than 190, 1500 / 8 + 10 more; 3800 / 23.
        assert [row.lives for row in comparison.standings] == [
            ((6, None),),
            ((9, None),),
            ((23, None),),
        ]
        assert [row.break_even_life for row in comparison.standings] == [6, 9, 23]

    def test_how_many_cases(self):
        comparison = compare(TEN, [UNSURE, B, C], False)
        a, b, c = comparison.standings
        assert (a.low, a.high, a.own) == (F("106.25"), 275, Count(3, 9))
        assert (b.low, b.high, b.own) == (170, 170, Count(1, 1))
        # A case that comes to the same is cheaper for neither.
        assert [row.joint for row in (a, b, c)] == [Count(3, 9), Count(5, 9), Count(0, 9)]
        assert [row.has_range for row in (a, b, c)] == [True, False, False]

    def test_two_cases_are_a_range(self):
        row = compare(TEN, [replace(A, price_low=F(85)), B], False).standings[0]
        assert (row.own.cases, row.has_range) == (2, True)

    def test_why_one_costs_what_the_other_does_not(self):
        a, b, c = (make_timeline(TEN, one) for one in (A, B, C))
        assert dict(differences(a, b, False)) == {"first": -50, "upkeep": -20, "replaced": 100}
        assert dict(differences(a, b, True)) == {
            "first": -50, "upkeep": -20, "replaced": 100, "hours": 60,
        }  # fmt: skip
        assert dict(differences(c, a, False)) == {"first": 280, "replaced": -100, "left": -190}

    def test_it_runs_up_year_by_year(self):
        assert make_timeline(TEN, A).running(True) == ((0, 140), (5, 280))
        assert make_timeline(TEN, B).running(False) == ((0, 150), (4, 160), (8, 170))
        assert make_timeline(TEN, C).running(False) == ((0, 380), (10, 190))

    def test_lives_may_lie_apart(self):
        """Upkeep of 30: 217.50 at 8 years, 226.67 at 9, 210 at 10 and less from there on."""
        one = replace(B, upkeep=F(30))
        assert lives_within(TEN, one, F(220), False) == ((8, 8), (10, None))
        comparison = compare(TEN, [one, replace(A, price=F(110))], False)
        assert comparison.standings[0].lives == ((8, 8), (10, None))
        assert comparison.standings[0].break_even_life is None
        assert lives_within(TEN, A, F(1000), False) == ((1, None),)
        assert lives_within(TEN, A, F(200), False) == ((5, None),)
        assert lives_within(TEN, A, F(-1), False) == ()
        assert lives_within(TEN, replace(A, price=None), F(200), False) is None

    @pytest.mark.parametrize(
        ("lives", "break_even"),
        [
            (((6, None),), 6), (((2, None),), 2), (((1, None),), None), (((6, 9),), None),
            (((6, 9), (12, None)), None), ((), None), (None, None),
        ],
    )  # fmt: skip
    def test_a_life_turns_where_it_turns_once(self, lives, break_even):
        row = compare(TEN, [A, B], False).standings[0]
        assert replace(row, lives=lives).break_even_life == break_even

    @pytest.mark.parametrize(("rival", "price"), [(1, F("0.5")), (0, 0), (-1, None), (None, None)])
    def test_the_highest_price_may_be_nothing(self, rival, price):
        row = compare(TEN, [A, B], False).standings[0]
        cost = None if rival is None else F(rival)
        assert replace(row, rival_cost=cost).highest_price(2) == price

    def test_a_price_that_lowers_the_cost_turns_nowhere(self):
        """Half is left after a year and doubled by a rate of -50 %: the price does not count."""
        terms = Terms(1, F(-1, 2))
        comparison = compare(terms, [replace(A, life=2), replace(B, life=2)], False)
        assert comparison.standings[0].line.slope == 0
        assert comparison.standings[0].break_even_price is None
        longer = compare(terms, [replace(A, life=4), replace(B, life=2)], False).standings[0]
        # Three quarters are left, which is half as much again.
        assert (longer.line.slope, longer.break_even_price) == (F(-1, 2), None)

    def test_what_is_not_known_is_ahead_of_nothing(self):
        comparison = compare(TEN, [replace(A, life=None), B], False)
        assert [row.ahead for row in comparison.standings] == [None, None]
        assert comparison.standings[1].lives is None
        assert (comparison.standings[1].low, comparison.standings[1].own) == (170, None)
        # What is not known is nobody's rival, and has no cases.
        assert [row.rival is None for row in comparison.standings] == [False, True]
        assert [row.own for row in comparison.standings] == [None, None]
        assert [row.has_range for row in comparison.standings] == [False, False]
        three = compare(TEN, [replace(A, life=None), B, C], False).standings
        assert [row.rival.alternative.name for row in three] == ["B", "C", "B"]
        assert make_timeline(TEN, replace(A, life=None)).hours_value is None
        assert len(replace(A, life=None).cases()) == 1
        assert (
            comparison.standings[0].low
            is comparison.standings[0].high
            is comparison.standings[0].line
            is None
        )
        assert make_timeline(TEN, replace(A, life=None)).per_year(False) is None
        assert quick_cost(TEN, replace(B, upkeep_hours=None), True) is None
        assert quick_cost(Terms(10), replace(A, hours=F(1)), True) is None
        assert quick_cost(Terms(10), replace(A, hours=F(0)), True) == 200

    def test_a_line_at_a_price(self):
        assert compare(TEN, [A, B], False).standings[1].line.at(F(40)) == 60


@pytest.mark.parametrize(
    ("low", "likely", "high", "end"),
    [
        (1, 2, 3, None), (2, 2, 2, None), (None, 2, None, None), (None, None, None, None),
        (3, 2, None, "low"), (3, 2, 1, "low"), (None, 2, 1, "high"), (1, 2, 1, "high"),
        (1, None, None, "likely"), (None, None, 3, "likely"),
    ],
)  # fmt: skip
def test_a_range_in_its_order(low, likely, high, end):
    found = out_of_order("life", low, likely, high)
    assert (found and found[0]) == end


RANGED = st.builds(
    lambda one, low, high, lives: replace(
        one,
        price_low=None if one.price is None or not low else one.price * F(8, 10),
        price_high=None if one.price is None or not high else one.price * F(13, 10),
        life_low=max(1, one.life - 3) if lives else None,
        life_high=one.life + 4 if lives else None,
    ),
    ALTERNATIVES,
    st.booleans(),
    st.booleans(),
    st.booleans(),
)


@given(TERMS, st.lists(RANGED, min_size=2, max_size=3), st.booleans())
def test_counting_is_looking_at_every_combination(terms, alternatives, with_hours):
    comparison = compare(terms, alternatives, with_hours)
    known = [
        place
        for place, one in enumerate(alternatives)
        if all(quick_cost(terms, case, with_hours) is not None for case in one.cases())
    ]
    won = dict.fromkeys(known, 0)
    combinations = list(
        itertools.product(
            *(
                [quick_cost(terms, case, with_hours) for case in alternatives[place].cases()]
                for place in known
            )
        )
    )
    for costs in combinations:
        least = min(costs, default=None)
        if costs.count(least) == 1:
            won[known[costs.index(least)]] += 1
    for place, row in enumerate(comparison.standings):
        if place in known and len(known) > 1:
            assert row.joint == Count(won[place], len(combinations))
        else:
            assert row.joint is None


@settings(max_examples=50 * TIMES)
@given(TERMS, st.lists(RANGED, min_size=2, max_size=3), st.booleans())
def test_answers_turn_at_what_is_printed(terms, alternatives, with_hours):
    """At a printed price or life it is not dearer than its rival; one step beyond, it is."""
    for row in compare(terms, alternatives, with_hours).standings:
        one = row.timeline.alternative
        printed = row.highest_price(2)
        if printed is not None:
            at, above = (
                quick_cost(terms, replace(one, price=F(printed) + more), with_hours)
                for more in (F(0), CENT)
            )
            assert at <= row.rival_cost < above
        for first, last in row.lives or ():
            within = [first] if last is None else [first, last]
            beyond = [first - 1] if last is None else [first - 1, last + 1]
            for life in within:
                assert quick_cost(terms, replace(one, life=life), with_hours) <= row.rival_cost
            for life in beyond:
                if life:
                    assert quick_cost(terms, replace(one, life=life), with_hours) > row.rival_cost


@given(TERMS, st.lists(RANGED, min_size=2, max_size=2), st.booleans())
def test_reasons_sum_to_the_whole_difference(terms, alternatives, with_hours):
    one, other = (make_timeline(terms, each) for each in alternatives)
    costs = [timeline.cost(with_hours) for timeline in (one, other)]
    if None not in costs:
        reasons = differences(one, other, with_hours)
        assert sum(amount for _, amount in reasons) == costs[0] - costs[1]


def test_lines_of_the_picture_rise_and_carry_a_letter():
    rows = [
        (letter, make_timeline(TERMS_30, one).running(False))
        for letter, one in (("A", PAINTED), ("B", STEEL))
    ]
    drawn = cost_over_years(rows, 30)
    assert [line.letter for line in drawn.lines] == ["A", "B"]
    for line in drawn.lines:
        points = [tuple(map(int, point.split(","))) for point in line.points.split()]
        assert points[0] == (0, drawn.height)
        assert points[-1][0] == 1000
        assert all(0 <= y <= drawn.height for _, y in points)
        assert [x for x, _ in points] == sorted(x for x, _ in points)
    assert [mark.text for mark in drawn.marks] == ["", "10", "15", "20", "25", ""]


def test_letters_of_lines_that_end_together_do_not_cover_each_other():
    rows = [(letter, ((0, F(100)),)) for letter in "ABCDE"]
    bases = sorted(line.letter_y for line in cost_over_years(rows, 10).lines)
    assert all(upper + 13 <= lower for upper, lower in itertools.pairwise(bases))


def test_there_is_nothing_to_draw_of_what_costs_nothing_or_is_not_known():
    assert cost_over_years([("A", ()), ("B", ((0, F(0)),))], 10) is None
    assert len(cost_over_years([("A", ()), ("B", ((0, F(1)),))], 10).lines) == 1
