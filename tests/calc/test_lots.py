"""One price for several things: joint cost against published answers."""

from typing import Any

import pytest

from materials.calc.costing import CostingError
from materials.calc.stock import output_shares
from materials.calc.types import Basis
from tests.calc.builders import (
    ARITHMETIC,
    PRIMARY,
    REPRINTED,
    WORKED_OUT,
    D,
    F,
    cost,
    line,
    lot,
    made,
    part,
    sheet,
    worked,
)

REG_1 = "26 CFR 1.61-6(a) Ex. 1"
REG_2 = "26 CFR 1.61-6(a) Ex. 2"
SELL_OR_PROCESS = "OpenStax, Principles of Accounting, vol. 2, sell or process further"

# id, price, values of the parts, shares, tolerance, source, status
BY_VALUE = [
    ("J01", "25000", ["15000", "10000"], ["15000.00", "10000.00"], "0", REG_2, REPRINTED),
    (
        *("J04", "1000000", ["250000", "800000"], ["238095", "761905"], "1"),
        *("an accounting reference site", REPRINTED),
    ),
    (
        *("J05", "100000", ["98000", "14500", "1500"], ["85964.91", "12719.30", "1315.79"]),
        *("0", "a publisher's teaching page", WORKED_OUT),
    ),
    (
        *("J06", "8200000", ["3240", "4320", "3240"], ["2460000.00", "3280000.00", "2460000.00"]),
        *("0", "a worked answer page", REPRINTED),
    ),
    (
        *("J07", "2400", ["1800", "1200"], ["1440.00", "960.00"]),
        *("0", "a cost accounting outline", ARITHMETIC),
    ),
    # The book prints 67.50 4.90 17.20 9.80 0.60, its weights rounded to three places first.
    (
        *("J08", "100", ["110", "8", "28", "16", "1"]),
        *(["67.48", "4.91", "17.18", "9.82", "0.61"], "0"),
        *("a cost accounting text, ch. 16, problem solution", ARITHMETIC),
    ),
]

# id, price, quantities of the parts, shares, source, status
BY_QUANTITY = [
    (
        *("J07", "2400", [700, 300], ["1680.00", "720.00"]),
        *("a cost accounting outline, physical measure", REPRINTED),
    ),
    (
        *("J11", "16200000", [27_000_000, 9_000_000], ["12150000.00", "4050000.00"]),
        *("a lumber problem, by board feet", WORKED_OUT),
    ),
]


@pytest.mark.parametrize(
    ("check", "price", "values", "shares", "tolerance", "source", "status"), BY_VALUE
)
def test_lot_by_retail_value(
    check: str,
    price: str,
    values: list[str],
    shares: list[str],
    tolerance: str,
    source: str,
    status: str,
) -> None:
    lines = [line(str(i), 1, retail_price=value) for i, value in enumerate(values)]
    found: Any = lot(price, *lines, by=Basis.RETAIL_VALUE)
    near = [
        abs(share - D(wanted)) <= D(tolerance) for share, wanted in zip(found, shares, strict=True)
    ]
    assert all(near), f"{check}: {found}; {source}, {status}"
    assert sum(found) == D(price), "J15, arithmetic"


@pytest.mark.parametrize(("check", "price", "counts", "shares", "source", "status"), BY_QUANTITY)
def test_lot_by_quantity(
    check: str, price: str, counts: list[int], shares: list[str], source: str, status: str
) -> None:
    lines = [line(str(i), count) for i, count in enumerate(counts)]
    found = lot(price, *lines, by=Basis.QUANTITY)
    assert found == [D(share) for share in shares], f"{check}: {source}, {status}"


def test_each_board_foot_costs_the_same_by_quantity() -> None:
    """J11: 0.45 a board foot on both sides; answer worked out."""
    found: Any = lot("16200000", line("a", 27_000_000), line("b", 9_000_000), by=Basis.QUANTITY)
    assert [found[0] / 27_000_000, found[1] / 9_000_000] == [D("0.45")] * 2


def test_twenty_equal_lots_of_one_tract() -> None:
    """J02: as reprinted, the 500 arithmetic; equal only because the lots are worth the same."""
    found = lot("10000", *(line(str(i)) for i in range(20)), by=Basis.EQUAL)
    assert found == [D("500.00")] * 20, REG_1


