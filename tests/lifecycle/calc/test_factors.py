"""Factors of money over years against published tables."""

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from materials.calc.money import round_half_up
from materials.lifecycle.calc.factors import (
    capital_recovery,
    future_value,
    real_rate,
    uniform_present_value,
)
from materials.lifecycle.calc.present_cost import make_timeline
from materials.lifecycle.calc.types import Alternative, Terms

SHARES = st.fractions(F(-9, 10), F(3), max_denominator=10_000)
YEARS = st.integers(1, 60)


def percent(value: str) -> F:
    """A rate written in per cent."""
    return F(value) / 100


def near(value: F, printed: str, tolerance: str) -> bool:
    """Whether a value is what is printed, within a tolerance."""
    return abs(value - F(printed)) <= F(tolerance)


def test_uniform_present_value_of_the_handbook():
    """C01. NISTIR 85-3273 annual supplement, table A-2 (from memory); unrounded: arithmetic."""
    value = uniform_present_value(percent("3"), 25)
    assert near(value, "17.41", "0.005")
    assert round_half_up(value, 6) == round_half_up(F("17.413148"), 6)


def test_single_present_value():
    """C02. OpenStax vol. 2, time value of money tables (primary text)."""
    replacement = Alternative("a", "A", F(100), F(0), 10)
    *_, value = (
        event.factor for event in make_timeline(Terms(20, percent("3")), replacement).events
    )
    assert near(value, "0.744", "0.0005")
    assert str(round_half_up(value, 6)) == "0.744094"


def test_uniform_present_value_times_an_amount():
    """C04. OpenStax vol. 2 (primary text); 5 195.37 from the unrounded factor: arithmetic."""
    value = uniform_present_value(percent("5"), 5)
    printed = round_half_up(value, 3)
    assert str(printed) == "4.329"
    assert printed * 1200 == F("5194.80")
    assert str(round_half_up(value * 1200, 2)) == "5195.37"


@pytest.mark.parametrize(
    ("row", "rate", "years", "printed"),
    [
        *(
            ("C05", "1", n, p)
            for n, p in enumerate(["0.990", "1.970", "2.941", "3.902", "4.853"], 1)
        ),
        ("C06", "3", 3, "2.829"),
        ("C06", "3", 4, "3.717"),
        ("C06", "3", 5, "4.580"),
    ],
)
def test_rows_of_uniform_present_value(row, rate, years, printed):
    """C05, C06. OpenStax vol. 2, the same figure (primary text).

    Its cell for 5 % and two years is misprinted with a comma and is not taken.
    """
    assert near(uniform_present_value(percent(rate), years), printed, "0.0005"), row


def test_future_value_of_an_amount():
    """C07. OpenStax vol. 2 (primary text): 5 000 at 6 % for 3 years."""
    value = 5000 * future_value(percent("6"), 3)
    assert str(round_half_up(value, 2)) == "5955.08"
    assert str(round_half_up(value - 5000, 2)) == "955.08"


@pytest.mark.parametrize(("rate", "printed"), [("3", "1.194"), ("5", "1.340"), ("8", "1.587")])
def test_rows_of_future_value(rate, printed):
    """C08. OpenStax vol. 2 (primary text): 6 years."""
    assert near(future_value(percent(rate), 6), printed, "0.0005")


@pytest.mark.parametrize(
    ("row", "periods", "recovery", "present"),
    [("C09", 10, "0.10138", "9.8639"), ("C10", 25, "0.04131", "24.2055")],
)
def test_rows_of_a_quarter_per_cent(row, periods, recovery, present):
    """C09, C10. Engineering-economy tables for 0.25 % (as reprinted, three copies)."""
    rate = percent("0.25")
    assert near(capital_recovery(rate, periods), recovery, "0.000005"), row
    assert near(uniform_present_value(rate, periods), present, "0.00005"), row


def test_capital_recovery():
    """C11. The formula (arithmetic): 7 %, 20 years."""
    assert near(capital_recovery(percent("7"), 20), "0.094393", "0.000001")


@given(SHARES, YEARS)
def test_capital_recovery_is_the_inverse_of_uniform_present_value(rate, years):
    """C13. CRF x UPV = 1 (identity), here exactly."""
    assert capital_recovery(rate, years) * uniform_present_value(rate, years) == 1


@given(SHARES, YEARS)
def test_the_formula_is_the_sum_it_stands_for(rate, years):
    """UPV (GSA criteria page as reprinted; engineering tables) against its sum."""
    assert uniform_present_value(rate, years) == sum((1 + rate) ** -n for n in range(1, years + 1))
    assert uniform_present_value(F(0), years) == years


@given(SHARES, SHARES)
def test_real_and_nominal_rates_are_two_sides_of_one(rate, inflation):
    """1 + nominal = (1 + real)(1 + inflation)."""
    assert real_rate((1 + rate) * (1 + inflation) - 1, inflation) == rate
    assert real_rate(rate, F(0)) == rate


def test_what_has_no_present_value_is_refused():
    for call in (
        lambda: future_value(F(-1), 2),
        lambda: real_rate(F(1, 10), F(-1)),
        lambda: capital_recovery(F(1, 10), 0),
        lambda: future_value(F(1, 10), -1),
    ):
        with pytest.raises(ValueError, match=r"rate|year"):
            call()
