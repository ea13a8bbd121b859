"""Planned cost of work done against what it took; classes of estimates."""

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.calc.money import round_half_up
from materials.calc.progress.earned_value import EarnedValue, estimate_at_completion
from materials.estimates.calc.accuracy import CLASSES, classes_for


def shown(value: F | None, places: int = 2) -> str:
    """A figure as it is printed."""
    assert value is not None
    return str(round_half_up(value, places))


def test_a_course_problem():
    """V01. Course problem (inputs read there, answer worked out).

    20 days, 200 000; on day 12 it is 70 % done at 130 000.
    """
    whole = F(200_000)
    value = EarnedValue(whole, whole * F(7, 10), F(130_000), whole * F(12, 20))
    assert (value.planned, value.earned) == (120_000, 140_000)
    assert shown(value.schedule_index, 4) == "1.1667"
    assert shown(value.cost_index, 4) == "1.0769"
    assert shown(value.at_completion) == "185714.29"
    assert shown(value.to_complete) == "55714.29"
    assert shown(value.variance_at_completion) == "14285.71"
    assert value.to_complete_index == F(60_000, 70_000)


def test_estimate_from_an_index():
    """V03. Reference page of a risk-analysis package, help on eac (as reprinted)."""
    assert shown(estimate_at_completion(F(100_000), F("0.83"))) == "120481.93"


def test_estimate_with_the_rest_as_planned():
    """V04. The same page (as reprinted): exact."""
    value = EarnedValue(F(100_000), F(35_000), F(63_000))
    assert value.at_completion_as_planned == 128_000


def test_cost_index_of_running_sums():
    """V05. The same package, help on cpi (as reprinted)."""
    value = EarnedValue(None, F(35_000), F(36_000))
    assert shown(value.cost_index, 7) == "0.9722222"


@pytest.mark.parametrize(("earned", "actual"), [(0, 0), (0, 50), (50, 0)])
def test_nothing_earned_or_nothing_spent_has_no_index(earned, actual):
    """V06. Edge case (arithmetic): no index, and nothing fails."""
    value = EarnedValue(F(100), F(earned), F(actual), F(0))
    assert value.cost_index is None
    assert value.at_completion is value.to_complete is value.variance_at_completion is None
    assert value.schedule_index is None


def test_what_is_not_known_stays_so():
    value = EarnedValue(None, None, None)
    assert value.schedule_index is value.to_complete_index is None
    assert value.at_completion_as_planned is None
    assert EarnedValue(F(100), F(50), F(100)).to_complete_index is None


AMOUNTS = st.fractions(F(1), F(10**6), max_denominator=100)


@given(AMOUNTS, st.fractions(F(1, 100), F(1), max_denominator=100), AMOUNTS)
def test_the_figures_hang_together(whole, done, actual):
    value = EarnedValue(whole, whole * done, actual)
    assert value.at_completion == actual / done
    assert value.at_completion == actual + value.to_complete
    assert value.variance_at_completion == (value.earned - actual) / done
    if value.cost_index == 1:
        assert value.at_completion == whole == value.at_completion_as_planned


@pytest.mark.parametrize(
    ("row", "number", "defined", "low", "high"),
    [
        # AACE 18R-97: outer pairs as reprinted, inner ones from memory.
        ("V10", 5, (0, 2), (-20, -50), (30, 100)),
        ("V11", 4, (1, 15), (-15, -30), (20, 50)),
        ("V12", 3, (10, 40), (-10, -20), (10, 30)),
        ("V13", 2, (30, 75), (-5, -15), (5, 20)),
        # The 65 is from memory; an older text has 50 to 100 (as reprinted).
        ("V14", 1, (65, 100), (-3, -10), (3, 15)),
    ],
)
def test_classes_of_estimates(row, number, defined, low, high):
    """V10 to V14. AACE 18R-97, of the process industries."""
    found = CLASSES[number]
    assert tuple(value * 100 for value in found.defined) == defined, row
    assert tuple(value * 100 for value in found.low) == low
    assert tuple(value * 100 for value in found.high) == high


def test_the_band_of_an_estimate():
    """V15. 100 000 in class 4 (arithmetic)."""
    assert CLASSES[4].widest(F(100_000)) == (70_000, 150_000)


def test_classes_by_how_far_the_work_is_defined():
    numbers = {share: [row.number for row in classes_for(F(share, 100))] for share in range(101)}
    assert numbers[0] == [5]
    assert numbers[1] == [5, 4]
    assert numbers[35] == [3, 2]
    assert numbers[100] == [1]
    assert all(numbers.values())
    assert classes_for(F(-1)) == classes_for(F(2)) == ()
    widths = [row.high[1] - row.low[1] for row in CLASSES.values()]
    assert widths == sorted(widths, reverse=True)


def test_without_one_part_the_whole_is_not_known():
    assert EarnedValue(F(100), F(35), None).at_completion_as_planned is None
    assert EarnedValue(None, F(35), F(50)).at_completion_as_planned is None
    assert EarnedValue(F(100), None, F(50), F(20)).schedule_index is None


@pytest.mark.parametrize(("actual", "index"), [(99, 50), (100, None), (101, None)])
def test_how_well_the_rest_must_go(actual, index):
    """Half is done: 50 is still to be earned out of what is left of 100."""
    assert EarnedValue(F(100), F(50), F(actual)).to_complete_index == index
