"""Costing rule 10: spent, committed, remaining, still needed, forecast, contingency."""

from fractions import Fraction
from typing import Any

import pytest

from materials.calc.budget import forecast
from materials.calc.reports import CostSheet
from tests.calc.builders import F, labour, made, part, position, positions, sheet, worked

TAX = F(10, 100)


class TestSpent:
    # Rows of the build, what was spent on them
    TABLE: list[tuple[str, list[Any], int]] = [
        ("nothing", [], 0),
        ("received", [part(received=5, received_cost=40)], 40),
        ("received, price partly known", [part(received=5, received_cost=7, unknown_lines=1)], 7),
        ("paid labour", [labour("installing", paid_hours=3, paid=60)], 60),
        ("own labour", [labour("sourcing", own=9)], 0),
        (
            "extra cost of a conversion",
            [
                part(received=5, received_cost=40),
                part("Peg"),
                worked("Stud", 1, made("Peg", 9), extra=6),
            ],
            46,
        ),
        ("sale proceeds", [part(received=5, received_cost=40, sold=1, proceeds=15)], 25),
        ("ordered", [part(ordered=5, ordered_cost=40)], 0),
        ("moved in is no cash here", [part(moved_in=5, moved_in_cost=40)], 0),
        ("moved out gives none back", [part(received=5, received_cost=40, moved=5)], 40),
        ("on hand is paid for all the same", [part(received=5, received_cost=40, on_hand=5)], 40),
        ("scrapped", [part(received=5, received_cost=40, scrapped=5)], 40),
    ]

    @pytest.mark.parametrize(("rows", "spent"), [row[1:] for row in TABLE],
                             ids=[row[0] for row in TABLE])  # fmt: skip
    def test_spent(self, rows: list[Any], spent: int) -> None:
        assert sheet(*rows).spent == spent

    def test_all_of_them(self) -> None:
        rows = [row for _, some, _ in self.TABLE for row in some if not hasattr(row, "received")]
        report = sheet(
            part(received=50, received_cost=400, sold=1, proceeds=15, moved_in=3, moved_in_cost=9),
            part("Peg"),
            *rows,
        )
        assert report.spent == 400 + 60 + 6 - 15


class TestCommittedAndRemaining:
    def test_committed_is_what_is_ordered(self) -> None:
        report = sheet(
            part(ordered=5, ordered_cost=40, received=1, received_cost=7),
            part("Peg", ordered=1, ordered_cost=2),
        )
        assert report.committed == 42

    @pytest.mark.parametrize(
        ("budget", "remaining"), [(100, 100 - 30 - 40), (50, -20), (0, -70), (None, None)]
    )
    def test_remaining(self, budget: int | None, remaining: int | None) -> None:
        report = sheet(
            part(received=1, received_cost=30, ordered=1, ordered_cost=40), budget=budget
        )
        assert report.remaining == remaining

    @pytest.mark.parametrize(
        ("budget", "share", "contingency"),
        [(1000, F(1, 10), 100), (1000, 0, 0), (1000, None, None), (None, F(1, 10), None)],
    )
    def test_contingency_stands_on_top(
        self, budget: int | None, share: Any, contingency: int | None
    ) -> None:
        report = sheet(budget=budget, contingency_share=share)
        assert report.contingency == contingency
        assert report.budget == report.remaining == budget

    def test_contingency_is_not_used_up_by_spending_too_much(self) -> None:
        report = sheet(
            part(received=1, received_cost=1500), budget=1000, contingency_share=F(1, 10)
        )
        assert report.contingency == 100
        assert report.remaining == -500


