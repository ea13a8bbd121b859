"""Plans of sheets in words, stored and read back, and from the command line."""

import json
from dataclasses import replace
from fractions import Fraction as F

import pytest

from materials.cutting.calc.flat.plan import plan_sheets
from materials.cutting.calc.flat.store import from_data, to_data
from materials.cutting.calc.flat.types import FlatOrder, Part, Sheet
from materials.cutting.calc.flat.words import letter_of, saw_lines, why
from materials.cutting.calc.store import StoredPlanError
from tests.exchange.test_commands import run

ORDER = FlatOrder(
    (Sheet("sheet", F(96), F(48), F(22), trim=F(1)),),
    (Part("panel", F(24), F(18), 3), Part("ledge", F(40), F(9), 2)),
    F(1, 8),
    F(4),
)


@pytest.fixture(scope="module")
def plan():
    return plan_sheets(ORDER, lambda: 20_000, 20)


def test_stored_and_read_back(plan):
    assert from_data(json.loads(json.dumps(to_data(plan))), ORDER) == plan


@pytest.mark.parametrize(
    "damage",
    [
        lambda data: data | {"cuts": 3},
        lambda data: data | {"cuts": []},
        lambda data: data | {"used": "x"},
        lambda data: data | {"cuts": [data["cuts"][0] | {"sheet": 7}]},
        lambda data: data | {"cuts": [data["cuts"][0] | {"boxes": [["hole", *"00000", 1, False]]}]},
        lambda data: data | {"cuts": [data["cuts"][0] | {"saws": [[5, *"00000", None, None]]}]},
        lambda data: [],
    ],
)
def test_damaged_is_none(plan, damage):
    with pytest.raises(StoredPlanError):
        from_data(damage(to_data(plan)), ORDER)


def test_edges_come_off_first_and_every_piece_is_named(plan):
    (cut,) = plan.cuts
    first, *lines = saw_lines(ORDER, cut, str)
    assert first == "Cut 1 off all four edges."
    assert lines[0].startswith("94 by 46, ")
    for name in ("A1", "A2", "A3", "B1", "B2"):
        assert any(f"{name}." in line or f"{name}," in line for line in lines), name


def test_letters_leave_the_r_to_remnants():
    assert [letter_of(need) for need in (0, 16, 17, 25)] == ["A", "Q", "S", "AA"]


def test_what_is_proved_and_what_is_not(plan):
    assert why(plan, str, str)[0] == (
        "Proved: no plan costs less, or costs the same and wastes less."
    )
    dearer = replace(
        plan, cost=F(103), cost_bound=F(100), is_least_cost=False, is_least_waste=False
    )
    assert (
        "the least possible cost is 100, this one costs 103, 3% more at most."
        in (why(dearer, str, str)[0])
    )
    wasteful = replace(plan, is_least_waste=False, waste=F(9), waste_bound=F(7))
    assert why(wasteful, str, str)[0] == (
        "Nothing costs less. A plan may waste less: at this cost, the least possible waste is 7,"
        " this one wastes 9."
    )
    close = replace(wasteful, waste_bound=F(9) - F(1, 10**9))
    assert why(close, str, lambda value: str(round(value)))[0] == (
        "Nothing costs less. At this cost, no plan wastes less than 9."
    )


SHEETS = ("--sheets", "--stock", "8 ft by 4 ft:22", "4 ft by 3 ft::1", "--kerf", "1/8 in")


def test_command():
    code, out, err = run("cutting_plan", *SHEETS, "--need", "23 in by 17 in x 13 turn")
    assert (code, err) == (0, "")
    assert "2 sheets, cost 22.00, waste" in out
    assert "Proved: no plan costs less" in out
    assert "1 × 4 ft by 3 ft: " in out
    assert "A2" in out


def test_command_json():
    arguments = ("--rip", "--stock", "12 ft by 7-1/4 in:9", "--need", "5 ft by 1.5 in x 12")
    code, out, _ = run("cutting_plan", *arguments, "--kerf", "1/8 in", "--json")
    found = json.loads(out)
    assert (code, found["cost"], found["proved"], found["gap_percent"]) == (
        0,
        "18.00",
        True,
        "0.00",
    )
    assert sum(one["pieces"][0]["count"] * one["count"] for one in found["patterns"]) == 12
    place = found["patterns"][0]["places"][0]
    assert (place["length"], place["width"], place["name"]) == ("60", "1.5", "A1")
    assert found["patterns"][0]["cuts"][0]["way"] == "lengthwise"


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (("--need", "2 ft x 6"), "enter a length, a width and how many"),
        (("--need", "2 ft by 18 in"), "enter a length, a width and how many"),
        (("--need", "2 ft by some x 6"), "has no number"),
        (("--need", "9 ft by 1 ft x 6"), "fits on no sheet there is"),
        (("--need", "1 ft by 1 ft x 6", "--seconds", "0"), "Seconds '0'"),
        (("--need", "1 ft by 1 ft x 6", "--stock", "8 ft:3"), "enter a length and a width"),
    ],
)
def test_command_faults(arguments, said):
    code, out, err = run("cutting_plan", *SHEETS, *arguments)
    assert (code, out) == (1, "")
    assert said in err
