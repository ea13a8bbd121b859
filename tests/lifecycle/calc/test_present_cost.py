"""Alternatives over a study period: what happens when, and what it comes to."""

from dataclasses import replace
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.lifecycle.calc.factors import real_rate, uniform_present_value
from materials.lifecycle.calc.present_cost import (
    CostKind,
    PriceLine,
    make_timeline,
    price_line,
    quick_cost,
    share_left,
    upkept_in,
)
from materials.lifecycle.calc.types import Alternative, Dragged, Terms

THREE = F(3, 100)


def alternative(name: str = "Painted", **values) -> Alternative:
    """An alternative at 900 that lasts 12 years and takes 10 hours."""
    given_values = {"price": F(900), "hours": F(10), "life": 12} | values
    return Alternative(name, name, **given_values)


MONEY = st.one_of(st.none(), st.fractions(F(0), F(10_000), max_denominator=100))
HOURS = st.one_of(st.none(), st.fractions(F(0), F(200), max_denominator=4))
RATES = st.fractions(F(-1, 20), F(1, 5), max_denominator=1000)
LIVES = st.integers(1, 60)
TERMS = st.builds(Terms, st.integers(1, 60), RATES, MONEY)
ALTERNATIVES = st.builds(
    Alternative,
    st.just("a"),
    st.just("A"),
    MONEY,
    HOURS,
    LIVES,
    st.one_of(st.none(), st.integers(1, 20)),
    MONEY,
    HOURS,
    RATES,
    MONEY,
    HOURS,
    st.one_of(st.none(), st.fractions(F(-500), F(500), max_denominator=10)),
    dragged=st.one_of(st.none(), st.builds(Dragged, st.just("Roof off"), MONEY, HOURS)),
)


def test_a_life_worked_out_by_hand():
    """30 years, no rate: at first, replaced in 12 and 24, half of the last one's life is left.

    900 + 900 + 900 - 900/2; painted for 60 in 5 and 10, 17 and 22, 29 (not in 12, 24 or 30).
    """
    one = alternative(upkeep_every=5, upkeep=F(60), upkeep_hours=F(4))
    timeline = make_timeline(Terms(30, F(0), F(20)), one)
    years = {kind: [e.year for e in timeline.events if e.kind is kind] for kind in CostKind}
    assert years == {
        CostKind.FIRST: [0],
        CostKind.REPLACED: [12, 24],
        CostKind.DRAGGED: [],
        CostKind.UPKEEP: [5, 10, 17, 22, 29],
        CostKind.LEFT: [30],
    }
    assert timeline.cash == 900 * 3 - 450 + 5 * 60
    assert timeline.hours_worked == 10 * 3 + 5 * 4
    assert timeline.hours_value == (10 * 3 - 5 + 5 * 4) * 20
    assert timeline.cost(True) == timeline.cash + timeline.hours_value
    assert timeline.per_year(False) == timeline.cash / 30


def test_what_a_replacement_drags_along_is_paid_each_time_and_leaves_nothing():
    """Two replacements in 30 years, no rate: 2 x 70 and 2 x 3 h; half of the last 900 is left."""
    one = alternative(dragged=Dragged("Roof off and on", F(70), F(3)))
    timeline = make_timeline(Terms(30, F(0), F(20)), one)
    dragged = [event for event in timeline.events if event.kind is CostKind.DRAGGED]
    assert [(event.year, event.amount, event.hours) for event in dragged] == [
        (12, 70, 3),
        (24, 70, 3),
    ]
    assert timeline.cash == 900 * 3 - 450 + 2 * 70
    assert timeline.hours_worked == 3 * 10 + 2 * 3
    # It hangs on the number of replacements, never on the price.
    assert price_line(Terms(30), one, False) == PriceLine(F(2 * 70), F(5, 2))


def test_what_is_dragged_along_and_not_known_matters_where_something_is_replaced():
    unknown = alternative(dragged=Dragged("Roof off and on"))
    for terms in (Terms(30), Terms(30, THREE)):
        assert make_timeline(terms, unknown).cash is None
        assert quick_cost(terms, unknown, False) is None
    assert make_timeline(Terms(12), unknown).cash == quick_cost(Terms(12), unknown, False) == 900
    hourless = alternative(dragged=Dragged("Roof off and on", F(70)))
    assert make_timeline(Terms(30), hourless).cash == 2390
    assert make_timeline(Terms(30), hourless).hours_worked is None


def test_at_a_rate_each_amount_counts_by_its_year():
    one = alternative(upkeep_every=5, upkeep=F(60), replacement=F(700), residual=F(100))
    cash = make_timeline(Terms(20, THREE), one).cash
    spv = [(1 + THREE) ** -n for n in range(21)]
    assert cash == 900 + 60 * (spv[5] + spv[10] + spv[17]) + 700 * spv[12] - 100 * spv[20]


def changing_present_value(d: F, e: F, n: int) -> F:
    """UPV*, the closed form: as UPV, for a price of 1 today that changes by ``e`` a year."""
    return F(n) if e == d else (1 + e) / (d - e) * (1 - ((1 + e) / (1 + d)) ** n)


