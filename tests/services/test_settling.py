"""Stating shares, letting own hours count, and noting money that was handed over."""

from datetime import date
from decimal import Decimal as D

import pytest
from django.utils import timezone

from materials.calc.settling import settle_rows
from materials.models import Build, Change, HandOver, Person, Share
from materials.queries.history import list_differences
from materials.queries.reports import get_cost_sheet
from materials.services.builds import get_or_add_person, save_build
from materials.services.errors import LedgerError
from materials.services.records import delete_record, undo_change
from materials.services.settling import record_payment, save_payment
from tests.entries import DAY, line

ON = date(2026, 6, 1)


@pytest.fixture
def paid(entries) -> Build:
    """Ann paid 90, Ben 30, nobody 7; Ann worked 2 hours, Ben 3 that were paid with 60."""
    board = entries.component("Board")
    for number, who, price in (("P1", "Ann", 90), ("P2", "Ben", 30), ("P3", "", 7)):
        entries.purchase(number, line(board, "1 piece", line_price_amount=D(price)), paid_by=who)
    entries.purchase(
        "P4", line(board, "1 piece", line_price_amount=D(5)), paid_by="Ben", state="ordered"
    )
    entries.labour("Ann", 2)
    entries.labour("Ben", 3, paid_amount=D(60))
    return entries.build


def rows(build: Build) -> dict[str, tuple]:
    """Share and balance by name."""
    sheet = get_cost_sheet(Build.objects.get(pk=build.pk), ON)
    return {row.share.person.name: (row.share.share, row.share.balance) for row in sheet.persons}


def last(build: Build) -> Change:
    return Change.objects.filter(build=build).first()


def key(name: str) -> int:
    return Person.objects.get(name=name).pk


def test_equal_shares_of_what_names_a_payer(paid):
    assert rows(paid) == {"Ann": (60, 30), "Ben": (60, -30)}
    assert get_cost_sheet(paid, ON).build.payerless.cost == 7
    assert get_cost_sheet(paid, ON).build.payerless.purchases == 1


def test_stated_shares_for_those_named_and_somebody_new(entries, paid):
    entries.share(Ben="1", Cleo="2")
    assert rows(paid) == {"Ann": (0, 90), "Ben": (40, -10), "Cleo": (80, -80)}


def test_stating_again_changes_drops_and_keeps(entries, paid):
    entries.share(Ann="1", Ben="1")
    kept = Share.objects.get(person__name="Ann").pk
    entries.share(ann="3", Cleo="1")
    assert {share.person.name: share.weight for share in Share.objects.all()} == {
        "Ann": D(3),
        "Cleo": D(1),
    }
    assert Share.objects.get(person__name="Ann").pk == kept
    entries.share()
    assert rows(paid)["Ann"] == (60, 30)


def test_shares_are_one_line_of_history_from_what_to_what(entries, paid):
    entries.share(Ann="2", Ben="1")
    count = Change.objects.count()
    entries.share(hours_count=True, Ann="2", Ben="1.5")
    assert Change.objects.count() == count + 1
    change = last(paid)
    assert (change.record_type, change.action, change.actor) == ("build", "changed", entries.actor)
    assert [tuple(row) for row in list_differences(change)] == [
        ("Own hours count in settling up", "no", "yes"),
        ("Share 2, part", "1", "1.5"),
    ]
    entries.share(hours_count=True, Ann="2", Ben="1.5")
    assert Change.objects.count() == count + 1


def test_shares_are_undone_together(entries, paid):
    entries.share(Ann="2", Ben="1")
    entries.share(hours_count=True, Ben="5", Cleo="1")
    undo_change(**entries.by, change=last(paid))
    assert rows(paid) == {"Ann": (80, 10), "Ben": (40, -10), "Cleo": (0, 0)}
    assert not Build.objects.get(pk=paid.pk).own_hours_count


def test_own_hours_count_at_the_rate_of_the_build(entries, paid):
    """2 h x 20 = 40 beside the 90: 160 to share."""
    entries.share(hours_count=True)
    assert rows(paid) == {"Ann": (80, 50), "Ben": (80, -50)}


def test_hours_without_a_rate_are_refused(entries, paid):
    save_build(**entries.by, values={"own_labour_rate": None})
    count = Change.objects.count()
    with pytest.raises(LedgerError, match="Enter an own labour rate") as refused:
        entries.share(hours_count=True, Ann="1")
    assert refused.value.field == "own_hours_count"
    assert not Share.objects.exists()
    assert Change.objects.count() == count


def test_the_rate_cannot_go_while_hours_count_at_it(entries, paid):
    entries.share(hours_count=True)
    with pytest.raises(LedgerError, match="Untick that there first") as refused:
        save_build(**entries.by, values={"own_labour_rate": None})
    assert refused.value.field == "own_labour_rate"
    save_build(**entries.by, values={"name": "Shed"})
    save_build(**entries.by, values={"own_labour_rate": D(30)})
    assert rows(paid)["Ann"] == (90, 60)
    entries.share()
    save_build(**entries.by, values={"own_labour_rate": None})
    assert Build.objects.get(pk=paid.pk).own_labour_rate is None


