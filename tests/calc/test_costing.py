"""Costing rules 1 to 3: prices, charges, landed costs (lots: ``test_lots``)."""

from contextlib import nullcontext
from typing import Any

import pytest

from materials.calc.costing import CostingError, check_purchase, cost_purchase
from materials.calc.types import Basis, LineInput, PercentOn
from tests.calc.builders import (
    D,
    F,
    charge,
    cost,
    decimals,
    landed,
    line,
    percent,
    prices,
    purchase,
)

ON_ALL = PercentOn.PRICE_AND_CHARGES


class TestRule1PricesOfLines:
    @pytest.mark.parametrize(
        ("values", "places", "price"),
        [
            ({"unit_price": "4.00", "priced_units": 35}, 2, "140.00"),
            ({"unit_price": "0.333", "priced_units": 3}, 2, "1.00"),
            ({"unit_price": "0.125", "priced_units": 1}, 2, "0.13"),
            ({"unit_price": "0.005", "priced_units": 1}, 2, "0.01"),
            ({"unit_price": "10.10", "priced_units": F(1, 3)}, 2, "3.37"),
            ({"unit_price": "10.5", "priced_units": 3}, 0, "32"),
            ({"unit_price": "1.2345", "priced_units": 1}, 3, "1.235"),
            ({"price": "19.995"}, 2, "20.00"),
            ({"price": "19.99"}, 2, "19.99"),
            # What is free costs 0, whether stated for one or for the line.
            ({"unit_price": "0", "priced_units": 35}, 2, "0.00"),
            ({"price": "0"}, 2, "0.00"),
        ],
    )
    def test_price(self, values: dict[str, Any], places: int, price: str) -> None:
        (found,) = prices(cost(line(**values), places=places))
        assert str(found) == price

    def test_the_usable_share_does_not_lower_the_price(self) -> None:
        whole = line(qty=10, unit_price=2, priced_units=10, usable_share=F(1, 2))
        assert landed(cost(whole)) == [20]
        assert whole.usable_qty == 5

    def test_no_price_is_not_known_and_never_0(self) -> None:
        result = cost(line("a", price="3"), line("b"))
        assert prices(result) == [D("3"), None]
        assert [row.is_known for row in result.lines] == [True, False]
        assert result.unknown_lines == 1
        assert result.price == result.total == 3

    def test_a_free_line_is_known(self) -> None:
        result = cost(line(price=0), charge("haulage", "12.50"))
        assert result.unknown_lines == 0
        assert landed(result) == [D("12.50")]

    def test_a_purchase_needs_a_line(self) -> None:
        with pytest.raises(CostingError, match="at least one line"):
            cost_purchase(purchase())


