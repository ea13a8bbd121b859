"""The exported workbook, worked out by other engines, gives the program's figures to the cent.

LibreOffice works out made-up builds (ten, in the long form two hundred), every fifth of them
with cells changed: what it then shows must be what the program reports of the changed workbook
read in. The formulas library, which takes about two seconds for a small build, works out one of
them; in the long form some more, the demo and the golden build, as LibreOffice always does.
"""

import io
from decimal import Decimal
from typing import Any

import pytest

from materials.calc.money import round_money
from materials.exchange.cost_json import as_data
from materials.exchange.writer import write_workbook
from materials.management.commands.demo import load
from materials.models import Build
from materials.queries.reports import get_cost_sheet
from tests.golden.build import SHEETS as GOLDEN

from .changes import changed
from .recalculate import LibreOffice, by_libreoffice, by_python, figures, read_cells
from .small import DAY, bring_in, small_sheets
from .varied import varied_sheets

pytestmark = pytest.mark.django_db

CHIEF = {
    "Material cost": "material_cost",
    "Retail equivalent": "retail_equivalent",
    "Savings": "savings",
    "Spent": "spent",
    "Committed": "committed",
    "Remaining": "remaining",
    "Savings, %": "savings_percent",
    "Savings after own labour": "savings_after_own_labour",
    "Saved per extra hour": "saved_per_extra_hour",
    "Paid labour": "paid_labour",
    "Own labour at the stated rate": "own_labour_value",
    "Budget, contingency apart": "budget",
    "Contingency": "contingency",
}
AREA = {"Cost": "cost", "Cost with own labour": "cost_with_own_labour"}
AREA |= {"Retail equivalent": "retail_equivalent"}


def export(build: Build) -> bytes:
    stream = io.BytesIO()
    write_workbook(build, stream, DAY)
    return stream.getvalue()


def expected(build: Build) -> dict[str, Any]:
    """The report of a build under the labels of the cost sheet."""
    sheet = get_cost_sheet(build, DAY)
    report = as_data(sheet)
    # What is known of a cost stands on the component's row, whether or not all of it is known.
    known = {
        row.position.component.name: round_money(row.position.known_money, build.currency)
        for row in sheet.components
    }
    found = {label: report[key] for label, key in CHIEF.items()}
    for name, area in report["areas"].items():
        if area["area"] is not None:
            for label, key in AREA.items():
                found[f"{label} per {area['unit']} of {name} area"] = area[key]
    found["Hours, all kinds"] = report["hours"]["total"]
    found |= {f"Forecast, {end} end": report["forecast"][end] for end in ("low", "high")}
    found["Components left out for want of a new price"] = report["unpriced"]["components"]
    found["Still needed without any price, left out of the forecast"] = len(
        report["forecast"].get("left_out", ())
    )
    found["Their material cost"] = report["unpriced"]["cost"]
    found["All changes in this workbook are followed here"] = "yes"
    elements = {
        f"{row['code']} {row['name']}".strip(): [
            row["cost"], row["retail_equivalent"], row["savings"], row["budget"],
        ]
        for row in report["by_element"]
    }  # fmt: skip
    components = {
        row["component"]: [
            row["cost"], row["retail_equivalent"], row["savings"], row["in_building"],
            row["unit"], row["average_landed_cost"], known[row["component"]],
        ]
        for row in report["components"]
    }  # fmt: skip
    return {label: number(value) for label, value in found.items()} | {
        "elements": {name: [number(v) for v in row] for name, row in elements.items()},
        "components": {name: [number(v) for v in row] for name, row in components.items()},
    }


def number(value: Any) -> Any:
    try:
        return Decimal(value)
    except (ArithmeticError, TypeError, ValueError):
        return value


def _as_held(result: str) -> str | Decimal:
    """A figure as a spreadsheet can hold it: 15 digits (IEEE 754 double precision)."""
    try:
        value = Decimal(result)
    except (ArithmeticError, TypeError, ValueError):
        return result
    digits = len(value.as_tuple().digits)
    return round(value, 15 - digits - value.as_tuple().exponent) if digits > 15 else value


def differences(build: Build, rows: list[list[Any]]) -> list[str]:
    """One line for each figure of the report that the sheet does not show."""
    shown, report = figures(rows), expected(build)
    found = []
    for label, value in report.items():
        if label in ("elements", "components"):
            continue
        if _as_held(shown.get(label, "absent")) != _as_held(value):
            found.append(f"{label}: shows {shown.get(label, 'absent')}, report {value}")
    for kind in ("elements", "components"):
        for name, values in report[kind].items():
            cells = shown[kind].get(name, [])[: len(values)]
            if name == "No element":
                cells, values = cells[:3], values[:3]
            if cells != values:
                found.append(f"{kind} {name}: shows {cells}, report {values}")
    return found


@pytest.mark.office
@pytest.mark.parametrize("count", [10, pytest.param(200, marks=pytest.mark.slow)])
def test_builds_some_of_them_changed_by_libreoffice(count, tmp_path):
    office, builds, values = LibreOffice(tmp_path), {}, {}
    for seed in range(count):
        build, key = bring_in(varied_sheets(seed), name=f"Build {seed}"), f"b{seed:03}"
        data = export(build)
        if seed % 5 == 1:
            data, values[key] = changed(data, seed)
            build = bring_in(data, name=f"Changed {seed}")
        builds[key] = build
        office.add(key, data)
    shown = office.cost_sheets()
    wrong = {key: differences(build, shown[key]) for key, build in builds.items()}
    wrong = {key: lines for key, lines in wrong.items() if lines}
    assert not wrong, [(key, values.get(key), lines) for key, lines in wrong.items()][:5]
    # The changes must have reached every sheet, or the test says less than it seems to.
    sheets = {line.split()[0] for lines in values.values() for line in lines}
    assert count < 100 or sheets >= {
        "Purchases",
        "Charges",
        "Components",
        "Conversions",
        "Left",
        "Build",
    }


@pytest.fixture
def demo() -> Build:
    load()
    return Build.objects.order_by("pk").first()


def worked_out(data: bytes) -> list[list[Any]]:
    """The cost sheet by the Python engine."""
    rows = len(read_cells(data, "Cost sheet")["Cost sheet"])
    return by_python(data, "Cost sheet", rows, 8)


@pytest.fixture
def golden() -> Build:
    return bring_in({title: [list(row) for row in rows] for title, rows in GOLDEN.items()})


@pytest.fixture(params=["demo", "golden"])
def known(request) -> Build:
    return request.getfixturevalue(request.param)


@pytest.mark.office
def test_the_demo_and_the_golden_build_by_libreoffice(known):
    assert differences(known, by_libreoffice(export(known))) == []


@pytest.mark.slow
def test_the_demo_and_the_golden_build_by_the_python_engine(known):
    assert differences(known, worked_out(export(known))) == []


@pytest.mark.parametrize("seed", [0, *(pytest.param(n, marks=pytest.mark.slow) for n in (1, 2, 3))])
def test_builds_by_the_python_engine(seed):
    build = bring_in(varied_sheets(seed), name="As written")
    data, result = changed(export(build), seed)
    assert differences(bring_in(data, name="Changed"), worked_out(data)) == [], result


def test_results_stand_beside_the_formulas():
    """A preview that calculates nothing shows the figures all the same."""
    build = bring_in(small_sheets())
    data = export(build)
    assert differences(build, read_cells(data, "Cost sheet")["Cost sheet"]) == []
