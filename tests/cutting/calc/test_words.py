"""What is said of a cutting plan, word for word."""

from dataclasses import replace
from fractions import Fraction as F

import pytest

from materials.calc.measures import plain
from materials.cutting.calc.types import Cut, Need, Order, Plan, Stock
from materials.cutting.calc.words import cut_lines, notes, waste_percent, why

BOARD, UNKNOWN = Stock("10 ft", F(10), F(5)), Stock("12 ft", F(12))
ORDER = Order((BOARD, UNKNOWN), (Need("4 ft", F(4), 7), Need("2 ft", F(2), 1)))
# Three boards of two 4 ft, one of 4 ft and 2 ft: 10 of 40 ft are waste, 4 of it in one length.
PLAN = Plan(
    cuts=(Cut(0, 3, ((0, 2),), F(2), 2), Cut(0, 1, ((0, 1), (1, 1)), F(4), 2)),
    cost=F(20),
    waste=F(10),
    used=F(40),
    longest=F(4),
    cost_bound=F(20),
    waste_bound=F(10),
    is_least_cost=True,
    is_least_waste=True,
    is_longest=True,
    patterns=7,
    boards_alone=None,
    left_out=(),
)


def money(value: F) -> str:
    return f"${plain(value)}"


def feet(value: F) -> str:
    return f"{plain(value)} ft"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        (
            {},
            "No plan costs less, or costs the same and wastes less: all 7 ways to fill a board were"
            " compared.",
        ),
        ({"cost": None}, "No plan wastes less: all 7 ways to fill a board were compared."),
        ({"cost": F(0)}, "No plan wastes less: all 7 ways to fill a board were compared."),
        (
            {"patterns": None},
            "No plan costs less, or costs the same and wastes less: give each piece a price so that"
            " no board is worth more than it costs. All pieces together are then worth this plan.",
        ),
        # As many boards as the pieces fill alone: there is no simpler proof.
        *(
            (
                {"boards_alone": F(alone)},
                "No plan uses fewer than 4 boards: the pieces and the saw cuts between them alone"
                f" need {need}.",
            )
            for alone, need in (
                ("3.25", "3.3"),
                ("4", "4"),
                ("3.01", "3"),
                ("3.89", "3.9"),
                ("3.97", "3.97"),
            )
        ),
        *(
            (
                {"boards_alone": F(alone)},
                "No plan costs less, or costs the same and wastes less: all 7 ways to fill a board"
                " were compared.",
            )
            for alone in ("3", "2.5", "4.1")
        ),
        # 16 is a fifth less than 20, and 20 a quarter more than 16.
        (
            {"is_least_cost": False, "is_least_waste": False, "cost_bound": F(16)},
            "A cheaper plan may exist: the least possible cost is $16, this one costs $20, 25% more"
            " at most. More time may find a better plan.",
        ),
        # 1/19 is 5.26%: that much at most is not 5.2%.
        (
            {"is_least_cost": False, "is_least_waste": False, "cost_bound": F(19)},
            "A cheaper plan may exist: the least possible cost is $19, this one costs $20, 5.3%"
            " more at most. More time may find a better plan.",
        ),
        (
            {"is_least_cost": False, "is_least_waste": False, "cost_bound": F(18)},
            "A cheaper plan may exist: the least possible cost is $18, this one costs $20, 11.2%"
            " more at most. More time may find a better plan.",
        ),
        (
            {"is_least_cost": False, "is_least_waste": False, "cost_bound": F(0)},
            "A cheaper plan may exist: the least possible cost is $0, this one costs $20. More time"
            " may find a better plan.",
        ),
        (
            {"is_least_waste": False, "waste_bound": F(9)},
            "Nothing costs less. A plan may waste less: at this cost, the least possible waste is"
            " 9 ft, this one wastes 10 ft.",
        ),
        # What is left of whole boards is not less than nothing.
        (
            {"is_least_waste": False, "waste_bound": F(-9)},
            "Nothing costs less. A plan may waste less: at this cost, the least possible waste is"
            " 0 ft, this one wastes 10 ft.",
        ),
        # Without a price nothing is said of cost.
        (
            {"is_least_cost": False, "is_least_waste": False, "cost": None, "cost_bound": None},
            "A plan may waste less: the least possible waste is 10 ft, this one wastes 10 ft.",
        ),
    ],
)
def test_what_was_proved(change: dict, sentence: str) -> None:
    assert why(replace(PLAN, **change), money, feet)[0] == sentence


@pytest.mark.parametrize(
    ("change", "sentences"),
    [
        ({}, ["At this cost and waste, no off-cut can be longer than 4 ft."]),
        ({"is_longest": False}, ["The longest off-cut is 4 ft; a longer one may be possible."]),
        # Of a plan that may not be the best nothing is said of its off-cuts.
        ({"is_longest": False, "is_least_waste": False}, []),
        ({"is_longest": False, "is_least_cost": False}, []),
        ({"longest": F(0)}, []),
        ({"longest": F(0), "is_longest": False}, []),
    ],
)
def test_what_was_proved_of_off_cuts(change: dict, sentences: list[str]) -> None:
    assert why(replace(PLAN, **change), money, feet)[1:] == sentences


def test_how_much_is_waste() -> None:
    assert waste_percent(PLAN) == 25
    assert waste_percent(replace(PLAN, used=F(0))) == 0


def test_a_line_for_boards_cut_alike_and_one_for_their_marks() -> None:
    """What is left of 2 ft and more is kept: half an inch of trim comes off its far end."""
    *lines, rule = cut_lines(ORDER, PLAN, feet)
    assert lines == [
        "3 × 10 ft: 2 × 4 ft, off-cut 2 ft",
        "  Saw at 4 ft, 8 ft.",
        "1 × 10 ft: 1 × 4 ft, 1 × 2 ft, off-cut 4 ft",
        "  Saw at 4 ft, 6 ft.",
    ]
    assert rule.startswith("“Saw at” is measured from one end of the whole board")
    # One of 6 ft whole, without a cut; the ends of others come off where the rest is kept.
    whole = Stock("6 ft", F(6))
    ended = Stock("9 ft", F(9), trim=F(1, 2))
    order = Order((whole, ended), (Need("6 ft", F(6), 3),))
    cuts = (
        Cut(0, 1, ((0, 1),), F(0), 0), Cut(1, 1, ((0, 1),), F(2), 1), Cut(1, 1, ((0, 1),), F(6), 1)
    )  # fmt: skip
    assert cut_lines(order, replace(PLAN, cuts=cuts), feet)[:-1] == [
        "1 × 6 ft: 1 × 6 ft, no off-cut",
        "  No cut.",
        "1 × 9 ft: 1 × 6 ft, off-cut 2 ft",
        "  Saw at 0.5 ft, 6.5 ft.",
        "1 × 9 ft: 1 × 6 ft, off-cut 6 ft",
        "  Saw at 0.5 ft, 6.5 ft, 8.5 ft.",
    ]


def test_what_else_there_is_to_know() -> None:
    assert notes(ORDER, PLAN) == []
    assert notes(ORDER, replace(PLAN, left_out=(1,))) == [
        "12 ft has no price and is not used: add one to compare it."
    ]
    (sentence,) = notes(ORDER, replace(PLAN, cost=None))
    assert sentence.startswith("No length to buy has a price, so the cost is not known")
