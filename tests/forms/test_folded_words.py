"""What stands folded away in the short form is said in words before it is saved."""

from datetime import date, time
from decimal import Decimal as D

import pytest

from materials.forms.short_form import OFFERED, LogForm
from materials.forms.short_form_values import folded_words
from materials.models import Build, Component

SHEET = Component(name="Roof sheet", unit="piece")
# By field of the form: what is typed, and what is said of it.
SAID = {
    "usable_percent": (D(85), "85% of it usable"),
    "premium_percent": (D(12), "buyer's premium 12%"),
    "tax_percent": (D(7), "sales tax 7%"),
    "distance_text": ("46", "46 mi of haulage"),
    "haulage_amount": (D(18), "haulage $18.00"),
    "expected_hours": (D("2.5"), "2.5 h expected"),
    "ends_on": (date(2026, 5, 8), "ends on 8 May 2026"),
    "ends_time": (time(18), "ends at 18:00"),
    "fetch_on": (date(2026, 5, 9), "fetch by 9 May 2026"),
    "fetch_time": (time(9, 30), "fetch by 9:30"),
    "obtained_by": ("dismantled", "obtained by: dismantled"),
    "origin_year": (1931, "taken from something built in 1931"),
    "through_fire": (True, "been through a fire"),
    "new_price": (D("7.50"), "$7.50 per piece saved as its new price of that day"),
}
# Said in a sentence of their own, with the new price, or long enough to be seen in their box.
SAID_ELSEWHERE = {"state", "bought_on", "paid_by", "new_per_text", "traits", "note"}


def test_every_field_that_may_be_folded_away_is_here(build):
    form = LogForm(build=build)
    assert {*form.folded, *OFFERED} == {*SAID, *SAID_ELSEWHERE}


@pytest.mark.parametrize("name", SAID)
def test_a_field_that_is_folded_away_is_said(name):
    typed, words = SAID[name]
    values = {"component": SHEET, name: typed}
    assert folded_words(values, Build(currency="USD", distance_unit="mi")) == f"With {words}."


def test_nothing_folded_away_says_nothing():
    assert folded_words({"component": SHEET, "usable_percent": D(100)}, Build()) == ""