@pytest.mark.parametrize(
    ("weights", "words"),
    [
        ({"Ann": "0"}, "a number above zero"),
        ({"Ann": "-1"}, "a number above zero"),
        ({" ": "1"}, "a person's name"),
        ({"Ann": "1", " ann ": "2"}, "Ann has two shares here"),
        ({"x" * 81: "1"}, "at most 80 characters"),
    ],
)
def test_shares_that_cannot_be(weights, words, entries, paid):
    with pytest.raises(LedgerError, match=words):
        entries.share(**weights)
    assert not Share.objects.exists()


def test_who_has_a_share_or_handed_money_over_stays(entries, paid):
    """A person added by mistake can be undone only while nothing names them."""
    get_or_add_person(**entries.by, name="Dora")
    added = last(paid)
    row = entries.hand_over("Dora", "Ann", 5)
    with pytest.raises(LedgerError, match="still used by hand-over"):
        undo_change(**entries.by, change=added)
    delete_record(**entries.by, record=row)
    entries.share(Dora="1")
    with pytest.raises(LedgerError, match="still used by share"):
        undo_change(**entries.by, change=added)
    entries.share()
    undo_change(**entries.by, change=added)
    assert not Person.objects.filter(name="Dora").exists()


def test_money_handed_over_moves_the_balances(entries, paid):
    entries.hand_over("Ben", "Ann", "12.50")
    entries.hand_over("Ben", "Ann", "7.50")
    entries.hand_over("Ann", "Cleo", 1)
    assert rows(paid) == {"Ann": (60, 11), "Ben": (60, -10), "Cleo": (0, -1)}


@pytest.mark.parametrize(
    ("values", "words", "field"),
    [
        ({"amount": "0"}, "above zero", "amount"),
        ({"amount": "-3"}, "above zero", "amount"),
        ({"amount": "1.005"}, "USD has 2 decimals", "amount"),
        ({"receiver": "ben"}, "Nobody pays themselves", "receiver"),
    ],
)
def test_hand_overs_that_cannot_be(values, words, field, entries, paid):
    given = {"giver": "Ben", "receiver": "Ann", "amount": "5"} | values
    with pytest.raises(LedgerError, match=words) as refused:
        entries.hand_over(**given)
    assert refused.value.field == field
    assert not HandOver.objects.exists()


def test_a_change_of_a_hand_over_is_told_and_undone(entries, paid):
    row = entries.hand_over("Ben", "Ann", "5", note="cash")
    values = {"handed_on": DAY, "giver": row.receiver, "receiver": row.giver, "amount": D(6)}
    save_payment(**entries.by, payment=row, values=values)
    lines = [tuple(part) for part in list_differences(last(paid))]
    assert lines == [("From", "Ben", "Ann"), ("To", "Ann", "Ben"), ("Amount", "5", "6")]
    undo_change(**entries.by, change=last(paid))
    row.refresh_from_db()
    assert (row.giver.name, row.amount, row.note) == ("Ben", D(5), "cash")


def test_a_coarser_currency_later_still_settles(entries, paid):
    """Cents that are left from before are rounded alike on both sides."""
    entries.hand_over("Ben", "Ann", "12.50")
    save_build(**entries.by, values={"currency": "JPY"})
    sheet = get_cost_sheet(Build.objects.get(pk=paid.pk), ON)
    assert sheet.build.places == 0
    assert [row.share.balance for row in sheet.persons] == [17, -17]
    assert [row.amount for row in settle_rows(sheet.persons, 0).payments] == [D(17)]


def note(entries, giver: str, receiver: str, amount: str) -> HandOver:
    return record_payment(
        **entries.by,
        giver_id=key(giver),
        receiver_id=key(receiver),
        amount=D(amount),
        on=timezone.localdate(),
    )


def test_a_transfer_is_noted_once(entries, paid):
    noted = note(entries, "Ben", "Ann", "30.00")
    assert (noted.giver.name, noted.receiver.name, noted.amount) == ("Ben", "Ann", D(30))
    assert noted.handed_on == timezone.localdate()
    assert rows(paid) == {"Ann": (60, 0), "Ben": (60, 0)}
    with pytest.raises(LedgerError, match="payment is no longer needed"):
        note(entries, "Ben", "Ann", "30.00")
    assert HandOver.objects.count() == 1


@pytest.mark.parametrize("wrong", [("Ann", "Ben", "30"), ("Ben", "Ann", "29.99")])
def test_only_a_transfer_that_is_due_is_noted(wrong, entries, paid):
    with pytest.raises(LedgerError, match="payment is no longer needed"):
        note(entries, *wrong)
    assert not HandOver.objects.exists()
