"""What a line of an offer can be taken by, and what of it is refused."""

from fractions import Fraction

import pytest

from materials.calc.quantities import QuantityError
from materials.models import Component, PurchaseLine
from materials.queries.offer_terms import TermsError, check_terms, terms_of


def line(quantity="12 pieces", unit="piece", contents="", **values) -> PurchaseLine:
    part = Component(name="Board", unit=unit, contents=contents)
    given = {"unit_price": 6} | values
    return PurchaseLine(component=part, quantity_text=quantity, **given)


@pytest.mark.parametrize(
    ("made", "step", "most", "units"),
    [
        (line(), 1, 12, 1),
        (line(most_text="40 pieces"), 1, 40, 1),
        (line(most_text="45 pieces", step_text="12 pieces"), 12, 3, 12),
        (line("3 bundles", "sq ft", "1 bundle = 20 sq ft", price_per_text="sq ft"), 20, 3, 20),
        (line("3 bundles", "sq ft", "1 bundle = 20 sq ft"), 20, 3, 1),
        (line("60 sq ft", "sq ft", "1 bundle = 20 sq ft", step_text="bundle"), 20, 3, 20),
        (line("6.5 squares", "square"), Fraction(1, 2), 13, Fraction(1, 2)),
        (line("4 @ 2x8x12", "piece"), 1, 4, 1),
    ],
)
def test_steps(made, step, most, units):
    terms = terms_of(made)
    assert (terms.step, terms.most, terms.units) == (step, most, units)


def test_breaks_count_in_steps_and_hold_for_all_of_them():
    made = line(most_text="60", price_breaks="from 20: 5.00; 50 pieces at $4.50", step_text="6 ea")
    made.most_text = "60 pieces"
    assert terms_of(made).tiers == ((1, 6), (4, 5), (9, Fraction(9, 2)))


@pytest.mark.parametrize(
    ("values", "field", "words"),
    [
        ({"price_breaks": "cheap"}, "price_breaks", "enter it like 20 pieces: 5.00"),
        ({"price_breaks": "20: dear"}, "price_breaks", "is not a number"),
        ({"price_breaks": "20 lb: 5"}, "price_breaks", "contents"),
        ({"price_breaks": "20: 5"}, "price_breaks", "never reached"),
        ({"price_breaks": "10: 5", "most_text": "40 pieces"}, "price_breaks", "reaches 10"),
        ({"price_breaks": "20: 7", "most_text": "40 pieces"}, "price_breaks", "cheaper"),
        ({"price_breaks": "20: -7", "most_text": "40 pieces"}, "price_breaks", "below zero"),
        ({"price_breaks": "30: 5; 20: 4", "most_text": "40 pieces"}, "price_breaks", "smallest"),
        ({"most_text": "5 pieces"}, "most_text", "less than the quantity"),
        ({"most_text": "lots"}, "most_text", "lots"),
        ({"step_text": "13 pieces"}, "step_text", "more than there is"),
        ({"step_text": "0 pieces"}, "step_text", "more than zero"),
        ({"step_text": "armful"}, "step_text", "armful"),
        ({"step_text": "piece", "unit_price": None}, "step_text", "Enter a unit price"),
        ({"most_text": "40 pieces", "unit_price": None}, "most_text", "Enter a unit price"),
        ({"price_breaks": "20: 5", "unit_price": None}, "price_breaks", "Enter a unit price"),
    ],
)
def test_refusals_say_which_and_why(values, field, words):
    with pytest.raises(TermsError, match=words) as error:
        check_terms(line(**values))
    assert error.value.field == field


def test_nothing_stated_is_never_refused():
    check_terms(line(unit_price=None))
    with pytest.raises(QuantityError):
        terms_of(line("12 lb"))
