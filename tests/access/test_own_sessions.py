"""One's own sessions and log: what they tell, ending them, the idle limit, notices by mail."""

import re
from datetime import timedelta

import pytest
import time_machine
from django.core import mail
from django.core.management import CommandError, call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import AccountEvent, OpenSession
from materials.services import account_log
from materials.views.places import device_words
from tests.views.screens import Page

PASSWORD, NEW = "pw-for-tests", "green-oak-and-lime"
PHONE = "Mozilla/5.0 (Android 15; Mobile; rv:140.0) Gecko/140.0 Firefox/140.0"
DESK = "Mozilla/5.0 (X11; Linux x86_64) AppleWebKit/537.36 Chrome/140.0.0.0 Safari/537.36"
pytestmark = pytest.mark.django_db


def sign_in(name="owner", agent=DESK, address="198.51.100.77") -> Client:
    client = Client(REMOTE_ADDR=address, headers={"user-agent": agent})
    typed = {"username": name, "password": PASSWORD}
    assert client.post(reverse("sign_in"), typed).status_code == 302
    return client


def is_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


def page_of(client: Client, name: str) -> Page:
    return Page(client.get(reverse(name)).content.decode())


def marks(client: Client) -> list[str]:
    return re.findall(r'name="end" value="(\w+)"', page_of(client, "sessions").html)


AGENTS = {
    PHONE: "Firefox on Android",
    DESK: "Chrome on Linux",
    "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0 like Mac OS X) Version/18.0 Safari/604.1": (
        "Safari on iPhone"
    ),
    "Mozilla/5.0 (Windows NT 10.0) Chrome/140.0 Safari/537.36 Edg/140.0": "Edge on Windows",
    "curl/8.0": "",
    "<script>Firefox/": "Firefox",
    "": "",
}


@pytest.mark.parametrize("agent", AGENTS)
def test_a_device_is_called_by_few_words(agent):
    assert device_words(agent) == AGENTS[agent]


def test_the_list_tells_device_network_and_time_and_no_key(cast):
    here, there = sign_in(), sign_in(agent=PHONE, address="2001:db8:1:2:3::4")
    sign_in("viewer")
    page = page_of(here, "sessions")
    assert "Chrome on Linux (this one) 198.51.100.x" in page.text
    assert "Firefox on Android 2001:db8:1::" in page.text
    assert len(marks(here)) == 1, "one's own only, and no button for this one"
    for client in (here, there):
        assert client.cookies["sessionid"].value not in page.html
    assert "198.51.100.77" not in page.html
    assert not OpenSession.objects.filter(address__contains="77").exists()


def test_one_is_ended(cast):
    here, there, third = sign_in(), sign_in(agent=PHONE), sign_in(agent=PHONE)
    (mark, _) = marks(here)
    assert here.post(reverse("sessions"), {"end": mark}).status_code == 302
    assert is_in(here)
    assert sorted([is_in(there), is_in(third)]) == [False, True]
    assert here.post(reverse("sessions"), {"end": mark}).status_code == 302


def test_all_others_are_ended(cast):
    here, there, third, viewer = sign_in(), sign_in(), sign_in(), sign_in("viewer")
    here.post(reverse("sessions"), {"others": "1"})
    assert [is_in(each) for each in (here, there, third, viewer)] == [True, False, False, True]
    assert AccountEvent.objects.filter(user=cast["owner"], what="ended").count() == 1


def test_nobody_ends_anothers(cast):
    owner, viewer, other = sign_in(), sign_in("viewer"), sign_in()
    for mark in marks(owner):
        viewer.post(reverse("sessions"), {"end": mark})
    viewer.post(reverse("sessions"), {"others": "1"})
    assert is_in(owner)
    assert is_in(other)


def test_whoever_runs_it_ends_those_of_an_account_by_command(cast, capsys):
    """7.4.5 of OWASP ASVS 5.0.0."""
    phone, desk, other = sign_in(), sign_in(), sign_in("co_builder")
    call_command("sign_out", "owner")
    assert capsys.readouterr().out == "Sessions ended: 2.\n"
    assert [is_in(client) for client in (phone, desk, other)] == [False, False, True]
    event = AccountEvent.objects.filter(what="ended").get()
    assert (event.user, event.about) == (cast["owner"], "All sessions")
    assert "command" in event.device
    assert is_in(sign_in()), "who signs in again may go on"
    with pytest.raises(SystemExit):
        call_command("sign_out", "nobody")
    assert "No user is called" in capsys.readouterr().err
    for words in ((), ("owner", "--everybody")):
        with pytest.raises(CommandError):
            call_command("sign_out", *words)


def test_whoever_runs_it_ends_those_of_everybody(cast, capsys):
    those = [sign_in(), sign_in(), sign_in("co_builder")]
    call_command("sign_out", "--everybody")
    assert capsys.readouterr().out == "Sessions ended: 3.\n"
    assert not any(map(is_in, those))
    told = AccountEvent.objects.filter(what="ended").values_list("user__username", flat=True)
    assert sorted(told) == ["co_builder", "owner"]
    call_command("sign_out", "--everybody")
    assert capsys.readouterr().out == "Sessions ended: 0.\n"


