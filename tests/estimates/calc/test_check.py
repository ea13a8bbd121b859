"""A kept estimate read back, and beside what came of it; all worked out by hand."""

from fractions import Fraction as F
from typing import Any

import pytest

from materials.calc.progress.hours import TaskPlan
from materials.calc.types import ElementInput
from materials.estimates.calc.check import Outcome, check_estimate, read_figures
from materials.estimates.calc.types import Spread
from tests.calc.builders import labour, part, sheet


def ends(low: int, likely: int, high: int) -> Spread:
    return Spread(F(low), F(likely), F(high))


def element(code: str, cost: list[str], stated: str, hours: list[str] | None) -> dict[str, Any]:
    return {"code": code, "name": f"Part {code}", "cost": cost, "stated": stated, "hours": hours,
            "builds": 2}  # fmt: skip


def component(name: str, *, is_borrowed: bool) -> dict[str, Any]:
    return {"name": name, "unit": "piece", "code": "A", "quantity": "1/3",
            "of_one": ["1", "2", "3"], "cost": ["4", "5", "6"], "is_stated": not is_borrowed,
            "builds": 1, "is_borrowed": is_borrowed}  # fmt: skip


FIGURES = {
    "elements": [
        element("A", ["80", "100", "130"], "60", ["5", "6", "8"]),
        element("B", ["200", "300", "400"], "150", None),
        element("C", ["10", "20", "30"], "0", ["1", "2", "3"]),
    ],
    "parts": [component("Block", is_borrowed=False), component("Slate", is_borrowed=True)],
    "paid_labour": ["40", "50", "60"],
    "hours_apart": ["2", "3", "4"],
    "unknown": ["Peg"],
    "left_out": ["Lime"],
}
KEPT = read_figures(FIGURES)


def test_a_kept_estimate_is_read_back() -> None:
    block, slate = KEPT.parts
    assert (block.name, block.unit, block.code, block.builds) == ("Block", "piece", "A", 1)
    assert (block.quantity, block.of_one, block.cost) == (F(1, 3), ends(1, 2, 3), ends(4, 5, 6))
    assert (block.is_stated, block.is_borrowed) == (True, False)
    assert (slate.is_stated, slate.is_borrowed, KEPT.borrowed) == (False, True, 1)
    assert [row.hours for row in KEPT.elements] == [ends(5, 6, 8), None, ends(1, 2, 3)]
    assert (KEPT.elements[0].name, KEPT.elements[0].builds) == ("Part A", 2)
    assert (KEPT.unknown, KEPT.left_out) == (("Peg",), ("Lime",))


def test_its_sums() -> None:
    assert KEPT.material == ends(290, 420, 560)
    assert KEPT.total == ends(330, 470, 620)
    assert KEPT.hours == ends(8, 11, 15)
    # 60 and 150 of 420 rest on stated quantities: half of it, and never better than class 3, which
    # is -20 % to +30 %.
    assert (KEPT.defined, KEPT.defined_percent, KEPT.class_reached.number) == (F(1, 2), 50, 3)
    assert KEPT.class_range == (376, 611)


def test_nothing_estimated_is_defined_to_no_share() -> None:
    nothing = read_figures(FIGURES | {"elements": [], "paid_labour": ["0", "0", "0"]})
    assert (nothing.defined, nothing.defined_percent) == (None, None)
    assert nothing.hours == ends(2, 3, 4)


def elements() -> tuple[ElementInput, ...]:
    return tuple(ElementInput(key, key.upper(), f"Part {key.upper()}") for key in "abd")


