"""How a figure came about: its parts, worked out by hand, and what stands beside it."""

from dataclasses import replace
from fractions import Fraction as F
from typing import Any

import pytest

from materials.calc.reports import make_cost_sheet
from materials.calc.trace import elements
from materials.calc.trace.explain import FIGURES, trace
from materials.calc.trace.parts import nameless_hours
from materials.calc.trace.settling import is_of_settling, to_spent
from materials.calc.types import AreaInput, ElementInput, Payerless
from tests.calc.builders import build, labour, made, part, person, sheet, worked

BUILD = replace(
    build(
        # 10 at 4.00: 2 cut up, 2 on hand, 1 moved at the average, 1 at 3.00 as fixed: 4 left.
        part("Roof sheet", received=10, received_cost=40, on_hand=2, moved=1, moved_out=1,
             moved_out_cost=3, retail_price=10),
        part("Flashing", retail_price=6),
        part("Peg", received=5, received_cost=20, sold=2, proceeds=6, ordered=5, ordered_cost=30),
        part("Lost", received=3, unknown_lines=2),
        part("Slate", moved_in=4, moved_in_cost=12, retail_price=5, required=10),
        worked("Roof sheet", 2, made("Flashing", 4), extra=5),
        labour("preparing", own=3, paid_hours=2, paid=40, person="Ben"),
        labour("installing", own=4, person="Ada"),
        labour("sourcing", paid_hours=1, paid=15),
        labour("preparing", own="0.5"),
        persons=(person("Ada", 45, payments_received=10), person("Ben", 5, payments_made=10)),
        areas=(AreaInput("f", "Floor", F(100), "sq ft"), AreaInput("w", "Walls", F(50), "sq ft")),
        budget=500,
        contingency_share="0.10",
        retail_tax_share="0.10",
        own_labour_rate=20,
        own_hours_count=True,
    ),
    payerless=Payerless(1, F(10)),
)  # fmt: skip
SHEET = make_cost_sheet(BUILD)

# Roof sheet 17, flashings 8 + 5, pegs 20 - 6, slate 12; lost is not known.
MATERIAL = 56
# Roof sheets 4 x 11, flashings 4 x 6.60, slate 4 x 5.50; they cost 17 + 13 + 12.
NEW, PRICED = F("92.4"), 42
SAVED = F("50.4")
SPENT = 60 + 55 + 5 - 6
EXPLAINED = {
    "budget": (500, [("+", 500)]),
    "contingency": (50, [("", 500), ("×", 10)]),
    "spent": (SPENT, [("+", 60), ("+", 55), ("+", 5), ("−", 6)]),
    "committed": (30, [("+", 30)]),
    "remaining": (356, [("+", 500), ("−", SPENT), ("−", 30)]),
    # Six slates are needed, at 3.00 so far or at 5.50.
    "forecast_low": (162, [("+", SPENT), ("+", 30), ("+", 18)]),
    "forecast_high": (177, [("+", SPENT), ("+", 30), ("+", 33)]),
    "material_cost": (
        MATERIAL,
        [("+", 60), ("+", 5), ("+", 12), ("−", 8), ("−", 4), ("−", 3), ("−", 6)],
    ),
    "retail_equivalent": (NEW, [("+", 44), ("+", F("26.4")), ("+", 22)]),
    "priced_cost": (PRICED, [("+", 17), ("+", 13), ("+", 12)]),
    "savings": (SAVED, [("+", NEW), ("−", PRICED)]),
    "savings_percent": (SAVED / NEW * 100, [("", SAVED), ("÷", NEW)]),
    # 3.5 own hours of sourcing and preparing.
    "savings_after_own_labour": (SAVED - 70 - 55, [("+", SAVED), ("−", 70), ("−", 55)]),
    "saved_per_extra_hour": (SAVED / F("6.5"), [("", SAVED), ("÷", F("6.5"))]),
    "paid_labour": (55, [("+", 55)]),
    "own_labour_value": (150, [("", F("7.5")), ("×", 20)]),
    "hours": (F("10.5"), [("+", 1), ("+", F("5.5")), ("+", 4), ("+", 0), ("+", 0)]),
    # Half an hour of them is nobody's: a conversion's.
    "preparing_hours": (F("5.5"), [("+", 5), ("+", F("0.5"))]),
    "extra_hours": (F("6.5"), [("+", 6), ("+", F("0.5"))]),
    "own_hours": (F("7.5"), [("+", 7), ("+", F("0.5"))]),
    "taskless_hours": (F("10.5"), [("+", 10), ("+", F("0.5"))]),
    "area_0": (
        F("1.11"),
        [
            ("", 56),
            ("+", 55),
            ("÷", 100),
            ("=", F("1.11")),
            ("", F("2.61")),
            ("", F("0.924")),
            ("", F("0.42")),
        ],
    ),
    "area_1": (
        F("2.22"),
        [
            ("", 56),
            ("+", 55),
            ("÷", 50),
            ("=", F("2.22")),
            ("", F("5.22")),
            ("", F("1.848")),
            ("", F("0.84")),
        ],
    ),
    "paid_named": (50, [("+", 45), ("+", 5)]),
    # 4 and 3 own hours at 20.00 beside what was paid.
    "shared": (190, [("+", 50), ("+", 80), ("+", 60)]),
    "share_Ada": (95, [("", 190), ("×", 50), ("=", 95)]),
    "share_Ben": (95, [("", 190), ("×", 50), ("=", 95)]),
    "balance_Ada": (20, [("+", 45), ("+", 80), ("−", 95), ("+", 0), ("−", 10)]),
    "balance_Ben": (-20, [("+", 5), ("+", 60), ("−", 95), ("+", 10), ("−", 0)]),
}


