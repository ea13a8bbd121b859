"""Too many wrong passwords, and whom they lock out."""

from datetime import timedelta
from urllib.parse import urlencode

import pytest
from axes.models import AccessAttempt, AccessLog
from django.conf import settings
from django.core.management import call_command
from django.test import Client
from django.urls import reverse

from materials.models import Change
from materials.views.attempt_limits import address_of
from tests.views.screens import Page

PASSWORD = "pw-for-tests"
MOST = settings.AXES_FAILURE_LIMIT


def attempt(username="owner", password="wrong", address="198.51.100.1", **more):
    """One sign-in from an address."""
    client = Client(REMOTE_ADDR=address)
    typed = {"username": username, "password": password}
    return client.post(reverse("sign_in"), typed, **more)


def lock(**values):
    """Wrong passwords until it locks; the last answer."""
    answers = [attempt(**values) for _ in range(MOST)]
    assert [answer.status_code for answer in answers[:-1]] == [200] * (MOST - 1)
    return answers[-1]


def age(minutes: int) -> None:
    """Let time pass for what was tried."""
    for row in AccessAttempt.objects.all():
        row.attempt_time -= timedelta(minutes=minutes)
        row.save()


def test_the_page_says_when_to_try_again(cast):
    answer = lock()
    assert answer.status_code == 429
    assert 14 * 60 < int(answer["Retry-After"]) <= 15 * 60 + 1
    text = Page(answer.content.decode()).text
    assert "Too many wrong passwords for this name" in text
    assert "Try again after" in text
    assert "no-store" in answer["Cache-Control"]
    assert "owner" not in text


def test_while_it_is_locked_the_right_password_does_not_open(cast):
    lock()
    assert attempt(password=PASSWORD).status_code == 429


def test_after_a_while_it_does(cast):
    lock()
    age(14)
    assert attempt(password=PASSWORD).status_code == 429
    age(2)
    assert attempt(password=PASSWORD).status_code == 302


def test_trying_while_it_is_locked_makes_it_no_longer(cast):
    lock()
    age(14)
    for _ in range(3):
        assert attempt().status_code == 429
    age(2)
    assert attempt(password=PASSWORD).status_code == 302


def test_others_are_not_locked_out(cast):
    lock()
    assert attempt(password=PASSWORD, address="198.51.100.2").status_code == 302
    assert attempt(username="viewer", password=PASSWORD).status_code == 302


def test_another_browser_at_the_same_address_is_counted_with_it(cast):
    for n in range(MOST):
        answer = attempt(headers={"user-agent": f"browser {n}"})
    assert answer.status_code == 429


def test_getting_in_begins_to_count_anew(cast):
    # Twice: more wrong ones from one address than that are stopped whatever the name is.
    for _ in range(2):
        for _ in range(MOST - 1):
            assert attempt().status_code == 200
        assert attempt(password=PASSWORD).status_code == 302


def test_a_name_of_nobody_is_answered_like_any_other(cast):
    known, unknown = attempt(), attempt(username="nobody-here")
    found = [Page(answer.content.decode()).faults for answer in (known, unknown)]
    assert found[0] == found[1]
    assert lock(username="nobody-two").status_code == 429


def test_whoever_runs_it_opens_it_by_command(cast, capsys):
    lock()
    call_command("axes_reset_username", "owner")
    assert attempt(password=PASSWORD).status_code == 302
    lock(username="viewer")
    call_command("axes_reset")
    assert attempt(username="viewer", password=PASSWORD).status_code == 302


def test_little_is_kept_of_who_failed_and_nothing_of_who_came_in(cast):
    url = reverse("sign_in") + "?next=/join/"
    Client().post(url, {"username": "owner", "password": "my-other-password", "next": "/join/"})
    (row,) = AccessAttempt.objects.all()
    kept = f"{row.get_data} {row.post_data} {row.path_info}"
    assert "my-other-password" not in kept
    assert "/join/" not in kept
    attempt(password=PASSWORD)
    assert not AccessLog.objects.exists()


ODD = {
    "nothing": {},
    "a null": {"username": "a\0b", "password": "x"},
    "a null elsewhere": {"username": "owner", "password": "x", "more": "a\0b"},
    "very long": {"username": "x" * 5000, "password": "y" * 5000},
    "a lone surrogate": {"username": "a%ED%A0%80", "password": "x"},
    "twice": {"username": ["owner", "viewer"], "password": ["x", "y"]},
}