class TestRule2SizeOfCharges:
    # Two lines of 60.00 and 40.00; charges in order; their amounts
    TABLE = [
        ("tax on price", [percent("sales tax", 8)], ["8.00"]),
        ("tax is rounded", [percent("sales tax", "8.125")], ["8.13"]),
        (
            "tax on price, haulage before it",
            [charge("haulage", 20), percent("sales tax", 10)],
            ["20.00", "10.00"],
        ),
        (
            "tax on price and haulage before it",
            [charge("haulage", 20), percent("sales tax", 10, ON_ALL)],
            ["20.00", "12.00"],
        ),
        (
            "tax listed before the haulage does not see it",
            [percent("sales tax", 10, ON_ALL), charge("haulage", 20)],
            ["10.00", "20.00"],
        ),
        (
            "premium, then tax on both",
            [percent("buyer's premium", 15), percent("sales tax", 8, ON_ALL)],
            ["15.00", "9.20"],
        ),
        (
            "discount before the tax",
            [percent("discount", 10), percent("sales tax", 10, ON_ALL)],
            ["-10.00", "9.00"],
        ),
        (
            "tax before the discount",
            [percent("sales tax", 10, ON_ALL), percent("discount", 10)],
            ["10.00", "-10.00"],
        ),
        (
            "discount on price and charges",
            [percent("sales tax", 10), percent("discount", 10, ON_ALL)],
            ["10.00", "-11.00"],
        ),
        ("discount of an amount", [charge("discount", 20)], ["-20.00"]),
        ("discount typed with its minus", [charge("discount", -20)], ["-20.00"]),
        ("per cent discount typed with its minus", [percent("discount", -20)], ["-20.00"]),
        ("half a cent of discount", [charge("discount", "0.125")], ["-0.13"]),
        ("deposit paid back", [charge("deposit", -5)], ["-5.00"]),
        (
            "distance",
            [charge("haulage", distance=37, distance_rate="0.67")],
            ["24.79"],
        ),
        (
            "distance is rounded half up",
            [charge("haulage", distance="0.5", distance_rate="0.05")],
            ["0.03"],
        ),
        (
            "distance counts for a tax after it",
            [
                charge("haulage", distance=40, distance_rate="0.50"),
                percent("sales tax", 10, ON_ALL),
            ],
            ["20.00", "12.00"],
        ),
        ("a charge of nothing", [charge("disposal", 0), percent("hire", 0)], ["0.00", "0.00"]),
        ("no distance", [charge("haulage", distance=0, distance_rate="0.5")], ["0.00"]),
    ]

    @pytest.mark.parametrize(("charges", "amounts"), [row[1:] for row in TABLE],
                             ids=[row[0] for row in TABLE])  # fmt: skip
    def test_amount(self, charges: list[Any], amounts: list[str]) -> None:
        result = cost(line("a", price=60), line("b", price=40), *charges)
        assert [row.amount for row in result.charges] == decimals(*amounts)
        assert result.total == 100 + sum(decimals(*amounts))

    def test_each_step_is_rounded_before_the_next(self) -> None:
        """15 % of 0.33 is 0.0495: 0.05, and 50 % of 0.38 is 0.19."""
        result = cost(
            line(price="0.33"), percent("buyer's premium", 15), percent("sales tax", 50, ON_ALL)
        )
        assert [row.amount for row in result.charges] == decimals("0.05", "0.19")

    def test_a_distance_needs_a_rate(self) -> None:
        with pytest.raises(CostingError, match="distance rate"):
            cost(line(price=1), charge("haulage", distance=5))

    def test_a_charge_needs_a_size(self) -> None:
        with pytest.raises(CostingError, match="“hire” has no size"):
            cost(line(price=1), charge("hire"))


