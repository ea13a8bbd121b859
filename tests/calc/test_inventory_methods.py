"""The one average of the ledger against a published example of every inventory method.

Source: OpenStax, Principles of Accounting, vol. 1, sec. 10.2 and 10.3, read in the primary
text. Opening 150 at 21; sold 120 at 36; bought 225 at 27; sold 180 at 39; bought 210 at 33;
285 are left. The charts' misprints (360 for 30 x 21, 8 895 for 8 955) are not used (A10).
"""

from fractions import Fraction
from itertools import permutations

import pytest

from materials.calc.money import round_half_up
from materials.calc.reports import per
from tests.calc.builders import (
    PRIMARY,
    WORKED_OUT,
    D,
    F,
    charge,
    cost,
    line,
    made,
    part,
    position,
    positions,
    worked,
)

SOURCE = "OpenStax, Principles of Accounting, vol. 1, sec. 10.2 and 10.3"
LOTS = {"opening": (150, 21), "second": (225, 27), "third": (210, 33)}
SALES = 120 * 36 + 180 * 39
AVAILABLE = 16_155
ASSETS = "OpenStax, Principles of Accounting, vol. 1, sec. 11.3"

# id, method, taken out of each lot, cost of what went out, value left, gross margin.
# The lots taken are worked out; the three figures are read in the primary text.
METHODS = [
    ("A01", "specific identification", (140, 160, 0), 7_260, 8_895, 4_080),
    ("A02", "first in, first out", (150, 150, 0), 7_200, 8_955, 4_140),
    ("A03", "last in, first out, periodic", (0, 90, 210), 9_360, 6_795, 1_980),
    ("A04", "last in, first out, perpetual", (120, 180, 0), 7_380, 8_775, 3_960),
]


def landed_of_lots() -> list[Fraction]:
    """Landed cost of each lot, through the engine."""
    return [
        F(cost(line(name, qty, unit_price=price, priced_units=qty)).total)
        for name, (qty, price) in LOTS.items()
    ]


def test_landed_costs_of_the_lots() -> None:
    lots = landed_of_lots()
    assert lots == [3_150, 6_075, 6_930]
    assert sum(lots) == AVAILABLE, f"{SOURCE}, {PRIMARY}"
    assert sum(lots[1:]) == 13_005
    assert sum(qty for qty, _ in LOTS.values()) == 585
    assert SALES == 11_340


class TestPeriodicWeightedAverage:
    """A05: what the ledger does; the book rounds the unit cost to 27.62 first."""

    POOLED = position(received=585, received_cost=AVAILABLE, on_hand=285)

    def test_average_is_not_rounded(self) -> None:
        assert self.POOLED.average == Fraction(16_155, 585)
        assert round_half_up(self.POOLED.average, 4) == D("27.6154")
        assert round_half_up(self.POOLED.average, 2) == D("27.62")

    def test_cost_out_and_value_left(self) -> None:
        left = self.POOLED.value_of(F(285))
        assert left is not None
        assert round_half_up(self.POOLED.known_money, 2) == D("8284.62"), WORKED_OUT
        assert round_half_up(left, 2) == D("7870.38"), WORKED_OUT
        assert self.POOLED.in_building == 300

    def test_the_books_figures_come_from_a_rounded_unit_cost(self) -> None:
        """A05; and A11: rounding the unit cost first is off by 1.62."""
        left = round_half_up(285 * D("27.62"), 0)
        assert (AVAILABLE - left, left) == (8_283, 7_872), f"A05: {SOURCE}, {PRIMARY}"
        assert round_half_up(self.POOLED.known_money - 8_283, 2) == D("1.62")

    def test_gross_margin_as_negative_cost_when_all_that_went_out_was_sold(self) -> None:
        sold = position(
            received=585, received_cost=AVAILABLE, on_hand=285, sold=300, proceeds=SALES
        )
        assert round_half_up(-sold.known_money, 2) == D("3055.38")
        assert sold.in_building == 0

    def test_cost_out_and_value_left_make_what_was_available(self) -> None:
        """A09, exact."""
        left = self.POOLED.value_of(F(285))
        assert left is not None
        assert self.POOLED.known_money + left == AVAILABLE

    @pytest.mark.parametrize("order", list(permutations(LOTS)))
    def test_order_of_entry_does_not_matter(self, order: tuple[str, ...]) -> None:
        """The lots worked into one material, in any order."""
        money = dict(zip(LOTS, landed_of_lots(), strict=True))
        found = positions(
            *(part(name, received=LOTS[name][0], received_cost=money[name]) for name in order),
            part("Pool", on_hand=285),
            *(worked(name, LOTS[name][0], made("Pool", LOTS[name][0])) for name in order),
        )
        assert found["Pool"].average == Fraction(16_155, 585)
        assert found["Pool"].known_money == self.POOLED.known_money


