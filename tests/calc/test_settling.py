"""Sharing of what was paid: equally, as stated, with hours that count and money handed over."""

from decimal import Decimal
from fractions import Fraction

import pytest

from materials.calc.settle import share_out
from tests.calc.builders import ARITHMETIC, F, person


def shares(*paid: str, places: int = 2, counts: tuple[int | None, ...] = ()) -> list[Fraction]:
    people = [
        person(f"p{i}", amount, counts[i] if counts else None) for i, amount in enumerate(paid)
    ]
    return [row.share for row in share_out(people, places)]


class TestEqualSplit:
    def test_a_hundred_among_three(self) -> None:
        """S07: 33.34, 33.33 and 33.33, the sum exact."""
        found = shares("50", "30", "20")
        assert found == [F("33.34"), F("33.33"), F("33.33")], ARITHMETIC
        assert sum(found) == 100, ARITHMETIC

    @pytest.mark.parametrize(
        ("paid", "places", "expected"),
        [
            (["100", "0"], 2, ["100", "0"]),
            (["0.01", "0.01", "0.01"], 2, ["0.01", "0.01", "0.01"]),
            (["0.02", "0.01", "0.02"], 2, ["0.02", "0.02", "0.01"]),
            (["60", "40"], 2, ["50", "50"]),
            (["50", "51"], 0, ["51", "50"]),
            (["1", "0.001"], 3, ["0.501", "0.500"]),
            ([], 2, []),
            (["0"], 2, ["0"]),
        ],
    )
    def test_shares(self, paid: list[str], places: int, expected: list[str]) -> None:
        assert shares(*paid, places=places) == [F(value) for value in expected]


class TestWhoShares:
    def test_only_those_named_as_payer(self) -> None:
        """Who only worked has no share, and owes nothing."""
        rows = share_out([person("Ada", 90), person("Ben", 30), person("Cleo")], 2)
        assert [row.share for row in rows] == [60, 60, 0]
        assert [row.balance for row in rows] == [30, -30, 0]

    def test_who_paid_for_something_free_shares(self) -> None:
        """A trip that cost nothing was still theirs."""
        rows = share_out([person("Ada", 90), person("Ben", 0, paid_for=1)], 2)
        assert [row.share for row in rows] == [45, 45]
        assert [row.balance for row in rows] == [45, -45]

    def test_nobody_paid(self) -> None:
        rows = share_out([person("Ada"), person("Ben")], 2)
        assert [(row.share, row.balance) for row in rows] == [(0, 0), (0, 0)]

    def test_order_of_people_is_kept(self) -> None:
        rows = share_out([person("Cleo"), person("Ada", 5), person("Ben", 6)], 2)
        assert [row.person.name for row in rows] == ["Cleo", "Ada", "Ben"]

    @pytest.mark.parametrize("count", [1, 2, 3, 7])
    def test_balances_cancel_out(self, count: int) -> None:
        paid = [Decimal("10.01") * (i + 1) for i in range(count)]
        rows = share_out([person(str(i), amount) for i, amount in enumerate(paid)], 2)
        assert sum(row.balance for row in rows) == 0
        assert sum(row.share for row in rows) == F(sum(paid))