class TestStillNeeded:
    @pytest.mark.parametrize(
        ("values", "needed"),
        [
            ({"required": 100, "waste_share": F(1, 10)}, 110),
            ({"required": 100, "waste_share": F(1, 10), "received": 50}, 60),
            ({"required": 100, "received": 50, "ordered": 20}, 30),
            ({"required": 100, "moved_in": 30}, 70),
            # On hand still serves; what went for good must be got again.
            ({"required": 100, "received": 50, "on_hand": 5}, 50),
            ({"required": 100, "received": 50, "scrapped": 5}, 55),
            ({"required": 100, "received": 50, "given_away": 5}, 55),
            ({"required": 100, "received": 50, "sold": 5}, 55),
            ({"required": 100, "received": 50, "moved": 5}, 55),
            # Never below 0, and not known without a requirement.
            ({"required": 100, "received": 150}, 0),
            ({"required": 0}, 0),
            ({"received": 50}, None),
        ],
    )
    def test_still_needed(self, values: dict[str, Any], needed: Fraction | None) -> None:
        assert position(**values).still_needed == needed

    def test_what_was_converted_away_must_be_got_again(self) -> None:
        found = positions(
            part("Stud", required=100, received=50),
            part("Peg", required=30),
            worked("Stud", 10, made("Peg", 20)),
        )
        assert found["Stud"].still_needed == 60
        assert found["Peg"].still_needed == 10


class TestForecast:
    def make(self, **values: Any) -> CostSheet:
        return sheet(part(**values), retail_tax_share=TAX)

    @pytest.mark.parametrize(
        ("values", "low", "high"),
        [
            # 10 of 20 here for 30.00: 10 more at 3.00, or at 11.00 new.
            (
                {"received": 10, "received_cost": 30, "required": 20, "retail_price": 10},
                30 + 30,
                30 + 110,
            ),
            # No average yet: both ends at retail. Two new ones do the work of one.
            ({"required": 20, "retail_price": 10, "new_per_one": 2}, 440, 440),
            # No retail price: both ends at the average.
            ({"received": 10, "received_cost": 30, "required": 20}, 60, 60),
            # Free so far: 0 is a known average.
            (
                {"received": 10, "received_cost": 0, "required": 20, "retail_price": 10},
                0,
                110,
            ),
            # A price is not known: no average, so retail.
            (
                {"received": 10, "unknown_lines": 1, "required": 20, "retail_price": 10},
                110,
                110,
            ),
            # Dearer than new so far: the ends stand in order.
            (
                {"received": 10, "received_cost": 300, "required": 20, "retail_price": 10},
                300 + 110,
                300 + 300,
            ),
            # What is ordered is committed and no longer needed.
            (
                {
                    **{"received": 10, "received_cost": 30, "required": 20, "retail_price": 10},
                    **{"ordered": 4, "ordered_cost": 20},
                },
                50 + 18,
                50 + 66,
            ),
            # Waste must be got as well.
            ({"required": 20, "waste_share": F(1, 20), "retail_price": 10}, 231, 231),
            # Enough here, or nothing required.
            ({"received": 30, "received_cost": 90, "required": 20, "retail_price": 10}, 90, 90),
            ({"received": 30, "received_cost": 90, "retail_price": 10}, 90, 90),
            ({}, 0, 0),
        ],
    )
    def test_range(self, values: dict[str, Any], low: Fraction, high: Fraction) -> None:
        found = self.make(**values).forecast
        assert (found.low, found.high) == (low, high)
        assert found.left_out == ()

    def test_what_has_no_price_at_all_is_left_out_and_named(self) -> None:
        report = sheet(
            part("Stud", required=5),
            part("Peg", required=5, received=2, unknown_lines=1),
            part("Lath", required=5, retail_price=1),
            part("Nail"),
        )
        assert report.forecast.left_out == ("Stud", "Peg")
        assert report.forecast.low == report.forecast.high == 5

    def test_ends_are_put_in_order_once_over_all_components(self) -> None:
        places = positions(
            part("Dear", received=1, received_cost=9, required=2, retail_price=4),
            part("Cheap", received=1, received_cost=1, required=2, retail_price=2),
        )
        found = forecast(places.values(), F(10), F(0), F(0))
        assert (found.low, found.high) == (10 + 6, 10 + 10)

    def test_paid_labour_is_in_it_and_own_labour_is_not(self) -> None:
        report = sheet(labour("installing", own=50, paid_hours=2, paid=40), own_labour_rate=15)
        assert report.forecast.low == report.forecast.high == 40
