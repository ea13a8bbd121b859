"""The exported workbook, worked out by other engines, gives the program's figures to the cent.

LibreOffice works out made-up builds (ten, in the long form two hundred), every fifth of them
with cells changed: what it then shows must be what the program reports of the changed workbook
read in. The formulas library, which takes about two seconds for a small build, works out one of
them; in the long form some more, the demo and the golden build, as LibreOffice always does.
"""

import io
from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from materials.calc.money import round_half_up, round_money
from materials.calc.prices import new_cost_of_one
from materials.calc.reports import CostSheet
from materials.exchange.cost_json import as_data
from materials.exchange.writer import write_workbook
from materials.management.commands.demo import load
from materials.models import Build
from materials.queries.reports import get_cost_sheet
from tests.golden.build import SHEETS as GOLDEN
from tests.searches import TIMES

from .changes import changed
from .recalculate import (
    SECTIONS,
    LibreOffice,
    by_libreoffice,
    by_python,
    figures,
    read_cells,
)
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
    rows = {"elements": elements, "components": components, **sections(sheet, report)}
    return {label: number(value) for label, value in found.items()} | {
        name: {label: [number(v) for v in row] for label, row in listed.items()}
        for name, listed in rows.items()
    }


def sections(sheet: CostSheet, report: dict[str, Any]) -> dict[str, dict[str, list[Any]]]:
    """Rows by source, task and person and what is still needed, each with its total."""

    def money(amount: Fraction | None) -> Decimal | None:
        return None if amount is None else round_money(amount, sheet.build.currency)

    def known(values: Iterable[Any]) -> Any:
        """The sum of what is known; None where nothing is."""
        listed = [value for value in values if value is not None]
        return sum(listed[1:], listed[0]) if listed else None

    moved = [] if sheet.moved_in is None else [sheet.moved_in]
    sources: dict[str, list[Any]] = {}
    for row in (*sheet.sources, *moved):
        label = "Moved in from other builds" if row in moved else row.source.capitalize()
        sources[label] = [row.cost, row.retail_equivalent, row.left_out]
    sources["Total"] = list(map(known, zip(*sources.values(), strict=True)))
    sources = {label: list(map(money, amounts)) for label, amounts in sources.items()}
    hours = Decimal(report["hours"]["total"])
    tasks = {row["task"]: [row["planned"], row["hours"]] for row in report["by_task"]}
    without = tasks.pop(None, [None, 0])[1]
    if tasks:
        planned = known(Decimal(plan) for plan, _ in tasks.values() if plan is not None)
        tasks |= {"Without a task": ["", without], "Total": [planned, hours]}
    persons = {row["person"]: [row["paid_out"], row["hours"]] for row in report["by_person"]}
    if persons:
        received = sum(part.received_cost for part in sheet.build.components)
        whole = [money(received), hours]
        named = [sum(map(Decimal, column)) for column in zip(*persons.values(), strict=True)]
        persons["Nobody by name"] = [w - n for w, n in zip(whole, named, strict=True)]
        persons["Total"] = whole
    needed, costs = {}, []
    for position in (row.position for row in sheet.components if row.position.still_needed):
        new = new_cost_of_one(position.component, sheet.build.retail_tax_share)
        ones = [position.average, new] if position.average is not None else [new, new]
        ones[1] = ones[0] if new is None else new
        costs.append([None if one is None else one * position.still_needed for one in ones])
        quantity = round_half_up(position.still_needed, 6)
        unit = position.component.unit
        needed[position.component.name] = [*map(money, costs[-1]), "", quantity, unit]
    if needed:
        needed["Total"] = [money(known(column)) for column in zip(*costs, strict=True)]
    return {"sources": sources, "tasks": tasks, "persons": persons, "needed": needed}


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
        if label in SECTIONS.values():
            continue
        if _as_held(shown.get(label, "absent")) != _as_held(value):
            found.append(f"{label}: shows {shown.get(label, 'absent')}, report {value}")
    more = shown.pop("more needed", 0)
    for kind in SECTIONS.values():
        for name, values in report[kind].items():
            if kind == "needed" and more and name not in shown[kind]:
                more -= 1
                continue
            cells = shown[kind].get(name, [])[: len(values)]
            if name == "No element":
                cells, values = cells[:3], values[:3]
            if cells != values:
                found.append(f"{kind} {name}: shows {cells}, report {values}")
    return found + [f"{more} more are said to be needed"] * bool(more)


@pytest.mark.office
@pytest.mark.parametrize("count", [4, pytest.param(20 * TIMES, marks=pytest.mark.slow)])
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
