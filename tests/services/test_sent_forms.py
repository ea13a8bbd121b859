"""A form is recorded once: in one transaction with its token, also when two arrive at a time."""

import threading
from datetime import timedelta

import pytest
from django.db import connection
from django.utils import timezone

from materials.models import SentForm, Supplier
from materials.services.errors import LedgerError
from materials.services.sent_forms import KEPT, PRUNED_AT_ONCE, record_once
from tests.entries import Entries

TOKEN = "t" * 22


@pytest.fixture
def sent(entries):
    """Send a form that adds a supplier."""

    def send(name="Mill", content="c" * 64, token=TOKEN, actor=None, refuse=False):
        def write():
            entries.supplier(name)
            if refuse:
                raise LedgerError("Not so.")
            return f"/{name}/"

        actor = actor or entries.actor
        return record_once(actor=actor, token=token, content=content, write=write)

    return send


def test_the_same_again_leads_to_what_was_recorded(sent):
    assert (sent().address, sent().is_repeat) == ("/Mill/", True)
    assert Supplier.objects.count() == 1


def test_another_content_is_refused_and_not_recorded(sent):
    sent()
    with pytest.raises(LedgerError, match="saved already, and it has changed since"):
        sent("Yard", "d" * 64)
    assert Supplier.objects.get().name == "Mill"


def test_a_token_is_one_users(sent, cast):
    sent()
    assert not sent("Yard", actor=cast["co_builder"]).is_repeat


def test_what_was_refused_can_be_sent_again(sent):
    with pytest.raises(LedgerError, match="Not so"):
        sent(refuse=True)
    assert not Supplier.objects.exists()
    assert not SentForm.objects.exists()
    assert not sent().is_repeat


@pytest.fixture
def each_looks(monkeypatch):
    """Every form looks for old ones, not one in twenty."""
    monkeypatch.setattr("materials.services.sent_forms.PRUNED_EACH", 1)


def test_one_form_in_twenty_looks_for_old_ones(sent, cast):
    sent()
    SentForm.objects.update(sent_at=timezone.now() - KEPT - timedelta(minutes=1))
    for n in range(20):
        sent(f"Place {n}", token=f"{n:022}")
    assert not SentForm.objects.filter(token=TOKEN).exists()


def test_old_tokens_are_dropped_and_only_ones_own(sent, cast, each_looks):
    sent()
    sent("Yard", actor=cast["co_builder"])
    SentForm.objects.update(sent_at=timezone.now() - KEPT - timedelta(minutes=1))
    sent("Dock", token="u" * 22)
    left = SentForm.objects.values_list("user__username", "token")
    assert sorted(left) == [("co_builder", TOKEN), ("owner", "u" * 22)]


def test_a_form_sent_again_a_year_later_is_recorded_once(sent):
    sent()
    SentForm.objects.update(sent_at=timezone.now() - timedelta(days=399))
    sent("Dock", token="u" * 22)
    assert sent().is_repeat
    assert Supplier.objects.filter(name="Mill").count() == 1


def test_a_year_of_forms_is_dropped_bit_by_bit(sent, cast, each_looks):
    old = timezone.now() - KEPT - timedelta(minutes=1)
    SentForm.objects.bulk_create(
        SentForm(user=cast["owner"], token=f"{n:022}", content="c", sent_at=old)
        for n in range(PRUNED_AT_ONCE + 5)
    )
    sent()
    assert SentForm.objects.filter(sent_at=old).count() == 5
    sent("Dock", token="u" * 22)
    assert sorted(SentForm.objects.values_list("token", flat=True)) == [TOKEN, "u" * 22]


def apart(act):
    """Begin something in a thread, with a connection of its own, as another process has it."""

    def acted():
        try:
            act()
        finally:
            connection.close()

    thread = threading.Thread(target=acted)
    thread.start()
    return thread


@pytest.mark.django_db(transaction=True)
def test_of_two_at_once_one_is_recorded(cast, build):
    """The second waits until the first is done, and then finds it."""
    writing, go_on = threading.Event(), threading.Event()
    lines = []

    def write():
        writing.set()
        go_on.wait(10)
        Entries(cast["owner"], build).supplier("Mill")
        return "/Mill/"

    def send():
        lines.append(record_once(actor=cast["owner"], token=TOKEN, content="c", write=write))

    first = apart(send)
    assert writing.wait(10)
    second = apart(send)
    second.join(0.5)
    assert second.is_alive(), "it waits"
    go_on.set()
    for thread in (first, second):
        thread.join(30)
    # Which thread tells first is no matter.
    assert sorted(done.is_repeat for done in lines) == [False, True]
    assert Supplier.objects.count() == 1