class TestLotsKeptApart:
    """A01 to A04: one-off lots are components of their own, each with its own average."""

    @pytest.mark.parametrize(("check", "method", "taken", "out", "left", "margin"), METHODS)
    def test_published_figures(
        self, check: str, method: str, taken: tuple[int, ...], out: int, left: int, margin: int
    ) -> None:
        parts = [
            part(name, received=qty, received_cost=money, on_hand=qty - used)
            for (name, (qty, _)), money, used in zip(
                LOTS.items(), landed_of_lots(), taken, strict=True
            )
        ]
        found = list(positions(*parts).values())
        gone = sum(place.known_money for place in found)
        kept = sum(place.value_of(place.component.on_hand) or 0 for place in found)
        assert (gone, kept) == (out, left), f"{check} {method}: {SOURCE}, {PRIMARY}"
        assert SALES - gone == margin, f"{check} {method}: {SOURCE}, {PRIMARY}"
        assert gone + kept == AVAILABLE, "A09, exact"

    @pytest.mark.parametrize(("check", "method", "taken", "out", "left", "margin"), METHODS)
    def test_pooled_in_one_component_none_of_them_comes_out(
        self, check: str, method: str, taken: tuple[int, ...], out: int, left: int, margin: int
    ) -> None:
        pooled = TestPeriodicWeightedAverage.POOLED
        assert abs(pooled.known_money - out) > 1, f"{check} {method}"


class TestNoMovingAverage:
    """A06 to A08: an average that follows the order of entry; the ledger must not give it."""

    def test_after_the_second_lot(self) -> None:
        """A06: 6 705 over 255 is 26.29; to date 375 came in for 9 225, which is 24.60 each."""
        moving = F(30 * 21 + 225 * 27) / 255
        assert round_half_up(moving, 6) == D("26.294118"), f"A06: {SOURCE}, {PRIMARY}"
        to_date = position(received=375, received_cost=9_225, on_hand=255)
        assert to_date.average == D("24.6")

    def test_what_180_cost(self) -> None:
        """A07: 4 733 by the moving average (4 732 in the running text), 4 970.77 here."""
        moving = 180 * F(6_705) / 255
        assert abs(moving - 4_733) < 1, f"A07: {SOURCE}, {PRIMARY}"
        value = TestPeriodicWeightedAverage.POOLED.value_of(F(180))
        assert value is not None
        assert round_half_up(value, 2) == D("4970.77")

    def test_in_the_end(self) -> None:
        """A08: 7 253 out and 8 902 left at 31.24 by the moving average."""
        unit = (75 * F(6_705) / 255 + 210 * 33) / 285
        assert round_half_up(unit, 6) == D("31.235294"), f"A08: {SOURCE}, {PRIMARY}"
        assert abs(285 * unit - 8_902) < 1
        pooled = TestPeriodicWeightedAverage.POOLED
        assert pooled.average is not None
        assert abs(pooled.average - unit) > 3
        assert abs(pooled.known_money - 7_253) > 1_000


def test_cost_of_a_press_brought_to_work() -> None:
    """A21, read in the primary text: 54 000 + shipping 1 500 + setup 2 500 = 58 000."""
    result = cost(line(price=54_000), charge("haulage", 1_500), charge("other", 2_500))
    assert result.total == 58_000, f"A21: {ASSETS}, {PRIMARY}"
    assert result.price == 54_000


def test_cost_of_one_page_over_a_press_lifetime() -> None:
    """A23: 58 000 less 10 000 over 960 000 pages, 0.05 each (inputs read, rate worked out)."""
    press = position(received=1, received_cost=58_000, sold=1, proceeds=10_000)
    assert press.cost == 48_000
    assert per(press.cost, F(960_000)) == D("0.05"), f"A23: {ASSETS}"
