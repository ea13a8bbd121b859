"""The cost sheet: costing rules 7 to 9 and 12, and how its parts add up."""

from fractions import Fraction
from typing import Any

import pytest

from materials.calc.reports import CostSheet, per
from materials.calc.stock import ConversionCircle
from materials.calc.types import AreaInput, ElementInput, SourceInput, TaskInput
from tests.calc.builders import D, F, labour, made, part, person, sheet, worked

TAX = F(10, 100)


def row_of(report: CostSheet, name: str) -> Any:
    (row,) = [row for row in report.components if row.position.component.key == name]
    return row


class TestRule7WhatIsCompared:
    """Stud is priced, Peg is not, Mantel would not have been bought new, Beam's cost is unknown."""

    REPORT = sheet(
        part("Stud", received=10, received_cost=30, retail_price=10, element="frame"),
        part("Peg", received=5, received_cost=20, element="frame"),
        part("Mantel", received=1, received_cost=15, would_buy_new=False, retail_price=90),
        part("Beam", received=2, received_cost=4, unknown_lines=2, retail_price=50),
        part("Nail"),
        retail_tax_share=TAX,
    )

    def test_unpriced_are_out_of_both_sides_and_said_so(self) -> None:
        total = self.REPORT.total
        assert total.cost == 30 + 20 + 15 + 4
        assert total.priced_cost == 30 + 15
        assert total.retail_equivalent == 110
        assert total.savings == self.REPORT.savings == 110 - 45
        assert [row.position.component.key for row in self.REPORT.unpriced] == ["Peg"]
        assert sum(row.position.known_money for row in self.REPORT.unpriced) == 20

    def test_what_would_not_be_bought_new_counts_0_and_is_listed_apart(self) -> None:
        row = row_of(self.REPORT, "Mantel")
        assert (row.retail_equivalent, row.savings, row.is_unpriced) == (0, -15, False)
        assert self.REPORT.not_bought_new == (row,)

    def test_unknown_cost_is_out_of_both_sides_and_counted(self) -> None:
        row = row_of(self.REPORT, "Beam")
        assert (row.retail_equivalent, row.savings, row.is_unpriced) == (110, None, False)
        assert self.REPORT.cost_unknown == (row,)
        assert self.REPORT.unknown_lines == 2
        assert self.REPORT.total.unknown == 1

    @pytest.mark.parametrize(
        ("values", "unpriced"),
        [
            ({}, False),
            ({"received": 3}, True),
            ({"received": 3, "received_cost": 2, "on_hand": 3}, False),
            ({"received": 3, "received_cost": 2, "scrapped": 3}, True),
            ({"received": 3, "received_cost": 2, "would_buy_new": False}, False),
            ({"received": 3, "received_cost": 2, "retail_price": 0}, False),
            ({"ordered": 3, "ordered_cost": 2}, False),
        ],
    )
    def test_unpriced_means_built_in_or_holding_money(
        self, values: dict[str, Any], unpriced: bool
    ) -> None:
        assert len(sheet(part(**values)).unpriced) == unpriced

    def test_unknown_cost_reaches_what_was_made_of_it(self) -> None:
        report = sheet(
            part("Beam", received=2, unknown_lines=1, retail_price=5),
            part("Plank", retail_price=5),
            worked("Beam", 1, made("Plank", 4), extra=3),
        )
        assert [row.savings for row in report.components] == [None, None]
        assert len(report.cost_unknown) == 2
        assert report.total.cost == 3
        assert report.savings is None


