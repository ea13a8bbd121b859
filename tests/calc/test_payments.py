"""The fewest payments that settle balances, against published answers and a plain search."""

from collections import defaultdict
from decimal import Decimal
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.settling import MOST_PROVED, Settlement, most_groups, settle
from tests.calc.builders import ARITHMETIC, MEMORY, REPRINTED
from tests.searches import TIMES

Debts = list[tuple[int, int, int]]


def net(debts: Debts) -> list[tuple[int, int]]:
    """Balances from who owes whom how much; above 0 is owed to the person."""
    balances: dict[int, int] = defaultdict(int)
    for debtor, creditor, amount in debts:
        balances[debtor] -= amount
        balances[creditor] += amount
    return sorted(balances.items())


def steps_of(settlement: Settlement) -> list[tuple[int, int, int]]:
    return [(row.payer, row.payee, int(row.amount)) for row in settlement.payments]


# Debts of the stored examples of a settling exercise, what they come to, and the transfers.
PUBLISHED = {
    "S01": (
        [(0, 1, 1000), (2, 0, 2000), (1, 2, 500)],
        {0: 1000, 1: 500, 2: -1500},
        [(2, 0, 1000), (2, 1, 500)],
        f"{REPRINTED}: its transfers are right though its sign line for person 0 is not",
    ),
    "S02": (
        [(0, 1, 2000), (2, 0, 5000), (1, 2, 3000)],
        {0: 3000, 1: -1000, 2: -2000},
        [(1, 0, 1000), (2, 0, 2000)],
        f"{REPRINTED}, its answer (0 pays 2 3000, 1 pays 2 1000) is wrong; {ARITHMETIC}",
    ),
    "S04": (
        [(0, 1, 1000), (0, 2, 2000), (1, 2, 5000)],
        {0: -3000, 1: -4000, 2: 7000},
        [(0, 2, 3000), (1, 2, 4000)],
        f"the classic of three people, {MEMORY}; {ARITHMETIC}",
    ),
}


@pytest.mark.parametrize("name", PUBLISHED)
def test_published_examples(name: str) -> None:
    debts, balances, transfers, status = PUBLISHED[name]
    assert dict(net(debts)) == balances, status
    assert steps_of(settle(net(debts), 0)) == transfers, status


def test_the_flagged_answer_settles_nothing() -> None:
    """S02: with the stored answer 0 would pay 3000, though 3000 is owed to 0."""
    after = dict(net(PUBLISHED["S02"][0]))
    for payer, payee, amount in [(0, 2, 3000), (1, 2, 1000)]:
        after[payer] += amount
        after[payee] -= amount
    assert after != dict.fromkeys(after, 0)


def test_at_most_one_less_than_people_and_fewer_with_groups_that_cancel_out() -> None:
    """S05, as reprinted: 5 people in one group need 4; in two groups that sum to 0, 3."""
    assert len(settle(list(enumerate([50, 31, -20, -25, -36])), 0).payments) == 4, REPRINTED
    assert len(settle(list(enumerate([50, 30, -50, -20, -10])), 0).payments) == 3, REPRINTED
    assert len(settle(list(enumerate([7, 5, -3, -4, -5])), 0).payments) == 3, REPRINTED


def test_where_the_largest_first_would_need_one_more() -> None:
    """9 + 10 - 19 and 7 + 5 - 12, but 10 less 12 breaks both groups up and makes it five."""
    found = settle(list(enumerate([9, 10, 7, 5, -12, -19])), 0)
    assert found.is_proved
    assert steps_of(found) == [(4, 2, 7), (4, 3, 5), (5, 0, 9), (5, 1, 10)]


def test_nothing_to_settle() -> None:
    assert settle([], 2) == Settlement((), True)
    assert settle([("Ada", 0), ("Ben", 0)], 2) == Settlement((), True)


def test_amounts_are_in_the_currency() -> None:
    cents = settle([("Ada", Decimal("0.10")), ("Ben", Decimal("-0.10"))], 2)
    assert [(row.payer, row.payee, str(row.amount)) for row in cents.payments] == [
        ("Ben", "Ada", "0.10")
    ]
    whole = settle([("Ada", 1), ("Ben", -1)], 0)
    assert [str(row.amount) for row in whole.payments] == ["1"]


@pytest.mark.parametrize("balances", [[1], [3, -2], [-1, -1]])
def test_balances_that_do_not_cancel_out_are_refused(balances: list[int]) -> None:
    with pytest.raises(ValueError, match="must sum to 0"):
        settle(list(enumerate(balances)), 0)


def test_a_part_of_a_minor_unit_is_refused() -> None:
    with pytest.raises(ValueError, match="whole minor units"):
        settle([(0, Decimal("0.005")), (1, Decimal("-0.005"))], 2)


