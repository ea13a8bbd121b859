"""Costing rules 7 and 11: retail prices, retail equivalents, what an offer is worth."""

from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from materials.calc.prices import (
    highest_price,
    judge_offer,
    new_cost_of_one,
    price_near,
    price_on,
    retail_equivalent,
    saved,
)
from materials.calc.stock import Position
from materials.calc.types import PercentOn, PurchaseInput
from tests.calc.builders import D, F, charge, line, part, percent, position, positions, purchase

TAX = F(8, 100)


def saving(place: Position, tax_share: Fraction) -> Fraction | None:
    """Retail equivalent less material cost, as the cost sheet puts them together."""
    new = retail_equivalent(place.component, place.in_building, tax_share)
    return saved(new, place.cost)


PRICES = [
    (date(2024, 5, 1), "5"),
    (date(2024, 9, 1), "9"),
    (date(2024, 7, 1), "7"),
]


class TestDatedPrices:
    @pytest.mark.parametrize(
        ("on", "known", "near"),
        [
            (date(2024, 4, 30), None, "5"),
            (date(2024, 5, 1), "5", "5"),
            (date(2024, 6, 30), "5", "5"),
            (date(2024, 7, 1), "7", "7"),
            (date(2024, 8, 31), "7", "7"),
            (date(2030, 1, 1), "9", "9"),
        ],
    )
    def test_price_of_a_date(self, on: date, known: str | None, near: str) -> None:
        assert price_on(PRICES, on) == known
        assert price_near(PRICES, on) == near

    def test_the_date_counts_and_not_the_price(self) -> None:
        fallen = [(date(2024, 5, 1), 9), (date(2024, 9, 1), 5), (date(2024, 7, 1), 7)]
        assert price_on(fallen, date(2024, 8, 1)) == 7
        assert price_near(fallen, date(2024, 1, 1)) == 9

    def test_no_prices(self) -> None:
        assert price_on([], date(2024, 1, 1)) is None
        assert price_near([], date(2024, 1, 1)) is None

    def test_a_price_of_0_is_a_price(self) -> None:
        assert price_near([(date(2024, 5, 1), 0), (date(2024, 6, 1), 3)], date(2024, 5, 2)) == 0


class TestRule7RetailEquivalent:
    @pytest.mark.parametrize(
        ("values", "quantity", "equivalent"),
        [
            ({"retail_price": 10}, 5, F(54)),
            ({"retail_price": "2.5", "new_per_one": 2}, 4, F("21.6")),
            ({"retail_price": 10, "new_per_one": F(1, 2)}, 3, F("16.2")),
            ({"retail_price": 10}, 0, 0),
            ({"retail_price": 0}, 5, 0),
            ({}, 5, None),
            ({}, 0, None),
            ({"would_buy_new": False, "retail_price": 10}, 5, 0),
            ({"would_buy_new": False}, 5, 0),
        ],
    )
    def test_equivalent(
        self, values: dict[str, Any], quantity: int, equivalent: Fraction | None
    ) -> None:
        assert retail_equivalent(part(**values), F(quantity), TAX) == equivalent

    def test_no_tax(self) -> None:
        assert retail_equivalent(part(retail_price=10), F(5), F(0)) == 50

    def test_new_cost_of_one(self) -> None:
        assert new_cost_of_one(part(retail_price=10, new_per_one=3), TAX) == F("32.4")
        assert new_cost_of_one(part(), TAX) is None


