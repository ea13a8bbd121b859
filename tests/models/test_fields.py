"""The fixed-point field: exact in the database, Decimal in Python, no float anywhere."""

from decimal import Decimal as D

import pytest
from django.core.exceptions import ValidationError
from django.db import connection
from django.db.models import F, Max, Min, Q, Sum

from materials.fields import FixedPointField, HoursField, MoneyField, PercentField, QuantityField
from materials.models import Component, Element, LabourEntry
from tests.entries import DAY

MONEY = MoneyField()
MONEY.set_attributes_from_name("price_amount")


@pytest.mark.parametrize(
    ("field", "places"),
    [
        (MoneyField(), 4),
        (QuantityField(), 6),
        (PercentField(), 4),
        (HoursField(), 4),
        (FixedPointField(places=2), 2),
    ],
    ids=lambda value: type(value).__name__,
)
def test_places_of_each_kind(field, places):
    least = D(1).scaleb(-places)
    assert field.get_prep_value(least) == 1
    assert field.from_db_value(1, None, connection) == least
    assert field.deconstruct()[3]["places"] == places
    with pytest.raises(ValueError, match=f"more than {places} places"):
        field.get_prep_value(least / 10)


@pytest.mark.parametrize("value", [0.1, 2.0, float("nan")])
def test_a_float_is_refused(value):
    with pytest.raises(TypeError, match="price_amount: float given"):
        MONEY.get_prep_value(value)
    with pytest.raises(ValidationError, match="binary fraction"):
        MONEY.to_python(value)


@pytest.mark.parametrize("value", ["nan", "Infinity", "-Infinity", "sNaN"])
def test_what_is_no_number_is_refused(value):
    with pytest.raises((ValueError, ArithmeticError)):
        MONEY.get_prep_value(D(value))


@pytest.mark.parametrize("value", ["", "abc", "1,5", [], {}])
def test_what_cannot_be_read_is_refused_in_a_sentence(value):
    with pytest.raises(ValidationError, match=r"Enter a number like 12\.50\."):
        MONEY.to_python(value)


@pytest.mark.parametrize(
    ("given", "scaled"),
    [(None, None), (0, 0), (5, 50000), (D("-0.0001"), -1), (D("12.50000"), 125000), ("3.2", 32000)],
)
def test_stored_as_a_scaled_integer(given, scaled):
    assert MONEY.get_prep_value(given) == scaled


def test_more_places_are_refused_not_rounded():
    with pytest.raises(ValueError, match=r"0\.00001 has more than 4 places"):
        MONEY.get_prep_value(D("0.00001"))


@pytest.mark.parametrize("value", ["0", "0.0001", "-12.3456", "922337203685477.5807", None])
def test_a_decimal_comes_back_as_it_was(build, value):
    given = None if value is None else D(value)
    element = Element.objects.create(build=build, code="X1", name="X", budget_amount=given)
    element.refresh_from_db()
    assert element.budget_amount == given
    assert isinstance(element.budget_amount, D | None)
    with connection.cursor() as cursor:
        cursor.execute("SELECT budget_amount FROM materials_element WHERE code = 'X1'")
        (stored,) = cursor.fetchone()
    assert stored == (None if given is None else int(given * 10000))


@pytest.fixture
def tenths(build):
    """Thirty budgets of 0.10 and three of 0.30."""
    Element.objects.bulk_create(
        Element(build=build, code=f"T{n}", name="T", budget_amount=D("0.10")) for n in range(30)
    )
    Element.objects.bulk_create(
        Element(build=build, code=f"U{n}", name="U", budget_amount=D("0.30")) for n in range(3)
    )
    return Element.objects.filter(build=build, code__regex="^[TU][0-9]")


def test_sums_are_exact(tenths):
    total = tenths.filter(code__startswith="T").aggregate(total=Sum("budget_amount"))["total"]
    assert total == D("3.00")
    assert isinstance(total, D)
    assert tenths.aggregate(total=Sum("budget_amount"))["total"] == D("3.90")
    assert tenths.none().aggregate(total=Sum("budget_amount"))["total"] is None
    assert tenths.aggregate(least=Min("budget_amount"), most=Max("budget_amount")) == {
        "least": D("0.10"),
        "most": D("0.30"),
    }


def test_filters_find_what_is_equal(tenths):
    assert tenths.filter(budget_amount=D("0.30")).count() == 3
    assert tenths.filter(budget_amount=D("0.3000")).count() == 3
    assert tenths.filter(budget_amount__in=[D("0.1"), D("0.3")]).count() == 33
    assert tenths.filter(budget_amount__gt=D("0.10")).count() == 3
    assert tenths.filter(budget_amount__range=(D("0.05"), D("0.2"))).count() == 30
    assert tenths.filter(budget_amount__isnull=True).count() == 0
    assert tenths.filter(Q(budget_amount=None) | Q(budget_amount=0)).count() == 0


def test_columns_compare_with_each_other(entries):
    entries.labour("Ann", D("0.30"), paid_amount=D("0.30"))
    entries.labour("Ann", D("0.30"), paid_amount=D("0.29"))
    entries.labour("Ann", D("0.30"))
    assert LabourEntry.objects.filter(paid_amount=F("hours")).count() == 1
    assert LabourEntry.objects.filter(paid_amount__lt=F("hours")).count() == 1
    LabourEntry.objects.filter(paid_amount=None).update(paid_amount=F("hours"))
    assert LabourEntry.objects.filter(paid_amount=F("hours")).count() == 2


def test_update_and_bulk_create_refuse_what_save_refuses(build):
    with pytest.raises(TypeError):
        build.elements.update(budget_amount=0.1)
    with pytest.raises(ValueError, match="more than 4 places"):
        build.elements.update(budget_amount=D("0.00001"))
    with pytest.raises(TypeError):
        Component.objects.bulk_create([Component(build=build, name="x", required_qty=1.5)])


def test_text_for_the_history_reads_back(entries):
    entry = entries.labour("Ann", D("1.2500"))
    field = LabourEntry._meta.get_field("hours")
    assert field.to_python(field.value_to_string(entry)) == D("1.25")
    assert LabourEntry._meta.get_field("paid_amount").value_to_string(entry) is None
    assert entry.worked_on == DAY
