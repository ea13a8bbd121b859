"""A build typed into the screens and the same build imported give the same report."""

from datetime import date
from io import BytesIO

import pytest
from openpyxl import Workbook

from materials.exchange.cost_json import as_data
from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.models import Build
from materials.queries.checks import find_differences
from materials.queries.reports import get_cost_sheet
from materials.services.imports import import_plan
from tests.golden.build import SHEETS
from tests.golden.expected import EXPECTED
from tests.golden.test_golden_build import ROW_KEYS, differences
from tests.views.typist import Typist

ON = date(2026, 12, 31)


def workbook() -> bytes:
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, rows in SHEETS.items():
        sheet = book.create_sheet(title)
        for row in rows:
            sheet.append(row)
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


@pytest.fixture
def typed(owner) -> Build:
    """The golden build, typed form by form."""
    return Build.objects.get(pk=Typist(owner, SHEETS).type_build())


@pytest.fixture
def imported(cast) -> Build:
    """The golden build, read from a workbook."""
    checked = check_book(read_workbook(workbook()), name="Imported")
    assert checked.faults == ()
    return import_plan(actor=cast["owner"], plan=checked.plan, owner=cast["owner"])


def report(build: Build) -> dict:
    data = as_data(get_cost_sheet(build, ON))
    del data["build"]
    return data


def test_typed_and_imported_reports_are_the_same_and_as_worked_by_hand(typed, imported):
    by_screens, by_workbook = report(typed), report(imported)
    expected = {key: value for key, value in EXPECTED.items() if key != "build"}
    assert by_screens.keys() == by_workbook.keys() == expected.keys()
    for key, value in expected.items():
        order = ROW_KEYS.get(key, "")
        found = [
            *(
                f"imported and typed: {text}"
                for text in differences(by_workbook[key], by_screens[key], key)
            ),
            *(
                f"by hand and typed: {text}"
                for text in differences(value, by_screens[key], key, order)
            ),
        ]
        assert not found, "\n" + "\n".join(found)
    assert list(find_differences(typed)) == list(find_differences(imported)) == []
