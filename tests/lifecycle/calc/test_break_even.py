"""Which is cheapest, what turns the choice, how sure it is; and its picture."""

import itertools
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction as F

from hypothesis import given, settings
from hypothesis import strategies as st

from materials.lifecycle.calc.break_even import Count, compare, differences
from materials.lifecycle.calc.picture import cost_over_years
from materials.lifecycle.calc.present_cost import make_timeline, quick_cost
from materials.lifecycle.calc.types import Terms
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
