"""Hours as people write them."""

from fractions import Fraction

import pytest

from materials.calc.durations import read_hours, without_unit


@pytest.mark.parametrize(
    ("typed", "hours"),
    [
        ("1:30", Fraction(3, 2)),
        ("0:20", Fraction(1, 3)),
        ("2h30", Fraction(5, 2)),
        ("2H30M", Fraction(5, 2)),
        (" 2 h 30 min ", Fraction(5, 2)),
        ("2 hrs. 5 mins.", Fraction(25, 12)),
        ("1 hour 1 minute", Fraction(61, 60)),
        ("90 min", Fraction(3, 2)),
        ("3 1/2", Fraction(7, 2)),
        ("3½", Fraction(7, 2)),
        ("1/4 h", Fraction(1, 4)),
        ("half an hour", Fraction(1, 2)),
        ("two hours", Fraction(2)),
        ("30 1/2 min", Fraction(61, 120)),
        ("3½ ft", None),
        ("many", None),
        ("1:60", None),
        ("2h60", None),
        ("2 h 100", None),
        ("1.5 h 30", None),
        ("-1:30", None),
        ("1:2:3", None),
        ("1.5", None),
        ("2 h", None),
        ("h", None),
        ("", None),
    ],
)
def test_hours_and_minutes(typed: str, hours: Fraction | None) -> None:
    assert read_hours(typed) == hours


@pytest.mark.parametrize(
    ("typed", "number"),
    [("2 h", "2"), ("1.5hours", "1.5"), ("1,5 HRS.", "1,5"), ("h", "h"), ("NaN h", "NaN h")],
)
def test_the_unit_of_a_plain_number(typed: str, number: str) -> None:
    assert without_unit(typed) == number


def test_endless_spaces_take_no_time() -> None:
    assert read_hours("1" + " " * 100_000 + "x") is None
    assert without_unit("1" + " " * 100_000 + "x").endswith("x")
