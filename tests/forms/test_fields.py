"""Fields read what people type, or say in one sentence what to fix."""

from datetime import date
from decimal import Decimal as D

import pytest
from django.core.exceptions import ValidationError

from materials.forms.fields import (
    ContentsText,
    DayField,
    HoursInput,
    MoneyInput,
    NumberField,
    OriginYear,
    PercentInput,
    QuantityText,
    UnitField,
    UnitPriceField,
    plain,
)

LIFE = NumberField(places=2, what="The life", required=False)
TAKEN = [
    (MoneyInput(), "12.50", D("12.50")),
    (MoneyInput(), " $1,250.00 ", D(1250)),
    (MoneyInput(), "0,85", D("0.85")),
    (MoneyInput(), "free", D(0)),
    (MoneyInput(), "0", D(0)),
    (MoneyInput(required=False), "", None),
    (MoneyInput(required=False), "   ", None),
    (MoneyInput(least=None), "-3", D(-3)),
    (MoneyInput(least=None), "−3", D(-3)),
    (UnitPriceField(), "0.000001", D("0.000001")),
    (PercentInput(), "8.25 %", D("8.25")),
    (PercentInput(), "100%", D(100)),
    (HoursInput(), "1.5", D("1.5")),
    (HoursInput(), "1:30", D("1.5")),
    (HoursInput(), "0:20", D("0.3333")),
    (HoursInput(), "45 min", D("0.75")),
    (HoursInput(), "2 hrs", D(2)),
    (HoursInput(), "2h", D(2)),
    (HoursInput(), "2 Hours", D(2)),
    (HoursInput(), "2h30", D("2.5")),
    (HoursInput(), "2 h 30", D("2.5")),
    (HoursInput(), "2 h 30 min", D("2.5")),
    (HoursInput(), "1 hour 20 minutes", D("1.3333")),
    (HoursInput(), "0h05m", D("0.0833")),
    (HoursInput(), "1,5 h", D("1.5")),
    (HoursInput(), "90 min", D("1.5")),
    (HoursInput(), "3 1/2", D("3.5")),
    (HoursInput(), "3½", D("3.5")),
    (HoursInput(), "1/2", D("0.5")),
    (HoursInput(), "3 ½ h", D("3.5")),
    (HoursInput(), "Two Hours", D(2)),
    (HoursInput(), "9999:59", D("9999.9833")),
    (LIFE, "12.25", D("12.25")),
    (QuantityText(), "  16   @ 2x8x12 ", "16 @ 2x8x12"),
    (QuantityText(required=False), "", ""),
    (UnitField(), "feet", "ft"),
    (ContentsText(required=False), "", ""),
    (DayField(), "2026-02-28", date(2026, 2, 28)),
    (DayField(required=False), "", None),
]


@pytest.mark.parametrize(("field", "text", "value"), TAKEN, ids=lambda v: str(v)[:20])
def test_taken(field, text, value):
    assert field.clean(text) == value


