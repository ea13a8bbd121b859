"""Codes at sign-in: the published values, who gets in with what, and what works once only."""

import base64
import hashlib
import re
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from importlib import import_module

import pytest
import time_machine
from django.apps import apps
from django.core import mail, signing
from django.core.management import call_command
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import AccountEvent, Attempt, RecoveryCode, SecondFactor
from materials.services import mail as mails
from materials.services.accounts import set_password
from materials.services.attempt_limits import CODES, WRONG_CODES
from materials.services.one_time_codes import (
    code_of,
    find_step,
    hash_code,
    new_recovery_code,
    step_at,
)
from materials.services.sealed import unseal
from materials.services.second_step import turn_on
from tests.views.screens import Page

PASSWORD = "pw-for-tests"
KEY = "JBSWY3DPEHPK3PXPJBSWY3DPEHPK3PXP"
NOON = datetime(2026, 6, 6, 12, 0, tzinfo=UTC)
pytestmark = pytest.mark.django_db


# RFC 6238 (May 2011), appendix B; from memory, and each is worked out here.
SEEDS = {"sha1": b"1234567890" * 2, "sha256": (b"1234567890" * 4)[:32]}
SEEDS["sha512"] = (b"1234567890" * 7)[:64]
RFC_6238 = [
    (59, "sha1", "94287082"),
    (59, "sha256", "46119246"),
    (59, "sha512", "90693936"),
    (1111111109, "sha1", "07081804"),
    (1111111109, "sha256", "68084774"),
    (1111111109, "sha512", "25091201"),
    (1111111111, "sha1", "14050471"),
    (1234567890, "sha1", "89005924"),
    (2000000000, "sha1", "69279037"),
    (20000000000, "sha1", "65353130"),
]
# RFC 4226 (December 2005), appendix D; from memory.
RFC_4226 = "755224 287082 359152 969429 338314 254676 287922 162583 399871 520489".split()