class TestRule8Savings:
    ROWS = (
        part(received=10, received_cost=30, retail_price=10),
        labour("sourcing", own=4),
        labour("preparing", own=2, paid_hours=4, paid=40),
        labour("installing", own=20, paid_hours=1, paid=25),
    )

    def test_figures(self) -> None:
        report = sheet(*self.ROWS, own_labour_rate=5)
        assert report.savings == 70
        assert report.savings_percent == 70
        assert report.hours.extra == 10
        assert report.saved_per_extra_hour == 7
        assert report.savings_after_own_labour == 70 - 6 * 5 - 40
        assert report.own_labour_value == 26 * 5

    def test_percent_is_of_the_retail_equivalent(self) -> None:
        report = sheet(part(received=3, received_cost=10, retail_price=5))
        assert report.savings_percent == F(5, 15) * 100

    def test_without_a_rate_own_labour_is_not_known(self) -> None:
        report = sheet(*self.ROWS)
        assert report.savings == 70
        assert report.savings_after_own_labour is None
        assert report.own_labour_value is None

    def test_without_own_extra_hours_no_rate_is_needed(self) -> None:
        report = sheet(self.ROWS[0], labour("sourcing", paid_hours=2, paid=9))
        assert report.savings_after_own_labour == 61

    def test_own_hours_change_no_cash(self) -> None:
        without, with_hours = sheet(self.ROWS[0]), sheet(self.ROWS[0], labour("sourcing", own=99))
        assert without.savings == with_hours.savings
        assert without.total == with_hours.total
        assert without.spent == with_hours.spent

    def test_a_loss_is_shown_as_one(self) -> None:
        report = sheet(part(received=1, received_cost=30, retail_price=10), labour("sourcing", 2))
        assert (report.savings, report.saved_per_extra_hour) == (-20, -10)
        assert report.savings_percent == -200


class TestRule9CostPerArea:
    AREAS = (
        AreaInput("floor", "Floor area", F(20), "sq ft"),
        AreaInput("envelope", "Envelope area", None, None),
        AreaInput("roof", "Roof", F(50), "sq ft"),
    )
    ROWS = (
        part(received=10, received_cost=300, retail_price=100),
        part("Peg", received=1, received_cost=40),
        labour("installing", own=4, paid_hours=2, paid=60),
    )

    def test_every_measured_area(self) -> None:
        report = sheet(*self.ROWS, areas=self.AREAS, own_labour_rate=25)
        floor, envelope, roof = report.areas
        assert floor.cost == F(300 + 40 + 60, 20)
        assert floor.cost_with_own_labour == F(500, 20)
        assert floor.retail_equivalent == F(1000, 20)
        assert roof.cost == 8
        assert (envelope.cost, envelope.cost_with_own_labour) == (None, None)
        assert envelope.retail_equivalent is None

    def test_without_a_rate(self) -> None:
        floor = sheet(*self.ROWS, areas=self.AREAS).areas[0]
        assert floor.cost == 20
        assert floor.cost_with_own_labour is None

    def test_without_own_hours_both_are_the_same(self) -> None:
        floor = sheet(self.ROWS[0], areas=self.AREAS).areas[0]
        assert floor.cost == floor.cost_with_own_labour == 15

    def test_what_is_not_in_the_building_costs_no_area(self) -> None:
        report = sheet(part(received=10, received_cost=300, on_hand=4), areas=self.AREAS)
        assert report.areas[0].cost == 9


class TestRule12NotKnown:
    @pytest.mark.parametrize(
        ("amount", "divisor", "found"),
        [
            (F(6), F(3), 2),
            (F(0), F(3), 0),
            (F(6), F(0), None),
            (F(6), None, None),
            (None, F(3), None),
        ],
    )
    def test_division(self, amount: Any, divisor: Any, found: Fraction | None) -> None:
        assert per(amount, divisor) == found

    def test_an_empty_build(self) -> None:
        areas = (AreaInput("floor", "Floor area", F(0), "sq ft"),)
        report = sheet(areas=areas)
        assert report.total.cost == report.spent == report.committed == 0
        assert report.total.retail_equivalent is None
        for name in ("savings", "savings_percent", "savings_after_own_labour", "budget",
                     "saved_per_extra_hour", "remaining", "contingency"):  # fmt: skip
            assert getattr(report, name) is None, name
        assert report.own_labour_value == 0
        assert report.areas[0].cost is None
        assert report.unpriced == report.components == report.elements == report.tasks == ()

    def test_no_extra_hours(self) -> None:
        report = sheet(part(received=1, received_cost=3, retail_price=9))
        assert report.savings == 6
        assert report.saved_per_extra_hour is None

    def test_nothing_would_be_bought_new(self) -> None:
        report = sheet(part(received=1, received_cost=3, would_buy_new=False))
        assert (report.total.retail_equivalent, report.savings) == (0, -3)
        assert report.savings_percent is None

    def test_a_circle_is_refused_by_name(self) -> None:
        with pytest.raises(ConversionCircle, match=r"\(Stud → Peg → Stud\)|\(Peg → Stud → Peg\)"):
            sheet(part(), part("Peg"), worked("Stud", 1, made("Peg", 1)),
                  worked("Peg", 1, made("Stud", 1)))  # fmt: skip