NO_NUMBER = [
    "NaN",
    "inf",
    "-Infinity",
    "1e400",
    "9" * 400,
    "abc",
    "1.2.3",
    "--1",
    "0x10",
    "1/2",
    "$",
]
REFUSED = [
    *[(MoneyInput(), text, "") for text in NO_NUMBER],
    *[(PercentInput(), text, "") for text in [*NO_NUMBER, "%"]],
    *[
        (HoursInput(), text, "")
        for text in [*set(NO_NUMBER) - {"1/2"}, "h", ":", "1:60", "1:2:3", "min"]
    ],
    (MoneyInput(), "", "Enter a number."),
    (MoneyInput(), "-0.01", "The amount cannot be below zero."),
    (MoneyInput(), "1000000000", "too large"),
    (MoneyInput(), "0.00001", "more than 4 decimal places"),
    (UnitPriceField(), "0.0000001", "more than 6 decimal places"),
    (PercentInput(), "100.0001", "cannot be over 100"),
    (
        PercentInput(what="The usable share"),
        "101",
        "The usable share cannot be over 100: enter 0 to 100, for example 85 or 85%.",
    ),
    (
        PercentInput(what="The usable share"),
        "most of it",
        "“most of it” is not a number: enter 0 to 100, for example 85 or 85%.",
    ),
    (PercentInput(most=D(1000)), "x %", "“x %” is not a number: enter 0 to 1000"),
    *[(field, "9" * 30, "too large") for field in (MoneyInput(), HoursInput(), PercentInput())],
    *[(field, "9" * 400, "too large") for field in (MoneyInput(), HoursInput(), LIFE)],
    (MoneyInput(), "NaN", "The amount “NaN” is not a number: enter it like 12.50 (0 is free)."),
    (MoneyInput(required=False), "some", "or leave it empty if not known (0 is free)."),
    (
        HoursInput(),
        "NaN",
        "The hours “NaN” are not understood: enter them like 1.5, 1:30, 45 min or 2 h 30.",
    ),
    (HoursInput(), "1:90", "“1:90” are not understood: enter them like 1.5, 1:30"),
    (HoursInput(), "2 h 75", "“2 h 75” are not understood"),
    (HoursInput(), "Some Hours", "“Some Hours” are not understood"),
    (HoursInput(), "x" * 200, "too long: enter them like 1.5"),
    (HoursInput(), "", "Say how many hours: enter them like 1.5, 1:30, 45 min or 2 h 30."),
    (OriginYear(), "sixties", "enter it with four digits, like 1962."),
    (PercentInput(least=D(-100)), "-101", "cannot be below -100"),
    (HoursInput(), "10000.5", "cannot be over 10000"),
    (HoursInput(), "10001:00", "cannot be over 10000"),
    # Read as far as six digits these would pass for a few hours.
    (HoursInput(), "1234567 min", ""),
    (HoursInput(), "0000001:30", ""),
    (LIFE, "1.005", "more than 2 decimal places"),
    (OriginYear(), "1962.5", "The year must be a whole number: enter it without a fraction."),
    (QuantityText(), "35", "has no unit"),
    (QuantityText(), "35 banana", "banana"),
    (QuantityText(), "-3 gal", "negative"),
    (QuantityText(), "NaN gal", ""),
    (QuantityText(), "inf gal", ""),
    (QuantityText(), "1e9 gal", "exponent"),
    (QuantityText(), "9" * 110 + " gal", "too long"),
    (QuantityText(), "1/0 gal", "divides by zero"),
    (QuantityText(), "gal", ""),
    (QuantityText(), "3 gal\u200b", ""),
    (UnitField(), "banana", "banana"),
    (UnitField(), "meter; 1", ""),
    (ContentsText(), "1 piece", ""),
    (ContentsText(), "1 piece = 0 ft", ""),
    (ContentsText(), "piece piece piece", ""),
    (DayField(), "2026-02-30", "Enter a date"),
    (DayField(), "yesterday", "Enter a date"),
    (DayField(), "0001-01-01", "between 1900 and 2200"),
    (DayField(), "99999-01-01", "Enter a date"),
    (DayField(), "04/03/2026", "Enter a date"),
    (DayField(), "", "Enter a date."),
]


@pytest.mark.parametrize(("field", "text", "words"), REFUSED, ids=lambda v: str(v)[:20])
def test_refused_in_one_sentence(field, text, words):
    with pytest.raises(ValidationError) as refused:
        field.clean(text)
    (result,) = refused.value.messages
    assert words in result
    assert result.endswith((".", "?"))
    assert len(result) < 250


@pytest.mark.parametrize("field", [MoneyInput(), HoursInput(), QuantityText(), UnitField()])
@pytest.mark.parametrize("text", ["\x00", "a\x00b", "x" * 10_000])
def test_null_and_endless_texts_are_refused(field, text):
    with pytest.raises(ValidationError):
        field.clean(text)


@pytest.mark.parametrize(
    ("value", "text"), [("1.500000", "1.5"), ("100", "100"), ("0.0000", "0"), ("1E+3", "1000")]
)
def test_stored_numbers_are_shown_plainly(value, text):
    assert plain(D(value)) == text
    assert MoneyInput().prepare_value(D(value)) == text