class TestRule2SpreadOfCharges:
    """Three lines told apart by every basis; 10.00 of haulage on them."""

    LINES = (
        line("a", 1, price=50, retail_price=60, lot_weight=D(1)),
        line("b", 4, price=30, retail_price=5, lot_weight=D(0)),
        line("c", 5, price=20, retail_price=4, lot_weight=D(7)),
    )

    @pytest.mark.parametrize(
        ("basis", "shares"),
        [
            (Basis.PRICE, ["5.00", "3.00", "2.00"]),
            (Basis.QUANTITY, ["1.00", "4.00", "5.00"]),
            (Basis.RETAIL_VALUE, ["6.00", "2.00", "2.00"]),
            (Basis.WEIGHT, ["1.25", "0.00", "8.75"]),
            (Basis.EQUAL, ["3.34", "3.33", "3.33"]),
        ],
    )
    def test_basis(self, basis: Basis, shares: list[str]) -> None:
        result = cost(*self.LINES, charge("haulage", 10, spread_by=basis))
        assert list(result.charges[0].shares) == decimals(*shares)
        assert result.charges[0].basis is basis

    def test_quantity_is_the_whole_of_it(self) -> None:
        """What cannot be used is hauled all the same."""
        lines = [line("a", 4, price=1), line("b", 4, price=1, usable_share=F(1, 4))]
        result = cost(*lines, charge("haulage", 10, spread_by=Basis.QUANTITY))
        assert list(result.charges[0].shares) == decimals("5.00", "5.00")

    def test_price_is_the_default(self) -> None:
        result = cost(*self.LINES, charge("haulage", 10))
        assert result.charges[0].basis is Basis.PRICE

    def test_a_discount_is_spread_like_any_charge(self) -> None:
        result = cost(*self.LINES, charge("discount", 10))
        assert list(result.charges[0].shares) == decimals("-5.00", "-3.00", "-2.00")
        assert landed(result) == decimals("45.00", "27.00", "18.00")

    def test_odd_cents_go_to_the_largest_remainder_then_to_the_earlier_line(self) -> None:
        result = cost(line("a", price=1), line("b", price=2), charge("hire", "0.10"))
        assert list(result.charges[0].shares) == decimals("0.03", "0.07")
        alike = cost(line("a", price=1), line("b", price=1), charge("hire", "0.01"))
        assert list(alike.charges[0].shares) == decimals("0.01", "0.00")

    def test_shares_of_a_charge_by_price_follow_the_lot_shares(self) -> None:
        lines = [line("a", retail_price=3), line("b", retail_price=1)]
        result = cost(*lines, charge("haulage", 8), lot_price=D(100))
        assert landed(result) == decimals("81.00", "27.00")

    FALLBACKS: list[tuple[str, list[LineInput], Basis, Basis, list[str]]] = [
        (
            "all free: by retail value",
            [line("a", price=0, retail_price=3), line("b", price=0, retail_price=1)],
            *(Basis.PRICE, Basis.RETAIL_VALUE, ["7.50", "2.50"]),
        ),
        (
            "all free, one without a retail price: equally",
            [line("a", price=0, retail_price=3), line("b", price=0)],
            *(Basis.PRICE, Basis.EQUAL, ["5.00", "5.00"]),
        ),
        (
            "all free, retail prices all 0: equally",
            [line("a", price=0, retail_price=0), line("b", price=0, retail_price=0)],
            *(Basis.PRICE, Basis.EQUAL, ["5.00", "5.00"]),
        ),
        (
            "quantities all 0: by retail value, which is 0 too, so equally",
            [line("a", 0, price=3, retail_price=3), line("b", 0, price=1, retail_price=1)],
            *(Basis.QUANTITY, Basis.EQUAL, ["5.00", "5.00"]),
        ),
        (
            "weights all 0: by retail value",
            [
                line("a", price=1, lot_weight=D(0), retail_price=3),
                line("b", price=1, lot_weight=D(0), retail_price=1),
            ],
            *(Basis.WEIGHT, Basis.RETAIL_VALUE, ["7.50", "2.50"]),
        ),
        (
            "no weights at all: by retail value",
            [line("a", price=1, retail_price=3), line("b", price=1, retail_price=1)],
            *(Basis.WEIGHT, Basis.RETAIL_VALUE, ["7.50", "2.50"]),
        ),
        (
            "a line without a weight weighs nothing",
            [line("a", price=1, lot_weight=D(2)), line("b", price=1)],
            *(Basis.WEIGHT, Basis.WEIGHT, ["10.00", "0.00"]),
        ),
        (
            "a retail price is missing: equally",
            [line("a", price=3, retail_price=3), line("b", price=1)],
            *(Basis.RETAIL_VALUE, Basis.EQUAL, ["5.00", "5.00"]),
        ),
        (
            "a price is not known: by retail value",
            [line("a", price=9, retail_price=3), line("b", retail_price=1)],
            *(Basis.PRICE, Basis.RETAIL_VALUE, ["7.50", "2.50"]),
        ),
        (
            "a free line among priced ones carries nothing",
            [line("a", price=9, retail_price=3), line("b", price=0, retail_price=1)],
            *(Basis.PRICE, Basis.PRICE, ["10.00", "0.00"]),
        ),
    ]

    @pytest.mark.parametrize(("lines", "stated", "used", "shares"), [row[1:] for row in FALLBACKS],
                             ids=[row[0] for row in FALLBACKS])  # fmt: skip
    def test_fallback(
        self, lines: list[LineInput], stated: Basis, used: Basis, shares: list[str]
    ) -> None:
        result = cost(*lines, charge("haulage", 10, spread_by=stated))
        assert result.charges[0].basis is used
        assert list(result.charges[0].shares) == decimals(*shares)

    def test_a_percentage_of_known_prices_falls_on_the_known_lines(self) -> None:
        result = cost(line("a", price=10), line("b"), percent("sales tax", 8))
        assert landed(result) == decimals("10.80", "0.00")
        assert result.unknown_lines == 1

    def test_haulage_on_a_line_of_unknown_price_is_known_money(self) -> None:
        result = cost(line("a"), charge("haulage", 5))
        assert prices(result) == [None]
        assert landed(result) == [5]


