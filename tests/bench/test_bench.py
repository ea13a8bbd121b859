"""The bench itself: every case runs, small, and gives rows that say what they are of."""

import json
import subprocess
import sys

import pytest

from tests.bench.__main__ import cases, parse
from tests.bench.measure import Row, percentile, ratio_row
from tests.bench.world import ROOT, child_environment

# Each with what its rows tell, at the least.
CASES = {
    "sheet": ["bare aggregate", "growth of the page"],
    "lists": ["purchases,", "purchase_lines,", "labour,", "history,"],
    "find": ["page of purchases"],
    "many": ["in a database alone"],
    "export": ["openpyxl writing the same cells", "peak memory"],
    "import": ["bare bulk insert"],
    "purchase": ["bare INSERT", "waits for the disk", "purchase among"],
    "load": ["3 users thinking", "not thinking at all", "with a fault", "acknowledged", "differ"],
    "carry": ["people at once", "requests a second", "with a fault"],
    "office": ["by LibreOffice"],
}


def test_every_case_is_tried_here():
    assert set(CASES) == set(cases())


@pytest.mark.parametrize(
    "names",
    [pytest.param(list(CASES), marks=[pytest.mark.slow, pytest.mark.office])],
    ids=["all"],
)
def test_cases_run_and_give_their_rows(names, tmp_path):
    """In a process and a database of their own, one behind the other, as they are run by hand."""
    written = tmp_path / "rows.json"
    chosen = [word for name in names for word in ("--case", name)]
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench", "--quick", *chosen, "--json", str(written)],
        cwd=ROOT,
        env={k: v for k, v in child_environment().items() if k != "DATABASE_URL"},
        capture_output=True,
        text=True,
        timeout=600,
        check=False,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    result = json.loads(written.read_text(encoding="utf-8"))
    assert {"cores", "processor", "python", "database"} <= set(result["machine"])
    for name in names:
        rows = [row["what"] for row in result["rows"] if row["case"] == name]
        for part in CASES[name]:
            assert any(part in row for row in rows), (part, rows)
    assert not any(row["is_over"] for row in result["rows"])
    assert all(row["lowest"] <= row["value"] <= row["highest"] for row in result["rows"])


def test_a_limit_that_is_exceeded_is_said():
    pairs = [(2.0, 1.0), (4.0, 1.0), (3.0, 1.0)]
    row = ratio_row("case", "what", pairs, limit=2.5)
    assert (row.value, row.lowest, row.highest, row.is_over) == (3, 2, 4, True)
    assert "OVER 2.5" in row.as_line()
    assert not ratio_row("case", "what", pairs, limit=3).is_over
    assert not Row("case", "what", 9, 9, 9).is_over


def test_95_of_100_answers_were_not_slower():
    assert percentile([n / 1 for n in range(1, 101)], 0.95) == 95
    assert percentile([3.0, 1.0, 2.0], 0.95) == 3
    assert percentile([5.0], 0.95) == 5


def test_options():
    read = parse(["--case", "sheet", "--case", "many", "--lines", "500", "--runs", "3", "--quick"])
    assert (read.case, read.lines, read.runs, read.quick) == (["sheet", "many"], 500, 3, True)
