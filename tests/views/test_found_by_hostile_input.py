"""What hostile input found, each mended: the smallest case of it."""

import io
import time
from decimal import Decimal

import pytest
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from materials.calc.money import MoneyError
from materials.calc.price_text import read_price_words
from materials.exchange.backups import write_build
from materials.exchange.reader import read_workbook
from materials.fields import QuantityField
from materials.services.builds import save_build
from tests.imports.steps import as_text, bring


@pytest.mark.parametrize("result", ["x", "-1", "1.5", "²", "9" * 19, "9" * 5000])
@pytest.mark.parametrize("method", ["get", "post"])
def test_a_stated_length_that_is_no_number_is_a_request_not_understood(
    result, method, clients, build
):
    url = reverse("component_add", args=[build.pk])
    answer = getattr(clients["owner"], method)(url, CONTENT_LENGTH=result)
    assert answer.status_code == 400
    assert "could not be read" in answer.content.decode()


def test_contents_that_contradict_what_is_known_are_told_at_their_field(clients, entries):
    """Also where a new price asks for them once more."""
    entries.component("Board", contents="1 piece = 16 ft")
    typed = {
        "what": "Board",
        "quantity_text": "2 pieces",
        "contents": "1 piece = 12 ft",
        "new_price": "4",
        "price": "1",
        "price_for": "each",
        "source": "salvage",
        "bought_on": "2026-05-04",
        "state": "received",
        "usable_percent": "100",
    }
    answer = clients["owner"].post(reverse("log", args=[entries.build.pk]), typed)
    assert answer.status_code == 422
    assert "state in two different ways how pieces and feet compare" in answer.content.decode()


def test_what_one_holds_is_read_from_a_table_of_components(entries):
    rows = [["Item", "Unit", "What one holds"], ["Sash", "piece", "1 piece = 3 sq ft"]]
    bring(entries, as_text(rows), columns={"What one holds": "contents"})
    assert entries.build.components.get(name="Sash").contents == "1 piece = 3 sq ft"


@pytest.mark.parametrize("label", ["Porch", "Deck AREA", "Budget", "Name"])
def test_an_area_of_any_name_stands_in_the_workbook(label, clients, entries):
    save_build(**entries.by, values={}, areas=[(label, Decimal(60), "sq ft")])
    answer = clients["owner"].get(reverse("download", args=[entries.build.pk]))
    assert answer.status_code == 200
    book = read_workbook(io.BytesIO(b"".join(answer)))
    values = {row.cells[0]: row.cells[1] for row in book.sheets["Build"].rows}
    title = label if label.lower().endswith(" area") else f"{label} area"
    assert values[title] == "60 sq ft"
    assert values["Name"] == "Hill shed"


@pytest.mark.parametrize("unit", ["apple", "/3 apple"])
def test_a_sentence_about_a_price_of_thousands_of_digits_stays_a_sentence(unit):
    with pytest.raises(MoneyError) as error:
        read_price_words("9" * 5000 + unit)
    assert len(str(error.value)) < 300


def test_a_build_whose_file_names_a_place_before_its_beginning_is_damaged(clients, build):
    stream = io.BytesIO()
    write_build(build, stream)
    data = bytearray(stream.getvalue())
    # Of the last record, the end of the directory: where the directory begins.
    place = data.rindex(b"PK\x05\x06") + 16
    at = int.from_bytes(data[place : place + 4], "little")
    data[place : place + 4] = (at + 5000).to_bytes(4, "little")
    file = SimpleUploadedFile("a.zip", bytes(data))
    answer = clients["owner"].post(reverse("build_file_new"), {"file": file})
    assert answer.status_code == 422
    assert "damaged" in answer.content.decode()


@pytest.mark.parametrize("value", ["1e400000", "-1e99999999", "1e-400000", "NaN", "Infinity"])
def test_a_number_with_a_huge_exponent_is_refused_before_it_is_written_out(value):
    """It stands in a few bytes of a build's file, and would keep the server busy for a day."""
    began = time.process_time()
    field = QuantityField()
    with pytest.raises(ValidationError, match="Enter a number"):
        field.to_python(value)
    with pytest.raises((ValueError, ArithmeticError)):
        field.get_prep_value(Decimal(value))
    assert time.process_time() - began < 0.5