def test_a_look_ends_nothing(cast):
    here, there = sign_in(), sign_in()
    here.get(reverse("sessions") + f"?end={marks(here)[0]}&others=1")
    assert is_in(there)


def test_last_used_follows_and_is_written_seldom(cast, django_assert_num_queries):
    client = sign_in()
    begun = OpenSession.objects.get(user=cast["owner"]).used_at
    with time_machine.travel(begun + timedelta(minutes=4), tick=False):
        client.get(reverse("account"))
        assert OpenSession.objects.get(user=cast["owner"]).used_at == begun
    later = begun + timedelta(minutes=6)
    with time_machine.travel(later, tick=False):
        client.get(reverse("account"), REMOTE_ADDR="203.0.113.9")
        row = OpenSession.objects.get(user=cast["owner"])
        assert (row.used_at, row.address) == (later, "203.0.113.x")
        assert row.expire_date <= begun + timedelta(days=14, seconds=5), "use makes it no longer"


def test_unused_for_long_it_ends(cast, settings):
    client, start = sign_in(), timezone.now()
    with time_machine.travel(start + settings.IDLE_LIMIT - timedelta(hours=1)):
        assert is_in(client)
    with time_machine.travel(start + settings.IDLE_LIMIT + timedelta(hours=12)):
        assert is_in(client), "it was used an hour before"
    other = sign_in()
    with time_machine.travel(timezone.now() + settings.IDLE_LIMIT + timedelta(minutes=1)):
        assert not is_in(other)
        assert other.get(reverse("outbox")).status_code == 401


def test_who_builds_on_saturdays_stays_signed_in(settings):
    assert timedelta(days=7, hours=12) < settings.IDLE_LIMIT
    assert settings.IDLE_LIMIT.total_seconds() < settings.SESSION_COOKIE_AGE


def test_one_that_waits_for_an_invitation_is_nobodys(cast):
    client = Client()
    client.get(reverse("first_account"))
    client.get(reverse("sign_in"))
    assert not OpenSession.objects.exclude(user=None).exists()


def test_a_new_password_ends_the_others_and_keeps_what_is_known_of_this(cast):
    here, there = sign_in(), sign_in()
    typed = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW}
    assert here.post(reverse("password_change"), typed).status_code == 302
    assert not is_in(there)
    assert "Chrome on Linux (this one)" in page_of(here, "sessions").text


# The log and the mail


def test_signing_in_is_in_ones_own_log_only(cast, owner_has_mail):
    client = sign_in(agent=PHONE)
    assert re.search(
        r"Signed in \d+ \w+ \d{4}, \d\d:\d\d Firefox on Android 198.51.100.x",
        page_of(client, "account_log").text,
    )
    assert "Firefox on Android" not in page_of(sign_in("viewer"), "account_log").text
    assert mail.outbox == [], "no mail for what is done each day"


def test_a_new_password_is_told_by_mail_and_log(cast, owner_has_mail):
    client = sign_in()
    typed = {"old_password": PASSWORD, "new_password1": NEW, "new_password2": NEW}
    client.post(reverse("password_change"), typed)
    (sent,) = mail.outbox
    assert sent.to == ["owner@buildledger.example"]
    assert sent.subject == "The password of your account was changed"
    assert "Chrome on Linux, 198.51.100.x" in sent.body
    assert NEW not in sent.body
    assert "Password changed" in page_of(client, "account_log").text


def test_another_email_is_told_to_the_old_and_the_new_one(cast, owner_has_mail):
    client = sign_in()
    typed = {"shown_name": "", "email": "new@buildledger.example", "password": PASSWORD}
    client.post(reverse("account"), typed)
    assert sorted(sent.to[0] for sent in mail.outbox) == [
        "new@buildledger.example",
        "owner@buildledger.example",
    ]
    assert "E-mail changed" in page_of(client, "account_log").text
    assert "new@" not in mail.outbox[-1].body


def test_the_name_alone_is_told_to_nobody(cast, owner_has_mail):
    client = sign_in()
    typed = {"shown_name": "Olive", "email": "owner@buildledger.example"}
    client.post(reverse("account"), typed)
    assert mail.outbox == []


def test_the_log_keeps_the_newest(cast, monkeypatch):
    monkeypatch.setattr(account_log, "KEPT", 5)
    for n in range(8):
        account_log.note_event(
            user=cast["owner"], what=account_log.AccountEvents.ENDED, about=f"{n}"
        )
    account_log.note_event(user=cast["viewer"], what=account_log.AccountEvents.ENDED)
    kept = AccountEvent.objects.filter(user=cast["owner"]).values_list("about", flat=True)
    assert list(kept) == ["7", "6", "5", "4", "3"]
    assert AccountEvent.objects.filter(user=cast["viewer"]).exists()
