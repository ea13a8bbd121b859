"""The golden build, imported and reported: every figure against the one worked by hand."""

import json
from collections.abc import Iterator
from decimal import Decimal
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command
from openpyxl import Workbook

from tests.golden.build import NAME, SHEETS
from tests.golden.expected import EXPECTED
from tests.golden.worked import LANDED

# Rows of a list are told apart by this key, so that one row too many or too few does not
# make every row after it differ.
ROW_KEYS = {"by_element": "code", "by_task": "task", "by_person": "person"}
ROW_KEYS |= {"components": "component"}

_reports: dict[str, Any] = {}


def write_sheets(path: Path) -> None:
    workbook = Workbook()
    workbook.remove(workbook.worksheets[0])
    for title, rows in SHEETS.items():
        sheet = workbook.create_sheet(title)
        for row in rows:
            sheet.append(row)
    workbook.save(path)


def no_floats(text: str) -> Any:
    raise AssertionError(f"the report holds the bare number {text}; it must be a string")


@pytest.fixture
def report(db: None, tmp_path: Path) -> Any:
    """The printed report; made once, for nothing in it changes between the tests."""
    if NAME not in _reports:
        path = tmp_path / "golden.xlsx"
        write_sheets(path)
        call_command("import_sheet", str(path), "--build", NAME, stdout=StringIO())
        out = StringIO()
        call_command("cost_report", "--build", NAME, "--json", stdout=out)
        _reports[NAME] = json.loads(out.getvalue(), parse_float=no_floats)
    return _reports[NAME]


def differences(expected: Any, actual: Any, where: str, row_key: str = "") -> Iterator[str]:
    """One line for each figure that is not as expected, named by its path."""
    if isinstance(expected, dict) and isinstance(actual, dict):
        for key in [*expected, *(key for key in actual if key not in expected)]:
            path = f"{where}.{key}"
            if key not in actual:
                yield f"{path}: missing, expected {expected[key]!r}"
            elif key not in expected:
                yield f"{path}: not expected, is {actual[key]!r}"
            else:
                yield from differences(expected[key], actual[key], path)
    elif isinstance(expected, list) and isinstance(actual, list) and row_key:
        order = [row[row_key] for row in expected], [row.get(row_key) for row in actual]
        if order[0] != order[1]:
            yield f"{where}: rows are {order[1]}, expected {order[0]}"
        rows = {row.get(row_key): row for row in actual}
        for row in expected:
            name = row[row_key]
            if name in rows:
                yield from differences(row, rows[name], f"{where}[{name}]")
    elif type(expected) is not type(actual) or expected != actual:
        yield f"{where}: is {actual!r}, expected {expected!r}"


@pytest.mark.parametrize("key", list(EXPECTED))
def test_figures_are_those_worked_by_hand(report: Any, key: str) -> None:
    assert key in report, f"{key} is missing from the report"
    found = list(differences(EXPECTED[key], report[key], key, ROW_KEYS.get(key, "")))
    assert not found, "\n" + "\n".join(found)


def test_report_has_exactly_the_expected_keys(report: Any) -> None:
    assert sorted(report) == sorted(EXPECTED)


# The sheets and the figures by themselves.


def test_cells_are_text_whole_numbers_decimals_or_blank() -> None:
    cells = [cell for rows in SHEETS.values() for row in rows for cell in row]
    assert {type(cell) for cell in cells} == {str, int, Decimal, type(None)}


def test_landed_costs_sum_to_received_and_ordered() -> None:
    totals = {number: sum(map(Decimal, parts)) for number, parts in LANDED.items()}
    by_source = sum(Decimal(row["cost"]) for row in EXPECTED["by_source"].values())
    assert totals.pop(7) == Decimal(EXPECTED["committed"])
    assert sum(totals.values()) == by_source == Decimal("1235.88")


def test_balances_cancel_and_hours_add_up() -> None:
    people = EXPECTED["by_person"]
    conversion_hours = Decimal("6.75")
    total = Decimal(EXPECTED["hours"]["total"])
    assert sum(Decimal(row["balance"]) for row in people) == 0
    assert sum(Decimal(row["hours"]) for row in people) + conversion_hours == total
    assert sum(Decimal(row["hours"]) for row in EXPECTED["by_task"]) == total


def test_differences_name_the_figure() -> None:
    wrong = [{"code": "A10", "cost": "1.00"}, {"code": "", "cost": None}]
    right = [{"code": "A10", "cost": "1.01"}, {"code": "", "cost": None}]
    assert list(differences(right, right, "by_element", "code")) == []
    assert list(differences(right, wrong, "by_element", "code")) == [
        "by_element[A10].cost: is '1.00', expected '1.01'"
    ]
    assert next(differences(right, wrong[:1], "by_element", "code")) == (
        "by_element: rows are ['A10'], expected ['A10', '']"
    )