def test_twelve_are_proved_and_thirteen_are_not() -> None:
    """Who is even does not count."""
    twelve = [66, *(-at for at in range(1, 12))]
    assert settle(list(enumerate([*twelve, 0, 0])), 0).is_proved
    thirteen = [78, *(-at for at in range(1, 13))]
    found = settle(list(enumerate(thirteen)), 0)
    assert not found.is_proved
    assert len(found.payments) == 12


def test_beyond_twelve_pairs_that_match_come_first() -> None:
    """Four pairs (21, 28, 5 and 8) and five people who need four more; without them it is 10."""
    balances = [-18, -16, -13, -21, -28, -5, 8, 21, 5, 28, 30, 17, -8]
    found = settle(list(enumerate(balances)), 0)
    assert not found.is_proved
    assert len(found.payments) == 8
    assert {(3, 7, 21), (4, 9, 28), (5, 8, 5), (12, 6, 8)} <= set(steps_of(found))


def check_settled(balances: list[tuple[int, int]], found: Settlement) -> None:
    after = dict(balances)
    for row in found.payments:
        assert row.amount > 0
        assert row.payer != row.payee
        after[row.payer] += int(row.amount)
        after[row.payee] -= int(row.amount)
    assert set(after.values()) <= {0}
    open_ones = [amount for _, amount in balances if amount]
    assert len(found.payments) <= max(len(open_ones) - 1, 0)
    # Money goes from who owes to who is owed, never through a third person.
    assert {row.payer for row in found.payments} <= {at for at, amount in balances if amount < 0}
    assert {row.payee for row in found.payments} <= {at for at, amount in balances if amount > 0}


def test_many_people_are_settled_at_once() -> None:
    """Five hundred: no set of them can be looked at, and yet it is quick and exact."""
    balances = [(at, at * 37 % 1009 - 500) for at in range(499)]
    balances.append((499, -sum(amount for _, amount in balances)))
    check_settled(balances, settle(balances, 0))


def cancelling(least: int, most: int, size: int = 10**7):
    """Balances that sum to 0."""
    amounts = st.lists(st.integers(-size, size), min_size=least - 1, max_size=most - 1)
    return amounts.map(lambda rows: list(enumerate([*rows, -sum(rows)])))


@given(cancelling(1, MOST_PROVED))
@settings(max_examples=60 * TIMES, deadline=None)
def test_a_few_are_settled_exactly(balances: list[tuple[int, int]]) -> None:
    found = settle(balances, 0)
    check_settled(balances, found)
    assert found.is_proved


@given(cancelling(14, 60))
@settings(deadline=None)
def test_many_are_settled_exactly(balances: list[tuple[int, int]]) -> None:
    check_settled(balances, settle(balances, 0))


@given(cancelling(13, 40), st.integers(0, 4))
@settings(deadline=None)
def test_the_unit_changes_the_amounts_and_nothing_else(
    balances: list[tuple[int, int]], places: int
) -> None:
    scaled = [(at, Decimal(amount).scaleb(-places)) for at, amount in balances]
    whole = [(row.payer, row.payee, row.amount) for row in settle(balances, 0).payments]
    assert [
        (row.payer, row.payee, row.amount.scaleb(places)) for row in settle(scaled, places).payments
    ] == whole


@cache
def fewest(balances: tuple[int, ...]) -> int:
    """By trying: the first person settles in full with anybody of the other sign, and so on."""
    rest = tuple(amount for amount in balances if amount)
    if not rest:
        return 0
    first, others = rest[0], rest[1:]
    tried = []
    for at, other in enumerate(others):
        if first * other < 0:
            left = (*others[:at], first + other, *others[at + 1 :])
            tried.append(1 + fewest(tuple(sorted(left))))
    return min(tried)


def test_the_plain_search_is_right() -> None:
    assert fewest((5, -5, 3, -3)) == 2
    assert fewest((7, 5, -3, -4, -5)) == 3
    assert fewest((1, 1, 1, -3)) == 3


@given(cancelling(2, 7, size=8))
@settings(max_examples=300 * TIMES, deadline=None)
def test_as_few_as_a_plain_search_finds(balances: list[tuple[int, int]]) -> None:
    amounts = tuple(sorted(amount for _, amount in balances))
    assert len(settle(balances, 0).payments) == fewest(amounts)


@given(cancelling(2, 9, size=6))
@settings(deadline=None)
def test_groups_part_the_people_and_each_cancels_out(balances: list[tuple[int, int]]) -> None:
    amounts = {at: amount for at, amount in balances if amount}
    groups = most_groups(amounts)
    assert sorted(key for group in groups for key in group) == sorted(amounts)
    for group in groups:
        assert sum(group.values()) == 0
        assert len(group) > 1