class TestParts:
    ELEMENTS = (
        ElementInput("floor", "A10", "Floor", F(100)),
        ElementInput("frame", "B10", "Frame"),
        ElementInput("roof", "B30", "Roof"),
        ElementInput("yard", "G20", "Yard", F(50)),
    )

    def test_elements(self) -> None:
        report = sheet(
            part("Stud", received=1, received_cost=30, retail_price=50, element="frame"),
            part("Peg", received=1, received_cost=5, element="frame"),
            part("Slab", received=1, received_cost=9, element="floor"),
            part("Rag", received=1, received_cost=2, retail_price=1),
            elements=self.ELEMENTS,
        )
        found = [
            (row.element.code if row.element else "", row.figures.cost, row.figures.savings)
            for row in report.elements
        ]
        # The roof has neither components nor a budget; the yard has a budget.
        assert found == [("A10", 9, None), ("B10", 35, 20), ("G20", 0, None), ("", 2, -1)]
        assert sum(cost for _, cost, _ in found) == report.total.cost

    def test_sources(self) -> None:
        report = sheet(
            part("Stud", received=10, received_cost=30, retail_price=10, on_hand=9),
            part("Peg", received=5, received_cost=20),
            part("Mantel", received=1, received_cost=4, would_buy_new=False),
            sources=(
                SourceInput("salvage", "Stud", F(8), F(10)),
                SourceInput("salvage", "Peg", F(5), F(20)),
                SourceInput("salvage", "Mantel", F(1), F(4)),
                SourceInput("seconds", "Peg", F(1), F(6)),
                SourceInput("seconds", "Stud", F(0), F(0)),
            ),
            retail_tax_share=TAX,
        )
        found = [
            (row.source, row.cost, row.retail_equivalent, row.left_out) for row in report.sources
        ]
        assert found == [("salvage", 34, 88, 20), ("seconds", 6, 0, 6), ("retail", 0, 0, 0)]

    def test_a_source_with_nothing_to_compare_is_not_known(self) -> None:
        report = sheet(part("Peg"), sources=(SourceInput("salvage", "Peg", F(5), F(20)),))
        assert report.sources[0].retail_equivalent is None
        assert report.sources[0].left_out == 20

    def test_a_forecast_rests_on_prices_once_any_is_known(self) -> None:
        nail, stud = part("Nail", received=5, unknown_lines=1), part("Stud", received=1)
        assert not sheet(nail, part("Peg")).has_paid_prices
        assert sheet(nail, stud).has_paid_prices

    def test_tasks_and_persons(self) -> None:
        report = sheet(
            labour("installing", own=3, task="walls", person="Ada"),
            labour("preparing", own=2, person="Ben"),
            labour("preparing", own="0.5"),
            tasks=(TaskInput("roof", "Roof", F(5)), TaskInput("walls", "Walls")),
            persons=(person("Ada", 10), person("Ben", 5), person("Cleo")),
        )
        assert [(row.task.name if row.task else None, row.hours) for row in report.tasks] == [
            ("Roof", 0),
            ("Walls", 3),
            (None, D("2.5")),
        ]
        assert [
            (row.share.person.name, row.share.balance, row.hours) for row in report.persons
        ] == [
            ("Ada", D("2.5"), 3),
            ("Ben", D("-2.5"), 2),
            ("Cleo", 0, 0),
        ]
