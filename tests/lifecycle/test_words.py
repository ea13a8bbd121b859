"""Sentences of a comparison, where it is not the usual one."""

from fractions import Fraction as F

import pytest

from materials.lifecycle.calc.types import Alternative, Terms
from materials.lifecycle.words import answer, spans, stated, years_text

TERMS = Terms(20, F(0), F(20))


def one(key: int, name: str, **values) -> Alternative:
    """A way that costs 100, takes no hours and lasts 20 years."""
    return Alternative(key, name, **({"price": F(100), "hours": F(0), "life": 20} | values))


def answer_for(*ways: Alternative, terms: Terms = TERMS, with_hours: bool = False) -> dict:
    """What the page is given."""
    return answer(terms, ways, "USD", with_hours)


def test_two_that_cost_the_same_are_both_named():
    result = answer_for(one(0, "Larch"), one(1, "Oak"), one(2, "Tin", price=F(300)))
    assert (
        result["verdict"] == "Over 20 years Larch and Oak cost the same, $100.00 in money of today."
    )
    assert result["why"] == ""
    assert not any(row["is_cheapest"] for row in result["rows"])


def test_what_is_too_dear_even_as_a_gift():
    result = answer_for(one(0, "Larch", life=1, replacement=F(50)), one(1, "Oak"))
    texts = dict(result["break_even"])
    assert texts["Larch"].startswith("would cost more than Oak even as a gift.")
    assert "Break-even" not in texts["Larch"]


def test_no_life_is_long_enough():
    result = answer_for(one(0, "Larch", price=F(200), residual=F(0)), one(1, "Oak"))
    assert "However long it lasts, it costs more than Oak." in dict(result["break_even"])["Larch"]
    assert (
        "However short it lasts, it costs no more than Larch."
        not in dict(result["break_even"])["Oak"]
    )


def test_cheaper_whatever_its_life():
    result = answer_for(
        one(0, "Larch", replacement=F(0), residual=F(0)), one(1, "Oak", price=F(101))
    )
    assert (
        "However short it lasts, it costs no more than Oak." in dict(result["break_even"])["Larch"]
    )


def test_why_it_costs_less_adds_up():
    result = answer_for(
        one(0, "Paint", upkeep_every=5, upkeep=F(10), life=20),
        one(1, "Steel", price=F(120), life=40),
    )
    assert result["verdict"].startswith("Over 20 years Steel costs least: $60.00")
    assert result["verdict"].endswith("Paint costs $70.00 more.")
    assert result["why"] == (
        "Compared with Paint, Steel has $20.00 more at first, $30.00 less in upkeep and $60.00 more"
        " left at the end."
    )


@pytest.mark.parametrize(
    ("values", "with_hours", "reason"),
    [
        ({"price": None}, False, "no first cost is stated"),
        ({"life": None}, False, "no life is stated"),
        ({"upkeep_every": 5}, False, "no cost of upkeep is stated"),
        ({"hours": None}, True, "no first hours are stated"),
        ({"upkeep_every": 5, "upkeep": F(1)}, True, "no hours of upkeep are stated"),
    ],
)
def test_what_is_not_known_is_named(values, with_hours, reason):
    result = answer_for(one(0, "Larch", **values), one(1, "Oak"), with_hours=with_hours)
    (text,) = result["unknown"]
    assert text.startswith(f"Larch is left out: {reason}")


def test_hours_without_a_worth_are_said_to_have_none():
    result = answer_for(
        one(0, "Larch", hours=F(3)), one(1, "Oak"), terms=Terms(20), with_hours=True
    )
    assert "no value of an own hour is stated" in result["unknown"][0]
    assert result["rows"][0]["worked"] == 3


def test_spans_and_years_in_words():
    assert spans(((8, 9), (12, 12), (15, None))) == "8 to 9 years, or 12 years, or 15 years or more"
    assert (years_text(1), years_text(2)) == ("1 year", "2 years")


def test_what_is_stated_is_read_without_the_form():
    texts = dict(
        stated(
            one(0, "Larch", price_low=F(80), life_high=30, upkeep_every=1, residual=F(-40)), "USD"
        )
    )
    assert texts["First cost"] == "$100.00, at least $80.00"
    assert texts["Life"] == "20 years, at most 30 years"
    assert texts["Upkeep"] == "every year: not known, own hours: not known"
    assert texts["Replacement"] == "the first cost again, the first hours again"
    assert texts["Worth at the end"] == "−$40.00"


def test_more_than_a_picture_can_hold_is_never_drawn():
    assert answer_for(one(0, "Larch", price=F(0)), one(1, "Oak", price=F(0)))["picture"] is None