@pytest.mark.parametrize("what", ODD)
def test_odd_input_is_a_refusal_and_no_error(what, cast):
    answer = Client().post(reverse("sign_in"), ODD[what])
    assert answer.status_code == 200
    assert Page(answer.content.decode()).faults


ADDRESSES = {
    # (proxies, own address, X-Forwarded-For) -> whom it counts
    "none in front": ((0, "198.51.100.7", ""), "198.51.100.7"),
    "none in front, and a lie": ((0, "198.51.100.7", "203.0.113.1"), "198.51.100.7"),
    "one": ((1, "10.0.0.1", "203.0.113.1"), "203.0.113.1"),
    "one, and a lie before it": ((1, "10.0.0.1", "192.0.2.1, 203.0.113.1"), "203.0.113.1"),
    "two": ((2, "10.0.0.1", "192.0.2.1, 203.0.113.1, 10.0.0.2"), "203.0.113.1"),
    "one that adds nothing": ((1, "10.0.0.1", ""), "127.0.0.1"),
    "fewer hops than said": ((3, "10.0.0.1", "203.0.113.1"), "10.0.0.1"),
    "nonsense": ((1, "10.0.0.1", "<script>"), "127.0.0.1"),
    "a socket": ((0, "", ""), "127.0.0.1"),
    "IPv6": ((0, "2001:db8:1:2:3:4:5:6", ""), "2001:db8:1:2::"),
    "IPv6 with a zone": ((0, "fe80::1%eth0", ""), "fe80::"),
    "IPv4 within IPv6": ((0, "::ffff:198.51.100.7", ""), "198.51.100.7"),
}


@pytest.mark.parametrize("what", ADDRESSES)
def test_whom_a_limit_counts(what, settings, rf):
    (settings.PROXIES, own, forwarded), expected = ADDRESSES[what]
    request = rf.get("/", REMOTE_ADDR=own, headers={"x-forwarded-for": forwarded})
    assert address_of(request) == expected


def test_behind_a_proxy_each_client_is_counted_apart(cast, settings):
    settings.PROXIES = 1
    lock(headers={"x-forwarded-for": "203.0.113.1"})
    there = {"x-forwarded-for": "203.0.113.2"}
    assert attempt(password=PASSWORD, headers=there).status_code == 302
    lie = {"x-forwarded-for": "203.0.113.2, 203.0.113.1"}
    assert attempt(password=PASSWORD, headers=lie).status_code == 429


def test_what_is_sent_signed_out_is_said_to_be_lost_and_leads_back_to_its_page(build, entries):
    """An undo takes what a page sends and has none of its own to come back to."""
    entries.element("B3")
    change = Change.objects.filter(build=build).latest("pk")
    page = reverse("change", args=[build.pk, change.pk])
    client = Client()
    answer = client.post(
        reverse("change_undo", args=[build.pk, change.pk]),
        headers={"referer": f"http://testserver{page}?of=1"},
    )
    assert answer.url == f"{reverse('sign_in')}?{urlencode({'next': f'{page}?of=1'}, safe='/')}"
    text = client.get(answer.url).content.decode()
    assert "You were signed out, so nothing was saved. Sign in, then go back" in text
    answer = client.post(answer.url, {"username": "owner", "password": PASSWORD}, follow=True)
    assert (answer.status_code, answer.request["PATH_INFO"]) == (200, page)


@pytest.mark.parametrize(
    "page", ["", "https://elsewhere.example/log/", "//elsewhere.example/", "javascript:alert(1)"]
)
def test_a_page_elsewhere_is_not_led_back_to(build, page):
    address = reverse("log", args=[build.pk])
    answer = Client().post(address, {"what": "Old door"}, headers={"referer": page})
    assert answer.url == f"{reverse('sign_in')}?next={address}"


def test_nothing_is_said_to_be_lost_where_a_page_is_asked_for(build):
    client = Client()
    answer = client.get(reverse("log", args=[build.pk]), follow=True)
    assert "nothing was saved" not in answer.content.decode()


def test_an_address_that_only_takes_what_is_sent_has_a_page_to_go_on_from(build, cast):
    client = Client()
    client.force_login(cast["owner"])
    answer = client.get(reverse("sign_out"))
    assert answer.status_code == 405
    assert answer.headers["Allow"] == "POST, OPTIONS"
    assert "Nothing was changed. Go back to the page you came from." in answer.content.decode()