@pytest.mark.parametrize(
    ("weights", "shares"),
    [(["3", "1"], ["75.00", "25.00"]), (["0", "1"], ["0.00", "100.00"])],
)
def test_lot_by_given_weights(weights: list[str], shares: list[str]) -> None:
    lines = [line(weight, 5, lot_weight=D(weight), retail_price=1) for weight in weights]
    assert lot("100", *lines, by=Basis.WEIGHT) == [D(share) for share in shares]


def test_lot_by_weight_needs_every_weight() -> None:
    with pytest.raises(CostingError, match="a line has no weight"):
        lot("100", line("a", lot_weight=D(1)), line("b"), by=Basis.WEIGHT)


def test_a_line_with_a_price_stands_outside_the_lot_and_needs_no_weight() -> None:
    found = lot("100", line("a", lot_weight=D(1)), line("b", price="7"), by=Basis.WEIGHT)
    assert found == [D("100.00"), D("7.00")]


@pytest.mark.parametrize("count", [1, 2, 3, 6, 7, 11, 97])
def test_shares_of_a_cent_less_even_split_sum_to_the_price(count: int) -> None:
    """J15, arithmetic: the earlier parts take the odd cents."""
    found: Any = lot("100.00", *(line(str(i)) for i in range(count)), by=Basis.EQUAL)
    assert sum(found) == D("100.00")
    assert found == sorted(found, reverse=True)
    assert found[0] - found[-1] <= D("0.01")


class TestJointProductsOnTheCostSheet:
    """J07: what the two ways of splitting do to the saving on each product."""

    @pytest.mark.parametrize(
        ("valued", "margins", "percents", "status"),
        [
            (False, [120, 480], ["6.7", "40.0"], REPRINTED),
            (True, [360, 240], ["20.0", "20.0"], ARITHMETIC),
        ],
    )
    def test_margins(
        self, valued: bool, margins: list[int], percents: list[str], status: str
    ) -> None:
        outputs = [
            made("A", 700, 1800 if valued else None),
            made("B", 300, 1200 if valued else None),
        ]
        report = sheet(
            part("Batch", received=1000, received_cost=2400),
            part("A", retail_price=F(1800, 700)),
            part("B", retail_price=F(1200, 300)),
            worked("Batch", 1000, *outputs),
        )
        rows = {row.position.component.key: row for row in report.components}
        assert [rows["A"].savings, rows["B"].savings] == margins, f"J07, {status}"
        shown = []
        for key in "AB":
            saved, new = rows[key].savings, rows[key].retail_equivalent
            assert saved is not None
            assert new is not None
            shown.append(f"{float(saved / new * 100):.1f}")
        assert shown == percents, f"J07, {status}"

    def test_output_shares(self) -> None:
        assert output_shares([made("A", 700), made("B", 300)]) == [F(7, 10), F(3, 10)]
        valued = [made("A", 700, 1800), made("B", 300, 1200)]
        assert output_shares(valued) == [F(3, 5), F(2, 5)]


