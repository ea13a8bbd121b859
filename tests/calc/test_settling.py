"""Sharing of what was paid: equally, as stated, with hours that count and payments."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.settling import settle_rows, share_build, share_out
from materials.calc.types import BuildInput, PersonInput
from tests.calc.builders import ARITHMETIC, F, build, labour, person


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


class TestStatedShares:
    @pytest.mark.parametrize(
        ("paid", "weights", "expected"),
        [
            (["90", "0"], ["2", "1"], ["60", "30"]),
            (["0", "100"], ["60", "40"], ["60", "40"]),
            (["100", "0", "0"], ["33.3", "33.3", "33.3"], ["33.34", "33.33", "33.33"]),
            (["0.05", "0"], ["1", "1"], ["0.03", "0.02"]),
            (["10", "0"], ["0.000001", "0.000002"], ["3.33", "6.67"]),
            (["10", "20"], [None, "1"], ["0", "30"]),
            (["0", "0"], ["1", "1"], ["0", "0"]),
        ],
    )
    def test_by_weight_and_exact(
        self, paid: list[str], weights: list[str | None], expected: list[str]
    ) -> None:
        people = [
            person(str(at), amount, weight=weight)
            for at, (amount, weight) in enumerate(zip(paid, weights, strict=True))
        ]
        assert [row.share for row in share_out(people, 2)] == [F(text) for text in expected]

    def test_who_never_paid_may_bear_a_share_and_who_paid_none(self) -> None:
        rows = share_out([person("Ada", 90), person("Ben", weight=1)], 2)
        assert [(row.share, row.part, row.balance) for row in rows] == [(0, 0, 90), (90, 1, -90)]

    def test_nobody_stated_is_equal_among_those_who_paid(self) -> None:
        rows = share_out([person("Ada", 90), person("Ben", 30), person("Cleo")], 2)
        assert [row.part for row in rows] == [F("1/2"), F("1/2"), 0]


class TestMoneyHandedOver:
    def test_it_moves_the_balances_and_no_share(self) -> None:
        rows = share_out(
            [person("Ada", 90, payments_received=20), person("Ben", 30, payments_made=20)], 2
        )
        assert [row.share for row in rows] == [60, 60]
        assert [row.balance for row in rows] == [10, -10]

    def test_more_than_was_owed_turns_it_round(self) -> None:
        rows = share_out(
            [person("Ada", 90, payments_received=50), person("Ben", 30, payments_made=50)], 2
        )
        assert [row.balance for row in rows] == [-20, 20]


def worked(ada: str = "90", counts: bool = True, rate: str | None = "20") -> BuildInput:
    """Ben worked 3.5 own hours and 2 paid ones; a conversion took 4 hours of nobody's."""
    return build(
        labour("installing", "2.5", person="Ben"),
        labour("installing", 1, 2, 40, task="Roof", person="Ben"),
        labour("preparing", 4),
        persons=(person("Ada", ada), person("Ben")),
        own_labour_rate=rate,
        own_hours_count=counts,
    )


class TestOwnHours:
    def test_they_stand_beside_the_money(self) -> None:
        rows = share_build(worked(counts=False))
        assert [(row.share.balance, row.share.worked, row.hours) for row in rows] == [
            (0, None, 0),
            (0, None, F("5.5")),
        ]

    def test_ticked_they_count_as_paid_by_who_worked(self) -> None:
        """90 and 3.5 h x 20 = 70: 160 to share, 80 each; paid hours and nobody's are out."""
        rows = share_build(worked())
        assert [row.share.worked for row in rows] == [None, 70]
        assert [row.share.person.paid_out for row in rows] == [90, 0]
        assert [row.share.share for row in rows] == [80, 80]
        assert [row.share.balance for row in rows] == [10, -10]

    def test_who_neither_paid_nor_worked_bears_nothing(self) -> None:
        with_cleo = replace(worked(), persons=(person("Ada", 90), person("Ben"), person("Cleo")))
        assert [row.share.share for row in share_build(with_cleo)] == [80, 80, 0]

    def test_their_value_is_rounded_to_the_minor_unit(self) -> None:
        """3.5 x 10.01 = 35.035, half up 35.04; with 90.01 it is 125.05 to share."""
        rows = share_build(worked("90.01", rate="10.01"))
        assert rows[1].share.worked == F("35.04")
        assert [row.share.share for row in rows] == [F("62.53"), F("62.52")]
        assert settle_rows(rows, 2).payments[0].amount == Decimal("27.48")

    def test_a_rate_of_nothing_still_makes_them_bear_a_share(self) -> None:
        rows = share_build(worked(rate="0"))
        assert [row.share.share for row in rows] == [45, 45]

    def test_without_a_rate_none_counts(self) -> None:
        rows = share_build(worked(rate=None))
        assert [row.share.share for row in rows] == [90, 0]


CENTS = st.integers(0, 10**9).map(lambda units: F(units) / 100)
WEIGHTS = st.none() | st.integers(1, 10**9).map(lambda units: F(units) / 10**6)


@given(st.lists(st.tuples(CENTS, WEIGHTS), min_size=1, max_size=9))
@settings(deadline=None)
def test_shares_come_to_the_whole_within_a_unit_of_exact(rows: list[tuple]) -> None:
    people = [
        PersonInput(at, str(at), paid, int(bool(paid)), weight)
        for at, (paid, weight) in enumerate(rows)
    ]
    whole = sum(paid for paid, _ in rows)
    found = share_out(people, 2)
    assert sum(row.share for row in found) == whole
    assert sum(row.balance for row in found) == 0
    for row in found:
        assert abs(row.share - whole * row.part) < F("0.01")