def test_yearly_upkeep_is_a_uniform_series():
    """Upkeep of every year is UPV, or UPV* where its price changes (NIST Handbook 135)."""
    for change in (F(0), F(1, 50), THREE):
        one = alternative(price=F(0), life=25, upkeep_every=1, upkeep=F(40), upkeep_change=change)
        expected = 40 * changing_present_value(THREE, change, 25)
        assert make_timeline(Terms(25, THREE), one).cash == expected
    # A replacement does not stop what falls in every year.
    short = alternative(price=F(0), life=5, upkeep_every=1, upkeep=F(40))
    assert make_timeline(Terms(25, THREE), short).cash == 40 * uniform_present_value(THREE, 25)


def test_replaced_at_the_end_of_its_life_but_not_at_the_end_of_the_study():
    assert [e.year for e in make_timeline(Terms(24), alternative()).events] == [0, 12]
    assert make_timeline(Terms(24), alternative()).cash == 1800
    assert make_timeline(Terms(12), alternative()).cash == 900
    assert make_timeline(Terms(25), alternative()).cash == 2700 - F(11, 12) * 900


@pytest.mark.parametrize(
    ("life", "years", "share"), [(12, 12, 0), (12, 24, 0), (12, 30, "1/2"), (40, 30, "1/4")]
)
def test_what_is_left_is_the_share_of_life_to_come(life, years, share):
    assert share_left(life, years) == F(share)


def test_upkeep_begins_anew_with_a_replacement():
    assert upkept_in(None, 12, 30) == ()
    assert upkept_in(5, 12, 30) == (5, 10, 17, 22, 29)
    assert upkept_in(12, 12, 30) == ()
    assert upkept_in(10, 50, 30) == (10, 20)
    assert upkept_in(1, 12, 3) == (1, 2, 3)


def test_a_stated_residual_stands_for_the_straight_line():
    """A cost of taking it away is below zero; nothing is left is 0."""
    straight, gone, costs = (
        make_timeline(Terms(30), alternative(residual=value)).cash for value in (None, F(0), F(-50))
    )
    assert (straight, gone, costs) == (2250, 2700, 2750)


def test_not_known_is_not_zero():
    terms = Terms(20, THREE, F(20))
    assert make_timeline(terms, alternative(life=None)).cash is None
    assert make_timeline(terms, alternative(life=None)).hours_worked is None
    assert make_timeline(terms, alternative(price=None)).cash is None
    unkept = make_timeline(terms, alternative(upkeep_every=5))
    assert (unkept.cash, unkept.hours_worked) == (None, None)
    hourless = make_timeline(terms, alternative(hours=None))
    assert hourless.cash is not None
    assert hourless.hours_worked is hourless.hours_value is hourless.cost(True) is None
    rateless = make_timeline(Terms(20, THREE), alternative())
    assert (rateless.hours_worked, rateless.hours_value) == (20, None)
    assert make_timeline(Terms(20), alternative(hours=F(0))).hours_value == 0
    # What never falls due need not be known.
    assert make_timeline(Terms(20), alternative(life=20, upkeep_every=20)).cash == 900


@given(TERMS, ALTERNATIVES)
def test_the_quick_sum_is_the_sum_of_all_years(terms, one):
    timeline = make_timeline(terms, one)
    assert quick_cost(terms, one, False) == timeline.cost(False)
    assert quick_cost(terms, one, True) == timeline.cost(True)


@given(TERMS, ALTERNATIVES)
def test_the_equal_yearly_cost_has_the_same_present_value(terms, one):
    timeline = make_timeline(terms, one)
    cost, yearly = timeline.cost(False), timeline.per_year(False)
    assert (cost is None) == (yearly is None)
    if cost is not None:
        assert yearly * uniform_present_value(terms.rate, terms.years) == cost


@given(TERMS, ALTERNATIVES)
def test_running_sums_end_in_the_present_cost(terms, one):
    timeline = make_timeline(terms, one)
    running = timeline.running(False)
    assert bool(running) == (timeline.cash is not None)
    if running:
        assert running[-1][1] == timeline.cash
        assert [year for year, _ in running] == sorted({event.year for event in timeline.events})


@given(ALTERNATIVES, st.integers(1, 60), RATES, RATES)
def test_a_nominal_account_comes_to_the_same(one, years, rate, inflation):
    """Every price raised by inflation, and discounted at 1 + nominal = (1 + real)(1 + i)."""
    timeline = make_timeline(Terms(years, rate), one)
    if timeline.cash is None:
        return
    nominal = (1 + rate) * (1 + inflation) - 1
    dear = sum(
        event.amount * (1 + inflation) ** event.year / (1 + nominal) ** event.year
        for event in timeline.events
    )
    assert dear == timeline.cash
    assert real_rate(nominal, inflation) == rate


@given(ALTERNATIVES, st.integers(1, 60), st.fractions(F(0), F(1, 5), max_denominator=1000))
def test_a_dearer_price_never_costs_less(one, years, rate):
    terms = Terms(years, rate)
    less = quick_cost(terms, replace(one, price=F(100)), False)
    more = quick_cost(terms, replace(one, price=F(101)), False)
    assert (less is None) == (more is None)
    assert less is None or less < more