class TestRule8SavingOfAComponent:
    @pytest.mark.parametrize(
        ("values", "saved"),
        [
            ({"received": 10, "received_cost": 40, "retail_price": 10}, 108 - 40),
            # Only what is in the building would have been bought new.
            ({"received": 10, "received_cost": 40, "retail_price": 10, "on_hand": 5}, 54 - 20),
            ({"received": 10, "received_cost": 40, "retail_price": 10, "scrapped": 5}, 54 - 40),
            ({"received": 10, "received_cost": 200, "retail_price": 10}, 108 - 200),
            ({"received": 10, "received_cost": 40}, None),
            ({"received": 10, "unknown_lines": 1, "retail_price": 10}, None),
            ({"received": 10, "received_cost": 40, "would_buy_new": False}, -40),
            ({"received": 10, "received_cost": 0, "retail_price": 10}, 108),
        ],
    )
    def test_saving(self, values: dict[str, Any], saved: Fraction | None) -> None:
        assert saving(position(**values), TAX) == saved

    def test_moved_in_counts_like_bought(self) -> None:
        (place,) = positions(part(moved_in=2, moved_in_cost=5, retail_price=10)).values()
        assert saving(place, F(0)) == 15


def offered(*charges: Any, price: Any = 50, retail: Any = 20) -> PurchaseInput:
    """An offer of ten, 20.00 each when new; its asking price is set."""
    return purchase(line("a", 10, price=price, retail_price=retail), *charges)