@pytest.mark.parametrize(("seconds", "method", "code"), RFC_6238)
def test_codes_are_those_of_the_standard(seconds, method, code):
    assert code_of(SEEDS[method], seconds // 30, digits=8, method=method) == code


def test_counted_codes_are_those_of_the_standard():
    assert [code_of(SEEDS["sha1"], count) for count in range(10)] == RFC_4226


def code_at(now: datetime) -> str:
    return code_of(base64.b32decode(KEY), step_at(now))


@pytest.mark.parametrize(
    ("late", "is_right"), [(-60, False), (-30, True), (0, True), (30, True), (60, False)]
)
def test_a_code_is_right_one_step_early_or_late(late, is_right):
    assert (find_step(KEY, code_at(NOON + timedelta(seconds=late)), NOON) is not None) == is_right


def test_spaces_in_a_code_do_not_matter():
    code = code_at(NOON)
    assert find_step(KEY, f" {code[:3]} {code[3:]} ", NOON) is not None


@pytest.mark.parametrize("typed", ["", "12345", "1234567", "abcdef", "١٢٣٤٥٦", "\0" * 6])
def test_what_is_no_code(typed):
    assert find_step(KEY, typed, NOON) is None


# Signing in


@pytest.fixture
def clock():
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def codes(cast, clock, quick_codes) -> list[str]:
    """Recovery codes of the owner, who has the second step on since a minute ago."""
    made = turn_on(user=cast["owner"], key=KEY, code=code_at(NOON), now=NOON)
    clock.shift(60)
    return made


def now() -> datetime:
    return timezone.now()


def first_step(client: Client | None = None, **more) -> Client:
    client = client or Client()
    answer = client.post(reverse("sign_in"), {"username": "owner", "password": PASSWORD, **more})
    assert answer.url == reverse("sign_in_code")
    return client


def second(client: Client, code: str):
    return client.post(reverse("sign_in_code"), {"code": code})


def is_in(client: Client) -> bool:
    return client.get(reverse("account")).status_code == 200


def test_the_password_alone_opens_nothing(codes, build):
    client = first_step()
    assert not is_in(client)
    assert client.get(reverse("home", args=[build.pk])).status_code == 302
    assert client.get(reverse("outbox")).status_code == 401


def test_the_code_does_and_leads_to_where_one_was_going(codes, build):
    url = reverse("home", args=[build.pk])
    client = Client()
    answer = client.post(
        f"{reverse('sign_in')}?next={url}",
        {"username": "owner", "password": PASSWORD, "next": url},
    )
    answer = second(client, code_at(now()))
    assert answer.url == url
    assert is_in(client)
    assert AccountEvent.objects.filter(user__username="owner", what="signed in").count() == 1


def test_it_gives_a_new_session_at_each_step(codes):
    client = first_step()
    keys = [client.cookies["sessionid"].value]
    second(client, code_at(now()))
    keys.append(client.cookies["sessionid"].value)
    assert len(set(keys)) == 2
    planted = Client()
    planted.cookies["sessionid"] = keys[0]
    assert not is_in(planted)


def test_a_code_works_once(codes, clock):
    """RFC 6238, 5.2: the verifier must not accept the second attempt of the code."""
    code = code_at(now())
    assert second(first_step(), code).status_code == 302
    clock.shift(10)
    answer = second(first_step(), code)
    assert answer.status_code == 422
    assert "used already" in " ".join(Page(answer.content.decode()).faults)
    clock.shift(30)
    assert second(first_step(), code_at(now())).status_code == 302


def test_the_code_that_turned_it_on_does_not_sign_in(cast, clock):
    turn_on(user=cast["owner"], key=KEY, code=code_at(NOON), now=NOON)
    assert second(first_step(), code_at(NOON)).status_code == 422


def test_a_recovery_code_works_once(codes):
    client = first_step()
    assert second(client, codes[3].upper().replace("-", " ")).status_code == 302
    assert is_in(client)
    assert second(first_step(), codes[3]).status_code == 422
    assert second(first_step(), codes[4]).status_code == 302
    assert RecoveryCode.objects.filter(used_at=None).count() == 8


def test_the_hash_of_a_recovery_code_takes_its_work(monkeypatch):
    """scrypt (RFC 7914, section 2) with 128 * n * r bytes: 16 MB."""
    asked = []
    scrypt = hashlib.scrypt
    monkeypatch.setattr(hashlib, "scrypt", lambda *a, **m: asked.append(m) or scrypt(*a, **m))
    salt = bytes(range(16))
    found = hash_code("abcd-efgh-2345-6789", salt.hex())
    (given,) = asked
    assert 128 * given["n"] * given["r"] == 16 * 2**20
    wanted = scrypt(b"abcdefgh23456789", salt=salt, n=2**14, r=8, p=1, dklen=32)
    assert found == wanted.hex()


def test_of_recovery_codes_only_a_slow_hash_is_kept(codes):
    kept = str(list(RecoveryCode.objects.values()))
    assert all(code.replace("-", "") not in kept and code not in kept for code in codes)
    assert len({row.digest for row in RecoveryCode.objects.all()}) == len(set(codes)) == 10


def test_recovery_codes_are_long_and_random():
    assert re.fullmatch(r"([a-z2-9]{4}-){3}[a-z2-9]{4}", new_recovery_code())
    assert len({new_recovery_code() for _ in range(100)}) == 100
    # 31 signs, 16 of them: 79 bits (plain arithmetic).
    assert 2**79 < 31**16 < 2**80


def guess(times: int, *, address="198.51.100.1", client=None) -> list[int]:
    """What wrong codes are answered, typed after the right password."""
    client = first_step(client or Client(REMOTE_ADDR=address))
    return [second(client, "000000").status_code for _ in range(times)]


def test_guessing_codes_rests_after_a_while(codes, clock):
    free = WRONG_CODES.free
    assert guess(free + 1) == [422] * free + [429]
    client = first_step()
    answer = second(client, code_at(now()))
    assert answer.status_code == 429
    assert "Recovery codes and passkeys still work" in answer.content.decode()
    assert int(answer["Retry-After"]) <= 61
    clock.shift(61)
    assert second(client, code_at(now())).status_code == 302


def test_each_wrong_code_makes_the_wait_twice_as_long_up_to_a_day(codes, clock):
    guess(WRONG_CODES.free)
    waits = []
    for n in range(14):
        # From another address each time: those of one are limited besides.
        client = first_step(Client(REMOTE_ADDR=f"198.51.100.{n + 2}"))
        waits.append(int(second(client, "000000")["Retry-After"]))
        clock.shift(waits[-1])
        client = first_step(Client(REMOTE_ADDR=f"198.51.100.{n + 2}"))
        assert second(client, "000000").status_code == 422
    minutes = [round(wait / 60) for wait in waits]
    assert minutes == [1, 2, 4, 8, 16, 32, 64, 128, 256, 512, 1024, 1440, 1440, 1440]


def test_many_addresses_guess_no_more_than_one(codes):
    answers = [guess(1, address=f"203.0.113.{n}") for n in range(20)]
    assert answers.count([422]) == WRONG_CODES.free


def test_a_month_of_guessing_is_worth_little():
    """Plain arithmetic: three of a million codes are right at a time (RFC 6238, 5.2)."""
    waits = [min(2**n, 24 * 60) for n in range(60)]
    after = [sum(waits[:n]) for n in range(60)]
    codes = WRONG_CODES.free + sum(minutes < WRONG_CODES.within.days * 24 * 60 for minutes in after)
    assert codes <= 47
    assert Fraction(3 * codes, 10**6) < Fraction(1, 7000)


def test_a_stranger_who_knows_the_password_keeps_nobody_out(codes, clock):
    """The owner's own browser, a recovery code and another network stay open meanwhile."""
    own = first_step(Client(REMOTE_ADDR="192.0.2.7"))
    assert second(own, code_at(now())).status_code == 302
    clock.shift(60)
    guess(WRONG_CODES.free + 3)
    assert second(first_step(Client(REMOTE_ADDR="203.0.113.1")), codes[0]).status_code == 302
    own.post(reverse("sign_out"))
    assert second(first_step(own), code_at(now())).status_code == 302


def test_in_ones_own_browser_guessing_rests_too(codes, clock):
    own = first_step()
    assert second(own, code_at(now())).status_code == 302
    clock.shift(60)
    own.post(reverse("sign_out"))
    free = WRONG_CODES.free
    assert guess(free + 1, client=own) == [422] * free + [429]


def test_the_right_code_in_ones_own_browser_begins_anew(codes, clock):
    own = first_step()
    for _ in range(2):
        assert second(own, code_at(now())).status_code == 302
        own.post(reverse("sign_out"))
        # Those of one address are limited besides, for a quarter of an hour.
        clock.shift(16 * 60)
        assert guess(WRONG_CODES.free, client=own) == [422] * WRONG_CODES.free
        clock.shift(16 * 60)
        first_step(own)


def test_the_right_code_elsewhere_gives_a_stranger_no_more_guesses(codes, clock):
    guess(WRONG_CODES.free)
    clock.shift(61)
    assert second(first_step(Client(REMOTE_ADDR="192.0.2.9")), code_at(now())).status_code == 302
    assert guess(2, address="203.0.113.1") == [422, 429]


def test_right_codes_are_not_counted(codes, clock):
    for _ in range(2):
        assert second(first_step(), code_at(now())).status_code == 302
        clock.shift(60)
    assert not Attempt.objects.filter(what__in=[WRONG_CODES.what, CODES.what]).exists()


def test_a_new_password_begins_anew(codes, cast):
    guess(WRONG_CODES.free)
    set_password(user=cast["owner"], password="green-oak-and-lime")
    assert not Attempt.objects.filter(what=WRONG_CODES.what).exists()


def test_a_clock_that_was_set_back_makes_no_wait_longer_than_twice(codes, clock):
    guess(WRONG_CODES.free)
    clock.shift(-20 * 86400)
    assert guess(1) == [422]
    clock.shift(20 * 86400 - 3600)
    wait = int(second(first_step(Client(REMOTE_ADDR="192.0.2.9")), "000000")["Retry-After"])
    assert wait <= 2 * 86400


def test_recovery_codes_are_not_tried_without_end(codes, clock):
    client = first_step()
    found = [second(client, "abcd-efgh-jkmn-pqrs").status_code for _ in range(CODES.most + 1)]
    assert found == [422] * CODES.most + [429]
    assert second(client, codes[0]).status_code == 429
    clock.shift(16 * 60)
    assert second(first_step(), codes[0]).status_code == 302


def test_the_key_lies_sealed_in_the_database(codes):
    kept = SecondFactor.objects.get()
    assert KEY not in kept.key
    assert unseal(kept.key, purpose="second factor", owner=kept.user_id) == KEY


def test_under_another_secret_key_no_code_is_right_and_recovery_codes_are(codes, settings):
    settings.SECRET_KEY = "another-one"
    for code in (code_at(now()), code_of(b"", step_at(now()))):
        assert second(first_step(), code).status_code == 422
    assert second(first_step(), codes[0]).status_code == 302


def test_the_migration_seals_keys_and_opens_them_again(cast, settings):
    moved = import_module("materials.migrations.0011_members_gone")
    row = SecondFactor.objects.create(user=cast["owner"], key=KEY, last_step=0)

    def key_then(step) -> str:
        step(apps, None)
        row.refresh_from_db()
        return row.key

    sealed = key_then(moved.seal_keys)
    assert unseal(sealed, purpose="second factor", owner=cast["owner"].pk) == KEY
    assert key_then(moved.open_keys) == KEY
    key_then(moved.seal_keys)
    settings.SECRET_KEY = "another-one"
    lost = key_then(moved.open_keys)
    assert len(lost) == 32
    assert lost != KEY


def test_the_account_is_told_of_wrong_codes_and_mailed_once(codes, cast, settings, monkeypatch):
    settings.CAN_SEND_MAIL = True
    monkeypatch.setattr(mails, "_aside", lambda work: work())
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()
    client = first_step()
    for _ in range(3):
        second(client, "000000")
    assert AccountEvent.objects.filter(what="wrong code").count() == 3
    (sent,) = mail.outbox
    assert sent.to == ["owner@buildledger.example"]
    assert "typed your password, but not your code" in sent.body


def test_too_late_is_asked_for_the_password_again(codes, clock):
    client = first_step()
    clock.shift(10 * 60)
    assert second(client, code_at(now())).url == reverse("sign_in")
    assert not is_in(client)


def test_a_new_password_meanwhile_ends_the_first_step(codes, cast):
    client = first_step()
    cast["owner"].set_password("green-oak-and-lime")
    cast["owner"].save()
    assert second(client, code_at(now())).url == reverse("sign_in")


def test_without_the_first_step_there_is_no_second(codes):
    client = Client()
    assert client.get(reverse("sign_in_code")).url == reverse("sign_in")
    assert second(client, code_at(now())).url == reverse("sign_in")


def test_others_sign_in_as_before(codes):
    typed = {"username": "viewer", "password": PASSWORD}
    client = Client()
    assert client.post(reverse("sign_in"), typed).url == reverse("builds")
    assert is_in(client)


def test_codes_work_after_the_clock_was_set_back(codes, clock):
    second(first_step(), code_at(now()))
    clock.shift(-3600)
    assert second(first_step(), code_at(now())).status_code == 302


# Turning it on and off


def key_on(page: Page) -> str:
    return page.ledger["Key"].replace(" ", "")


def test_it_is_turned_on_with_password_and_code(clock, clients, cast):
    client = clients["owner"]
    answer = client.get(reverse("second_step_on"))
    html = answer.content.decode()
    key = key_on(Page(html))
    assert len(key) == 32
    assert "<svg" in html
    assert "style=" not in html.partition("<svg")[2].partition("</svg>")[0]
    assert "no-store" in answer["Cache-Control"]
    code = code_of(base64.b32decode(key), step_at(NOON))
    kept = Page(html).form.fields["key"]
    for typed in ({"password": "x", "code": code}, {"password": PASSWORD, "code": "000000"}):
        answer = client.post(reverse("second_step_on"), typed | {"key": kept})
        assert answer.status_code == 422
        assert key_on(Page(answer.content.decode())) == key, "the same key as was scanned"
        assert not SecondFactor.objects.exists()
    right = {"password": PASSWORD, "code": code}
    for other in ("", key, signing.dumps(key, salt=f"materials.second step {cast['viewer'].pk}")):
        answer = client.post(reverse("second_step_on"), right | {"key": other})
        assert answer.status_code == 422
        assert key_on(Page(answer.content.decode())) != key, "none of ours: a new one"
        assert not SecondFactor.objects.exists()
    elsewhere = Client()
    elsewhere.force_login(cast["owner"])
    assert is_in(elsewhere)
    answer = client.post(reverse("second_step_on"), right | {"key": kept})
    shown = re.findall(r"(?:[a-z2-9]{4}-){3}[a-z2-9]{4}", answer.content.decode())
    assert len(shown) == 10
    assert SecondFactor.objects.get().user == cast["owner"]
    assert is_in(client), "this session goes on"
    assert not is_in(elsewhere), "whoever else was in is out"
    assert client.get(reverse("second_step_on")).status_code == 302
    assert (
        "10 recovery codes left" in Page(client.get(reverse("second_step")).content.decode()).text
    )
    assert second(first_step(), shown[0]).status_code == 302


def test_it_is_turned_off_with_password_and_code_only(codes, clients):
    client, url = clients["owner"], reverse("second_step_off")
    for typed in (
        {"password": PASSWORD, "code": "000000"},
        {"password": "x", "code": code_at(now())},
        {"password": PASSWORD},
        {},
    ):
        assert client.post(url, typed).status_code == 422
        assert SecondFactor.objects.exists()
    assert client.post(url, {"password": PASSWORD, "code": code_at(now())}).status_code == 302
    assert not SecondFactor.objects.exists()
    assert not RecoveryCode.objects.exists()
    signed = Client().post(reverse("sign_in"), {"username": "owner", "password": PASSWORD})
    assert signed.url == reverse("builds")


def test_new_recovery_codes_end_the_old_ones(codes, clients):
    typed = {"password": PASSWORD, "code": code_at(now())}
    answer = clients["owner"].post(reverse("recovery_codes"), typed)
    shown = re.findall(r"(?:[a-z2-9]{4}-){3}[a-z2-9]{4}", answer.content.decode())
    assert len(set(shown) - set(codes)) == 10
    assert second(first_step(), codes[0]).status_code == 422
    assert second(first_step(), shown[0]).status_code == 302


def test_whoever_runs_it_takes_it_off_by_command(codes, cast, capsys):
    call_command("remove_second_step", "owner")
    assert "password alone" in capsys.readouterr().out
    assert not SecondFactor.objects.exists()
    event = AccountEvent.objects.filter(what="factor off").get()
    assert event.user == cast["owner"]
    assert "command" in event.device
    for name, told in (("owner", "no second step"), ("nobody", "No user is called")):
        with pytest.raises(SystemExit):
            call_command("remove_second_step", name)
        assert told in capsys.readouterr().err


def test_a_reset_password_still_asks_for_the_code(codes, cast):
    """6.4.3 of OWASP ASVS 5.0.0: resetting a password does not get around the second factor."""
    set_password(user=cast["owner"], password="green-oak-and-lime")
    client = Client()
    typed = {"username": "owner", "password": "green-oak-and-lime"}
    assert client.post(reverse("sign_in"), typed).url == reverse("sign_in_code")
    assert not is_in(client)
