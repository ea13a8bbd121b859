"""Mail the day before: once for each member, deadline and moment, whatever runs and fails."""

import logging
import threading
from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.core import mail
from django.core.mail.backends.locmem import EmailBackend
from django.core.management import call_command
from django.db import connection
from django.utils import timezone

from materials.models import Member, Reminder
from materials.services import reminders
from materials.services.alerts import want_mail
from materials.services.members import remove_member
from materials.services.purchases import save_purchase
from materials.services.reminders import CLAIMED, send_reminders
from tests.entries import line

# The build stands in UTC; the deadline is on the evening of the 5th.
EVE = datetime(2026, 12, 4, 7, tzinfo=UTC)
SITE = "https://sheds.example"


@pytest.fixture
def member(build, cast) -> Member:
    user = cast["owner"]
    user.email = "owner@example.org"
    user.save()
    member = build.members.get(user=user)
    want_mail(member=member, wanted=True, site=SITE)
    return member


@pytest.fixture
def offer(entries):
    board = entries.component("Board")
    return entries.purchase(
        "Q1",
        line(board, "12 pieces"),
        state="offer",
        supplier="Barn at the ford",
        ends_on=date(2026, 12, 5),
        ends_time=time(18),
    )


class Broken(EmailBackend):
    """A mail server that is not there."""

    def send_messages(self, messages):
        raise ConnectionRefusedError("owner@example.org")


def test_a_mail_says_what_ends_and_where_to_stop_it(member, offer):
    sent = send_reminders(EVE)
    assert (sent.mails, sent.failed) == (1, 0)
    (letter,) = mail.outbox
    assert letter.to == ["owner@example.org"]
    assert letter.subject == "Hill shed: 12 pieces Board, Barn at the ford ends tomorrow 18:00"
    page = f"{SITE}/builds/{offer.build_id}/deadlines/"
    assert f"{SITE}/builds/{offer.build_id}/purchases/{offer.pk}/" in letter.body
    assert page in letter.body
    assert letter.extra_headers["List-Unsubscribe"] == f"<{page}>"


def test_it_is_sent_once_however_often_it_runs(member, offer):
    for hours in range(0, 40, 5):
        send_reminders(EVE + timedelta(hours=hours))
    assert len(mail.outbox) == 1


def test_not_before_the_day_before_and_not_after(member, offer):
    send_reminders(EVE - timedelta(days=1))
    send_reminders(EVE + timedelta(days=2))
    assert mail.outbox == []


def test_another_moment_is_told_again(member, offer, entries):
    send_reminders(EVE)
    save_purchase(
        **entries.by,
        purchase=offer,
        values={"ends_time": time(20)},
        lines=[line(entries.component("Lath"), "3 pieces")],
    )
    send_reminders(EVE)
    send_reminders(EVE)
    assert len(mail.outbox) == 2


def test_all_that_is_due_goes_into_one_mail(member, offer, entries):
    entries.purchase(
        "P9", line(entries.component("Lath"), "3 pieces"), state="ordered", fetch_on=EVE.date()
    )
    send_reminders(EVE)
    (letter,) = mail.outbox
    assert letter.subject == "Hill shed: 3 pieces Lath fetch by today and 1 more"
    assert "ends tomorrow 18:00" in letter.body


def test_what_could_not_be_sent_is_sent_next_time_and_one_line_says_so(
    member, offer, settings, caplog
):
    settings.EMAIL_BACKEND = f"{Broken.__module__}.{Broken.__name__}"
    with caplog.at_level(logging.ERROR):
        sent = send_reminders(EVE)
    assert (sent.mails, sent.failed) == (0, 1)
    (record,) = caplog.records
    assert record.getMessage() == "Mail about deadlines was not sent: ConnectionRefusedError"
    assert "owner@example.org" not in caplog.text
    settings.EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
    assert send_reminders(EVE + timedelta(minutes=1)).mails == 1
    assert send_reminders(EVE + timedelta(minutes=2)).mails == 0


def test_a_claim_of_a_run_that_was_killed_runs_out(member, offer):
    offer.refresh_from_db()
    Reminder.objects.create(member=member, purchase=offer, due_at=offer.due_at, claimed_at=EVE)
    assert send_reminders(EVE + CLAIMED / 2).mails == 0
    assert send_reminders(EVE + CLAIMED).mails == 1
    assert send_reminders(EVE + 3 * CLAIMED).mails == 0


def test_only_who_wants_it_and_belongs_gets_it(member, offer, entries, cast):
    want_mail(member=member, wanted=False, site=SITE)
    send_reminders(EVE)
    helper = entries.build.members.get(user=cast["co_builder"])
    cast["co_builder"].email = "helper@example.org"
    cast["co_builder"].save()
    want_mail(member=helper, wanted=True, site=SITE)
    remove_member(**entries.by, member=helper, now=timezone.now())
    send_reminders(EVE)
    assert mail.outbox == []


def test_an_account_that_is_closed_or_has_no_mail_gets_none(member, offer, cast):
    for change in (
        {"is_active": False, "email": "a@example.org"},
        {"is_active": True, "email": ""},
    ):
        type(cast["owner"]).objects.filter(pk=cast["owner"].pk).update(**change)
        send_reminders(EVE)
    assert mail.outbox == []


def test_mail_is_off_until_somebody_asks(offer, cast):
    cast["owner"].email = "owner@example.org"
    cast["owner"].save()
    send_reminders(EVE)
    assert mail.outbox == []


def test_the_command_says_what_it_did(member, offer, settings, capsys, monkeypatch):
    settings.CAN_SEND_MAIL = False
    with pytest.raises(SystemExit):
        call_command("send_reminders")
    assert "EMAIL_URL" in capsys.readouterr().err
    settings.CAN_SEND_MAIL = True
    monkeypatch.setattr(timezone, "now", lambda: EVE)
    call_command("send_reminders")
    assert capsys.readouterr().out == "Mails sent: 1. Not sent, tried again next time: 0.\n"


@pytest.mark.django_db(transaction=True)
def test_two_runs_at_once_send_one_mail(member, offer, monkeypatch):
    """Both have read what is due before either claims it."""
    both = threading.Barrier(2, timeout=20)
    listed = reminders.list_to_tell

    def slowly(*args):
        found = listed(*args)
        both.wait()
        return found

    monkeypatch.setattr(reminders, "list_to_tell", slowly)
    counts: list[int] = []

    def run() -> None:
        try:
            counts.append(send_reminders(EVE).mails)
        finally:
            connection.close()

    runs = [threading.Thread(target=run) for _ in range(2)]
    for each in runs:
        each.start()
    for each in runs:
        each.join()
    assert sorted(counts) == [0, 1]
    assert len(mail.outbox) == 1