class TestRule11Offers:
    def test_an_offer_is_costed_like_a_purchase(self) -> None:
        worth = judge_offer(offered(charge("haulage", 12)), TAX)
        assert worth.cost.total == 62
        assert worth.retail_equivalent == 216

    # Charges, the limit, and the price that just does not pass it
    BRACKETS = [
        ([], "200", "200.00"),
        ([], "200.999", "200.99"),
        ([charge("haulage", "12.34")], "200", "187.66"),
        ([percent("sales tax", 8)], "200", "185.18"),
        ([percent("buyer's premium", 15)], "200", "173.91"),
        (
            [
                percent("buyer's premium", 15),
                percent("sales tax", 8, PercentOn.PRICE_AND_CHARGES),
                charge("haulage", distance=40, distance_rate="0.67"),
            ],
            "200",
            "139.45",
        ),
        ([percent("discount", 10)], "200", "222.22"),
        ([charge("discount", 30)], "200", "230.00"),
        ([charge("haulage", 200)], "200", "0.00"),
        ([charge("haulage", "200.01")], "200", None),
        ([], "0", "0.00"),
        ([], "-0.01", None),
        ([charge("discount", 30)], "-20", "10.00"),
        ([charge("discount", 30)], "-31", None),
        ([percent("discount", 75)], "200", "800.02"),
        ([charge("discount", "0.01")], "10", "10.01"),
        # Whatever is asked comes to nothing: no price is the highest.
        ([percent("discount", 100)], "200", None),
    ]

    @pytest.mark.parametrize(("charges", "limit", "highest"), BRACKETS)
    def test_highest_price(self, charges: list[Any], limit: str, highest: str | None) -> None:
        offer = offered(*charges)
        found = highest_price(offer, F(limit))
        assert found == (None if highest is None else D(highest))
        if found is not None:
            assert self.landed(offer, found) <= F(limit)
            assert self.landed(offer, found + D("0.01")) > F(limit)

    @staticmethod
    def landed(offer: PurchaseInput, price: Decimal) -> Decimal:
        return judge_offer(offered(*offer.charges, price=price)).cost.total

    def test_the_asking_price_does_not_change_the_highest_price(self) -> None:
        cheap, dear = (judge_offer(offered(price=asked), TAX) for asked in (1, 900))
        assert cheap.highest_price == dear.highest_price == 216

    def test_the_usable_part_alone_has_a_worth(self) -> None:
        rotten = purchase(line("a", 10, price=50, retail_price=20, usable_share=F(3, 4)))
        assert judge_offer(rotten).highest_price == 150

    def test_several_lines_are_offered_for_one_price(self) -> None:
        offer = purchase(
            line("a", 2, price=5, retail_price=10),
            line("b", 1, unit_price=4, priced_units=1, retail_price=30),
        )
        assert judge_offer(offer).highest_price == 50

    def test_hours_lower_the_highest_price(self) -> None:
        worth = judge_offer(offered(), TAX, F(3), F(15))
        assert worth.highest_price == 216
        assert worth.highest_price_with_hours == 216 - 45

    def test_hours_alone_may_pass_what_it_is_worth(self) -> None:
        assert judge_offer(offered(), TAX, 20, 15).highest_price_with_hours is None

    @pytest.mark.parametrize(("hours", "rate"), [(None, 15), (3, None), (None, None)])
    def test_hours_or_rate_not_known(self, hours: int | None, rate: int | None) -> None:
        worth = judge_offer(offered(), TAX, hours, rate)
        assert worth.highest_price == 216
        assert worth.highest_price_with_hours is None

    def test_no_hours_are_0_hours(self) -> None:
        assert judge_offer(offered(), TAX, 0, 15).highest_price_with_hours == 216

    def test_without_a_retail_price_nothing_can_be_said(self) -> None:
        offer = purchase(line("a", price=5, retail_price=10), line("b", price=5))
        worth = judge_offer(offer, TAX, 1, 15)
        assert worth.cost.total == 10
        assert worth.retail_equivalent is None
        assert worth.highest_price is None
        assert worth.highest_price_with_hours is None

    @pytest.mark.parametrize(("places", "highest"), [(0, "185"), (3, "185.185")])
    def test_in_the_currencys_minor_unit(self, places: int, highest: str) -> None:
        offer = purchase(line("a", 10, retail_price=20), percent("sales tax", 8), places=places)
        assert highest_price(offer, F(200)) == D(highest)

    def test_an_offer_without_a_price_yet(self) -> None:
        worth = judge_offer(offered(charge("haulage", 12), price=None))
        assert worth.cost.unknown_lines == 1
        assert worth.highest_price == 188

    def test_only_what_is_needed_is_worth_something(self) -> None:
        # Six of ten are needed: 6 x 20 x 1.08 = 129.60, less 12.00 for fetching all ten.
        worth = judge_offer(offered(charge("haulage", 12)), TAX, needed=[F(6)])
        assert worth.needed_equivalent == F("129.6")
        assert worth.highest_price_needed == D("117.60")
        # Two hours at 15.00 take 30.00 more off, and nine of them all of it.
        worked = judge_offer(offered(charge("haulage", 12)), TAX, 2, 15, [F(6)])
        assert worked.highest_price_needed_with_hours == D("87.60")
        long = judge_offer(offered(charge("haulage", 12)), TAX, 9, 15, [F(6)])
        assert long.highest_price_needed_with_hours is None
        assert worth.highest_price_needed_with_hours is None
        assert worth.highest_price == D("204.00"), "for everything it stays as it was"

    def test_of_what_is_not_needed_only_the_charges_are_left(self) -> None:
        assert judge_offer(offered(), TAX, needed=[F(0)]).highest_price_needed == 0
        hauled = judge_offer(offered(charge("haulage", 12)), TAX, needed=[F(0)])
        assert hauled.needed_equivalent == 0
        assert hauled.highest_price_needed is None

    def test_nothing_is_known_of_the_need(self) -> None:
        worth = judge_offer(offered(), TAX)
        assert worth.needed_equivalent is None
        assert worth.highest_price_needed is None

    def test_what_is_not_needed_needs_no_new_price(self) -> None:
        offer = purchase(line("a", price=5, retail_price=10), line("b", price=5))
        assert judge_offer(offer, TAX, needed=[F(1), F(0)]).highest_price_needed == D("10.80")
        assert judge_offer(offer, TAX, needed=[F(1), F(1)]).highest_price_needed is None
        # What comes after it in the list still counts: 10.00 and 8 %.
        behind = purchase(line("b", price=5), line("a", price=5, retail_price=10))
        assert judge_offer(behind, TAX, needed=[F(0), F(1)]).highest_price_needed == D("10.80")

    def test_what_would_not_be_bought_new_is_worth_nothing_needed_or_not(self) -> None:
        odd = purchase(line("a", 10, price=5, retail_price=20, would_buy_new=False))
        assert judge_offer(odd, TAX, needed=[F(10)]).highest_price_needed == 0