class TestRule3LandedCosts:
    @pytest.mark.parametrize("places", [0, 2, 3])
    def test_sum_to_the_total(self, places: int) -> None:
        result = cost(
            line("a", 3, retail_price=7),
            line("b", 1, price=19),
            line("c", 2, retail_price=5),
            percent("buyer's premium", "17.5"),
            charge("haulage", distance=13, distance_rate="0.61", spread_by=Basis.QUANTITY),
            percent("sales tax", "8.25", ON_ALL, spread_by=Basis.EQUAL),
            charge("discount", 7),
            lot_price=D(100),
            places=places,
        )
        total = result.price + sum(row.amount for row in result.charges)
        assert sum(landed(result)) == result.total == total
        assert all(row.landed == round(row.landed, places) for row in result.lines)

    def test_a_purchase_by_hand(self) -> None:
        """Lot 100.00 by value 30:10, a line of 20.00, premium 10 % on price, tax 8 % on all."""
        result = cost(
            line("doors", 3, retail_price=10),
            line("nails", 5, unit_price=4, priced_units=5),
            line("trim", 10, retail_price=1),
            percent("buyer's premium", 10),
            percent("sales tax", 8, ON_ALL),
            charge("haulage", 9, spread_by=Basis.EQUAL),
            lot_price=D(100),
        )
        assert prices(result) == decimals("75.00", "20.00", "25.00")
        assert [row.amount for row in result.charges] == decimals("12.00", "10.56", "9.00")
        # Premium 7.50 2.00 2.50; tax 6.60 1.76 2.20; haulage 3.00 each.
        assert landed(result) == decimals("92.10", "26.76", "32.70")
        assert result.total == D("151.56")


class TestWhatCanHardlyBeMeant:
    """What is refused although it can be worked out."""

    LINE = line(price=10)
    # A line without a price, and one with: what the discount is taken from is not all known.
    UNKNOWN = (line("a", price=10), line("b"))

    @pytest.mark.parametrize(
        "rows",
        [
            (LINE, charge("discount", "10.00")),
            (LINE, charge("haulage", 5), charge("discount", "15.00")),
            (LINE, charge("discount", 4), charge("discount", 6)),
            (*UNKNOWN, charge("discount", 50)),
            # Money back that is no discount.
            (LINE, charge("deposit", -20)),
        ],
    )
    def test_a_discount_may_take_all_there_is(self, rows: tuple[Any, ...]) -> None:
        given = purchase(*rows)
        check_purchase(given, cost_purchase(given))

    @pytest.mark.parametrize(
        "rows",
        [
            (LINE, charge("discount", "10.01")),
            (LINE, charge("haulage", 5), charge("discount", "15.01")),
            (LINE, charge("discount", 4), charge("discount", "6.01")),
            # What is added later does not make up for it.
            (LINE, charge("discount", 12), charge("haulage", 5)),
        ],
    )
    def test_a_discount_above_what_it_is_taken_from_is_refused(self, rows: tuple[Any, ...]) -> None:
        given = purchase(*rows)
        with pytest.raises(CostingError, match="discount is more than the price and charges"):
            check_purchase(given, cost_purchase(given))

    @pytest.mark.parametrize(
        ("weights", "basis", "is_refused"),
        [
            ((1, None), Basis.WEIGHT, True),
            ((0, None), Basis.WEIGHT, True),
            ((1, 0), Basis.WEIGHT, False),
            ((1, 2), Basis.WEIGHT, False),
            ((None, None), Basis.WEIGHT, False),
            ((1, None), Basis.QUANTITY, False),
            ((1, None), None, False),
        ],
    )
    def test_a_spread_by_weight_wants_a_weight_on_every_line(
        self, weights: tuple[int | None, int | None], basis: Basis | None, is_refused: bool
    ) -> None:
        lines = [line(str(at), price=10, lot_weight=each) for at, each in enumerate(weights)]
        given = purchase(*lines, charge("haulage", 5, spread_by=basis))
        with pytest.raises(CostingError, match="weight") if is_refused else nullcontext():
            check_purchase(given, cost_purchase(given))