@pytest.mark.parametrize(("name", "expected"), EXPLAINED.items())
def test_a_figure_and_its_parts(name: str, expected: Any) -> None:
    traced = trace(SHEET, name)
    assert traced is not None
    assert (traced.name, traced.amount) == (name, expected[0])
    assert [(each.sign, each.amount) for each in traced.parts] == expected[1]


def test_every_figure_stands_above() -> None:
    assert set(FIGURES) <= set(EXPLAINED)
    for name in ("nonsense", "area_2", "share_Cleo", "balance_"):
        assert trace(SHEET, name) is None


def test_from_what_is_shared_to_what_is_spent() -> None:
    parts = to_spent(SHEET)
    assert [each.amount for each in parts] == [50, 10, 55, 5, 6, SPENT]
    assert [each.sign for each in parts] == ["", "+", "+", "+", "−", "="]


def test_hours_that_are_nobodys() -> None:
    assert nameless_hours(SHEET) == F("0.5")


def test_which_figures_belong_to_settling_up() -> None:
    ours = {name for name in EXPLAINED if is_of_settling(name)}
    assert ours == {"paid_named", "shared", "share_Ada", "share_Ben", "balance_Ada", "balance_Ben"}


@pytest.mark.parametrize(
    ("name", "left_out"),
    [
        ("spent", ["2 received lines have no known price and is left out"]),
        ("savings", ["2 received lines", "No new price is known for: Peg, Lost."]),
        ("budget", []),
        ("shared", ["1 received purchase names no payer", "Paid labour, extra cost"]),
        ("share_Ada", []),
    ],
)
def test_what_is_left_out_is_said(name: str, left_out: list[str]) -> None:
    traced = trace(SHEET, name)
    assert traced is not None
    assert len(traced.left_out) == len(left_out)
    assert all(words in text for words, text in zip(left_out, traced.left_out, strict=True))


def test_nothing_is_said_to_be_left_out_where_nothing_is() -> None:
    whole = sheet(part("Board", received=10, received_cost=40, retail_price=10))
    for name in FIGURES:
        traced = trace(whole, name)
        assert traced is not None
        without_rate = name == "savings_after_own_labour"
        assert traced.left_out == (
            ("No rate for own labour is stated on the build.",) if without_rate else ()
        )


def test_what_was_moved_at_a_fixed_value_is_no_part_where_nothing_was() -> None:
    traced = trace(sheet(part("Board", received=10, received_cost=40)), "material_cost")
    assert traced is not None
    assert [each.amount for each in traced.parts] == [40, 0, 0, 0, 0, 0]


