"""cutting_plan: JSON, words, units, and a sentence for every fault."""

import json

import pytest

from tests.exchange.test_commands import run


def plan(*arguments):
    code, out, err = run("cutting_plan", *arguments, "--json")
    assert (code, err) == (0, "")
    return json.loads(out)


def test_json():
    found = plan(
        "--stock", "16 ft:12.50", "7' 6\"::3", "--need", "2 ft x 9", "40 in x 4", "--kerf", "1/8 in"
    )  # fmt: skip
    assert list(found) == ["stock_used", "cost", "waste", "proved", "patterns"]
    # Three of 7.5 ft hold two pieces of 40 in or three of 2 ft each: 16 ft has to be bought.
    assert (found["cost"], found["proved"]) == ("12.50", True)
    used = {row["length"]: (row["count"], row["on_hand"]) for row in found["stock_used"]}
    assert used["16"] == (1, False)
    assert {row["unit"] for row in found["stock_used"]} == {"ft"}
    pieces = {}
    for pattern in found["patterns"]:
        for piece in pattern["pieces"]:
            number = piece["count"] * pattern["count"]
            pieces[piece["length"]] = pieces.get(piece["length"], 0) + number
    assert pieces == {"2": 9, "3.333333": 4}


def test_numbers_without_a_unit():
    found = plan("--stock", "5600:1", "--need", "1380 x 22", "1520 x 25")
    assert found["stock_used"][0]["unit"] is None
    assert found["waste"].isdecimal()


def test_units_may_be_mixed_and_the_first_is_told():
    found = plan("--stock", "2.4 m:8", "--need", "2 ft x 3", "--kerf", "3 mm")
    assert found["stock_used"] == [
        {"length": "2.4", "unit": "m", "count": 1, "price": "8.00", "on_hand": False}
    ]
    assert found["waste"] == "0.5712"


def test_ends_are_cut_off():
    arguments = ("--stock", "10 ft:1", "--need", "9 ft x 2")
    assert plan(*arguments, "--trim", "6 in")["cost"] == "2.00"
    code, _, err = run("cutting_plan", *arguments, "--trim", "7 in")
    assert code == 1
    assert "9 ft is longer than any board" in err


def test_words():
    code, out, _ = run("cutting_plan", "--stock", "120 in:4", "--need", "28 in x 4")
    assert code == 0
    assert "1 board, cost 4.00, waste 8 in (6.667%)" in out
    assert "1 × 120 in: 4 × 28 in, off-cut 8 in" in out
    assert "No plan uses fewer than 1 board" in out


@pytest.mark.parametrize(
    ("arguments", "result"),
    [
        ((), "board to cut from"),
        (("--stock", "10 ft:1"), "piece to cut"),
        (("--stock", "10 ft:1", "--need", "28 in"), "'28 in' is not understood"),
        (("--stock", "10 ft:1", "--need", "some x 4"), "has no number"),
        (("--stock", "10 ft:1", "--need", "3 gal x 4"), "not a length"),
        (("--stock", "10 ft:1", "--need", "1 ft x 0"), "whole number from 1"),
        (("--stock", "10 ft:1", "--need", "11 ft x 2"), "11 ft is longer than any board"),
        (("--stock", "10 ft:x", "--need", "1 ft x 2"), "not a number"),
        (("--stock", "10 ft:1:x", "--need", "1 ft x 2"), "not a count"),
        (("--stock", "10 ft:1:2:3", "--need", "1 ft x 2"), "more than a length"),
        (("--stock", "10 ft::1", "--need", "9 ft x 2"), "1 × 9 ft cannot be cut"),
        (("--stock", "10:1", "--need", "9 ft x 2"), "'10' has no unit"),
        (("--stock", "10 ft:1", "--need", "9 ft x 2", "--kerf", "thin"), "Kerf"),
        (("--stock", "10 ft:1", "--need", "9 ft x 2", "--seconds", "0"), "Seconds '0'"),
        (("--stock", "10 ft:-1", "--need", "9 ft x 2"), "cannot be below 0"),
        (("--stock", "10 ft:1", "--need", "9 ft x 99999"), "whole number from 1 to 10,000"),
    ],
)
def test_faults(arguments, result):
    code, out, err = run("cutting_plan", *arguments)
    assert (code, out) == (1, "")
    assert result in err


def test_every_fault_has_its_line():
    _, _, err = run("cutting_plan", "--stock", "x", "10 ft:y", "--need", "z")
    assert len(err.strip().splitlines()) == 3