def test_beside_the_cost_sheet() -> None:
    now = sheet(
        # Two more are needed, at 9.00 so far or at 11.00 new.
        part("Block", element="a", required=12, received=10, received_cost=90, retail_price=11),
        part("Slate", element="b", required=20, ordered=20, ordered_cost=250),
        part("Tile", element="d", received=1, received_cost=7),
        part("Nail", received=5, received_cost=4),
        part("Peg", required=3),
        labour("installing", own=3, paid_hours=1, paid=20, task="t"),
        labour("installing", own=2),
        elements=elements(),
    )
    check = check_estimate(KEPT, now, [TaskPlan("t", "a", None), TaskPlan("u", "b", None)])
    assert check.elements == (
        Outcome("Part A", "A", ends(80, 100, 130), F(90), F(108), F(112), 0),
        Outcome("Part B", "B", ends(200, 300, 400), F(0), F(250), F(250), 0),
        Outcome("Part C", "C", ends(10, 20, 30), F(0), F(0), F(0), 0),
        # What nobody estimated, by element and without one.
        Outcome("Part D", "D", Spread(), F(7), F(7), F(7), 0),
        Outcome("", "", Spread(), F(4), F(4), F(4), 1),
    )
    # 90 + 7 + 4 and 20 of labour; 250 to come, and 18 or 22 for the blocks.
    assert check.total == Outcome("", "", ends(330, 470, 620), F(121), F(389), F(393), 1)
    assert check.hours == (("A", "Part A", ends(5, 6, 8), F(4)), ("C", "Part C", ends(1, 2, 3), 0))
    assert (check.hours_estimated, check.hours_worked) == (ends(8, 11, 15), 6)
    assert not check.is_final


def test_what_nobody_estimated_and_nothing_was_spent_on_is_not_listed() -> None:
    check = check_estimate(KEPT, sheet(part("Peg", required=3), elements=elements()), [])
    assert [row.code for row in check.elements] == ["A", "B", "C"]
    assert check.total.missing == 1


@pytest.mark.parametrize(
    ("values", "is_final"),
    [
        ({"received": 5, "received_cost": 4, "required": 5}, True),
        ({"received": 5, "received_cost": 4}, True),
        ({"received": 5, "received_cost": "0.5"}, True),
        ({"received": 5, "received_cost": 4, "required": 6}, False),
        ({"received": 5, "received_cost": 4, "ordered": 1, "ordered_cost": 2}, False),
        ({}, False),
    ],
)
def test_it_is_final_when_nothing_more_is_to_come(values: dict[str, int], is_final: bool) -> None:
    assert check_estimate(KEPT, sheet(part(**values)), []).is_final is is_final


@pytest.mark.parametrize(
    ("low", "high", "off", "is_within"),
    [
        (108, 112, 10, True),
        (60, 70, -35, False),
        (60, 80, -30, True),
        (130, 150, 40, True),
        (131, 149, 40, False),
    ],
)
def test_how_far_off_it_was(low: int, high: int, off: int, is_within: bool) -> None:
    outcome = Outcome("", "", ends(80, 100, 130), F(0), F(low), F(high))
    assert (outcome.off_percent, outcome.is_within) == (off, is_within)


def test_a_fraction_of_a_cent_is_not_outside_the_range() -> None:
    """Kept as 33.33; what costs 100 for three comes to 33.333… for one of them."""
    rows = [element("B", ["33.33", "33.33", "33.33"], "0", None)]
    kept = read_figures(FIGURES | {"elements": rows})
    third = part("Peg", element="b", required=1, received=3, received_cost=100, on_hand=2)
    check = check_estimate(kept, sheet(third, elements=elements()), [])
    assert check.elements[0].is_within
    assert check.elements[0].off_percent == 0


def test_what_was_not_estimated_is_off_by_no_share() -> None:
    assert Outcome("", "", Spread(), F(7), F(7), F(7)).off_percent is None


def test_one_that_is_still_needed_leaves_it_open() -> None:
    now = sheet(part("Nail", received=1, received_cost=4), part("Peg", required=3))
    assert not check_estimate(KEPT, now, []).is_final


def test_what_nobody_estimated_is_listed_before_it_is_bought() -> None:
    tile = part("Tile", element="d", required=2, retail_price=3)
    check = check_estimate(KEPT, sheet(tile, elements=elements()), [])
    assert [(row.code, row.now, row.high) for row in check.elements[3:]] == [("D", 0, 6)]