@pytest.mark.parametrize(
    ("balance", "result"),
    [
        ({"payments_received": 45}, "Ada is even with the others."),
        ({}, "The others owe Ada this."),
        ({"payments_received": "44.50"}, "The others owe Ada this."),
        ({"payments_received": 50}, "Ada owes the others this."),
    ],
)
def test_a_balance_says_who_owes(balance: dict[str, int], result: str) -> None:
    two = sheet(persons=(person("Ada", 90, **balance), person("Ben", 0, paid_for=1)))
    traced = trace(two, "balance_Ada")
    assert traced is not None
    assert traced.sentence == result


@pytest.mark.parametrize(
    ("values", "result"),
    [
        ({"unknown_lines": 1}, ["1 received line has no known price and is left out"]),
        ({"unknown_lines": 3}, ["3 received lines have no known price and is left out"]),
        ({"unknown_transfers": 2}, ["Moved in at a cost that is not known, left out: 2."]),
        ({"unknown_lines": 1, "unknown_transfers": 1}, ["1 received line has", "left out: 1."]),
        ({}, []),
    ],
)
def test_what_has_no_known_price_is_counted(values: dict[str, int], result: list[str]) -> None:
    traced = trace(sheet(part("Board", received=4, **values)), "spent")
    assert traced is not None
    assert len(traced.left_out) == len(result)
    assert all(words in text for words, text in zip(result, traced.left_out, strict=True))


def test_what_would_not_be_bought_new_is_named() -> None:
    traced = trace(sheet(part("Mantel", received=1, would_buy_new=False)), "savings")
    assert traced is not None
    assert traced.left_out == ("Would not have been bought new, so counted as 0 new cost: Mantel.",)


def test_no_contingency_is_not_known() -> None:
    traced = trace(sheet(budget=500), "contingency")
    assert traced is not None
    assert (traced.amount, [each.amount for each in traced.parts]) == (None, [500, None])


def test_shares_that_were_stated_are_said_to_be() -> None:
    two = sheet(persons=(person("Ada", 90, weight=2), person("Ben", 0)))
    traced = trace(two, "share_Ada")
    assert traced is not None
    assert "as the builders stated" in traced.sentence
    assert [each.amount for each in traced.parts] == [90, 100, 90]
    equal = trace(SHEET, "share_Ada")
    assert equal is not None
    assert "equally among those who paid" in equal.sentence


def test_own_hours_are_shared_only_where_they_count() -> None:
    shared = trace(SHEET, "shared")
    assert shared is not None
    assert shared.sentence.endswith("and own hours at the rate stated on the build.")
    two = sheet(persons=(person("Ada", 90), person("Ben", 0)))
    bare = [trace(two, name) for name in ("shared", "paid_named", "balance_Ada")]
    assert [[each.amount for each in result.parts] for result in bare if result] == [
        [90],
        [90],
        [90, 90, 0, 0],
    ]


def test_only_what_is_compared_is_part_of_the_retail_equivalent() -> None:
    trace_of = trace(
        sheet(
            part("Board", received=10, received_cost=40, retail_price=10),
            part("Lost", received=3, unknown_lines=1, retail_price=10),
            part("Mantel", received=1, would_buy_new=False, retail_price=90),
            part("Peg", received=5, received_cost=20),
        ),
        "retail_equivalent",
    )
    assert trace_of is not None
    assert [(each.label, each.amount) for each in trace_of.parts] == [("Board", 100)]


def test_totals_of_elements_open_to_those_that_have_a_budget() -> None:
    made_of = sheet(
        part("Board", received=10, received_cost=40, element="w", ordered=1, ordered_cost=4),
        part("Tile", received=2, received_cost=9, element="r"),
        part("Nail", received=1, received_cost=3, element="x"),
        elements=(
            ElementInput("w", "B20", "Walls", F(100)),
            ElementInput("r", "B30", "Roof", F(7)),
            ElementInput("x", "Z", "Rest"),
        ),
    )
    expected = {
        "element_budgets": (107, [100, 7]),
        "element_cost": (49, [40, 9]),
        "element_ordered": (4, [4]),
        "element_left": (54, [56, -2]),
    }
    assert set(expected) == set(elements.NAMES)
    for name, (total, parts) in expected.items():
        traced = trace(made_of, name)
        assert traced is not None
        assert (traced.amount, [each.amount for each in traced.parts]) == (total, parts)
        assert {each.link for each in traced.parts} <= {"element:w", "element:r"}
