"""The build's form: areas and rates written one a line."""

from datetime import date
from decimal import Decimal as D

import pytest

from materials.forms.builds import BuildForm, ElementForm
from materials.models import Build

PLAIN = {"name": "Shed", "currency": "USD", "distance_unit": "mi"}


def bound(**typed: str) -> BuildForm:
    return BuildForm(PLAIN | typed, build=Build())


def test_areas_and_rates_are_read():
    form = bound(
        floor_area="744 sq ft",
        other_areas="Wall  area = 900 sq ft\n\n Deck = 2.5 squares ",
        distance_rate="0.70",
        later_rates="2026-07-01 = 0.72",
    )
    assert form.is_valid(), form.errors
    assert form.areas() == [
        ("Floor area", D(744), "sq ft"),
        ("Wall area", D(900), "sq ft"),
        ("Deck area", D("2.5"), "square"),
    ]
    assert form.rates() == [(None, D("0.7")), (date(2026, 7, 1), D("0.72"))]
    assert form.values()["retail_tax_percent"] == 0
    assert form.values()["budget_amount"] is None


REFUSED = [
    ("floor_area", "744", "has no unit"),
    ("floor_area", "744 ft", "is no area"),
    ("floor_area", "0 sq ft", "is no area"),
    ("floor_area", "0.0000001 sq ft", "is no area"),
    ("envelope_area", "NaN sq ft", "no number"),
    ("other_areas", "900 sq ft", "enter it like Wall area = 900 sq ft"),
    ("other_areas", "= 900 sq ft", "enter it like"),
    ("other_areas", "Wall =", "enter it like"),
    ("other_areas", "Wall = 5 sq ft\nwall = 6 sq ft", "Two areas have the same name"),
    ("other_areas", "Élan = 5 sq ft\néLAN = 6 sq ft", "Two areas have the same name"),
    ("other_areas", "FLOOR AREA = 5 sq ft", "Two areas have the same name"),
    ("other_areas", f"{'x' * 61} = 5 sq ft", "at most 60"),
    ("other_areas", "Wa\x01ll = 5 sq ft", "invisible character"),
    ("later_rates", "2026-02-30 = 5", "Enter a date"),
    ("later_rates", "2026-07-01 = -5", "below zero"),
    ("later_rates", "2026-07-01 = 5\n2026-07-01 = 6", "same day"),
    ("budget_amount", "-1", "below zero"),
    ("contingency_percent", "101", "over 100"),
    ("retail_tax_percent", "NaN", "is not a number"),
    ("own_labour_rate", "inf", "is not a number"),
    ("distance_rate", "0.0000001", "more than 6"),
    ("currency", "XYZ", "XYZ"),
    ("distance_unit", "ell", "ell"),
    ("name", "a\x07b", "invisible character"),
    ("name", "a\ufffeb", "invisible character"),
    ("name", "", "Fill this in."),
]


@pytest.mark.parametrize(("field", "text", "words"), REFUSED)
def test_refused_at_the_field(field, text, words):
    form = bound(**{field: text})
    assert not form.is_valid()
    assert list(form.errors) == [field]
    assert words in " ".join(form.errors[field])


@pytest.mark.parametrize("text", ["Barn   board", " Barn board ", "Barn\nboard", "Barn\u00a0board"])
def test_names_are_tidied(text):
    form = bound(name=text)
    assert form.is_valid()
    assert form.cleaned_data["name"] == "Barn board"


def test_stored_areas_and_rates_are_shown_again(build):
    form = BuildForm(build=build, record=build)
    shown = {name: form[name].value() for name in ("floor_area", "distance_rate", "budget_amount")}
    assert shown == {"floor_area": "200 sq ft", "distance_rate": "0.7", "budget_amount": "5000"}
    assert 'value="5000"' in str(form["budget_amount"])


@pytest.mark.parametrize(
    ("code", "name"), [("B2010", "Exterior walls"), ("X10", "X10"), ("D", "Services")]
)
def test_an_element_without_a_name_takes_that_of_its_code(build, code, name):
    form = ElementForm({"code": code}, build=build)
    assert form.is_valid()
    assert form.cleaned_data["name"] == name