class TestSunkJointCost:
    """What was paid before the choice changes neither choice; what is thrown out costs nothing."""

    @pytest.mark.parametrize("sunk", [0, 250_000, 1_000_000])
    def test_sell_or_process_further(self, sunk: int) -> None:
        """J13, read in the primary text: 900 000 against 1 130 000, prior cost irrelevant."""
        as_it_is = sheet(
            part(
                "Scrap",
                received=400_000,
                received_cost=sunk,
                sold=400_000,
                proceeds=400_000 * F("2.25"),
            )
        )
        further = sheet(
            part("Scrap", received=400_000, received_cost=sunk),
            part("Goods", sold=100_000, proceeds=100_000 * 15),
            worked("Scrap", 400_000, made("Goods", 100_000), extra=100_000 * F("2.85") + 85_000),
        )
        gains = [sunk - as_it_is.total.cost, sunk - further.total.cost]
        assert gains == [900_000, 1_130_000], f"J13: {SELL_OR_PROCESS}, {PRIMARY}"

    @pytest.mark.parametrize("fate", ["scrapped", "given_away"])
    def test_scrap_without_a_buyer_leaves_the_cost_on_the_boards(self, fate: str) -> None:
        """J14, read in the primary text: all 1.1 million is the cost of what is built in."""
        report = sheet(
            part("Log", received=1, received_cost=1_100_000),
            part("Board", retail_price=1),
            part("Scrap", **{fate: 1}),
            worked("Log", 1, made("Board", 1000, 1_000_000), made("Scrap", 1, 100_000)),
        )
        built_in = [row.position.in_building for row in report.components]
        assert built_in == [0, 1000, 0]
        assert report.total.cost == 1_100_000, f"J14: {SELL_OR_PROCESS}, {PRIMARY}"

    def test_waste_not_counted_as_an_output_carries_no_cost(self) -> None:
        """J14 again: with the scrap left out of the outputs the boards carry everything."""
        report = sheet(
            part("Log", received=1, received_cost=1_100_000),
            part("Board"),
            worked("Log", 1, made("Board", 1000)),
        )
        rows = {row.position.component.key: row.position for row in report.components}
        assert rows["Board"].cost == 1_100_000
        assert rows["Board"].average == 1100
        assert rows["Log"].cost == 0


# Lines of a lot as (quantity, retail price), the stated split, what is used, the shares of 90.00
LOT_BASES: list[tuple[list[tuple[int, int | None]], Basis | None, Basis, list[int]]] = [
    ([(1, 20), (5, 2)], None, Basis.RETAIL_VALUE, [60, 30]),
    ([(1, 20), (5, None)], None, Basis.EQUAL, [45, 45]),
    ([(1, 0), (5, 0)], None, Basis.EQUAL, [45, 45]),
    ([(1, 0), (5, 2)], None, Basis.RETAIL_VALUE, [0, 90]),
    ([(1, 20), (5, None)], Basis.RETAIL_VALUE, Basis.EQUAL, [45, 45]),
    ([(1, 20), (5, 2)], Basis.EQUAL, Basis.EQUAL, [45, 45]),
    ([(1, 20), (5, 2)], Basis.QUANTITY, Basis.QUANTITY, [15, 75]),
    ([(0, 20), (0, 2)], Basis.QUANTITY, Basis.EQUAL, [45, 45]),
]


@pytest.mark.parametrize(("rows", "stated", "used", "shares"), LOT_BASES)
def test_basis_of_a_lot_and_its_fallback(
    rows: list[tuple[int, int | None]], stated: Basis | None, used: Basis, shares: list[int]
) -> None:
    lines = [line(str(i), qty, retail_price=price) for i, (qty, price) in enumerate(rows)]
    result = cost(*lines, lot_price=D(90), lot_split=stated)
    assert result.lot_basis is used
    assert [row.price for row in result.lines] == shares


def test_weights_all_zero_fall_back_to_retail_value() -> None:
    lines = [
        line("a", lot_weight=D(0), retail_price=20),
        line("b", lot_weight=D(0), retail_price=10),
    ]
    result = cost(*lines, lot_price=D(90), lot_split=Basis.WEIGHT)
    assert result.lot_basis is Basis.RETAIL_VALUE
    assert [row.price for row in result.lines] == [60, 30]


def test_retail_value_counts_the_usable_part_only() -> None:
    """Half of the second line is rotten: 10 x 2.00 against 5 x 2.00."""
    lines = [line("a", 10, retail_price=2), line("b", 10, usable_share=F(1, 2), retail_price=2)]
    assert lot("30", *lines) == [20, 10]


def test_a_lot_price_of_nothing_is_free_not_unknown() -> None:
    result = cost(line("a"), line("b"), lot_price=D(0))
    assert [row.price for row in result.lines] == [0, 0]
    assert result.unknown_lines == 0


def test_a_lot_price_is_rounded_before_it_is_split() -> None:
    assert lot("10.005", line("a"), line("b")) == [D("5.01"), D("5.00")]


def test_a_lot_price_needs_a_line_to_fall_on() -> None:
    with pytest.raises(CostingError, match="every line has a price of its own"):
        cost(line("a", price=1), lot_price=D(5))
