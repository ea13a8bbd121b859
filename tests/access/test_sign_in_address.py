"""Wrong passwords for many names from one address, and whom that keeps out.

OWASP ASVS 5.0.0, 6.3.1: controls against credential stuffing and password guessing. From memory.
"""

from datetime import timedelta

import pytest
from django.test import Client
from django.urls import reverse

from materials.models import Attempt
from materials.services.attempt_limits import SIGN_INS
from tests.views.screens import Page

PASSWORD = "pw-for-tests"
pytestmark = pytest.mark.django_db


def attempt(username="owner", password="wrong", address="198.51.100.1", client=None, **more):
    typed = {"username": username, "password": password}
    client = client or Client()
    return client.post(reverse("sign_in"), typed, REMOTE_ADDR=address, **more)


def guess(count: int, **more) -> list[int]:
    """One password tried on as many names as there are."""
    return [attempt(username=f"name-{n}", **more).status_code for n in range(count)]


def age(minutes: int) -> None:
    for row in Attempt.objects.all():
        row.at -= timedelta(minutes=minutes)
        row.save()


def test_guesses_over_many_names_are_stopped(cast):
    found = guess(25)
    assert found == [200] * SIGN_INS.most + [429] * (25 - SIGN_INS.most)
    answer = attempt(password=PASSWORD)
    assert answer.status_code == 429
    assert "Too many wrong passwords from your network" in Page(answer.content.decode()).text
    assert 0 < int(answer["Retry-After"]) <= 15 * 60 + 1


def test_another_address_is_not(cast):
    guess(SIGN_INS.most)
    assert attempt(password=PASSWORD, address="198.51.100.2").status_code == 302


def test_it_ends_by_itself_however_often_one_tries_meanwhile(cast):
    guess(SIGN_INS.most)
    for _ in range(3):
        assert attempt(password=PASSWORD).status_code == 429
    age(16)
    assert attempt(password=PASSWORD).status_code == 302


def test_getting_in_counts_nothing_and_forgets_nothing(cast):
    """Else who guesses would begin anew by signing in to an account of their own."""
    for _ in range(SIGN_INS.most + 5):
        assert attempt(password=PASSWORD).status_code == 302
    guess(SIGN_INS.most - 1)
    assert attempt(username="stranger", password=PASSWORD).status_code == 302
    assert attempt(username="another").status_code == 200
    assert attempt(username="another").status_code == 429


def test_an_empty_form_counts_nothing(cast):
    for _ in range(SIGN_INS.most + 1):
        assert attempt(password="").status_code == 200


def test_who_was_in_before_gets_in_from_an_address_that_others_spoiled(cast):
    """Whole villages share one address of their carrier."""
    own = Client()
    assert attempt(password=PASSWORD, client=own).status_code == 302
    own.post(reverse("sign_out"))
    guess(SIGN_INS.most)
    assert attempt(username="viewer", password=PASSWORD, client=own).status_code == 429
    assert attempt(password=PASSWORD, client=own).status_code == 302


def test_a_known_device_still_guesses_no_more_than_any_other(cast, settings):
    own = Client()
    attempt(password=PASSWORD, client=own)
    own.post(reverse("sign_out"))
    found = [attempt(client=own).status_code for _ in range(settings.AXES_FAILURE_LIMIT)]
    assert found[-1] == 429
    assert attempt(password=PASSWORD, client=own).status_code == 429


def test_a_made_up_mark_of_a_device_is_worth_nothing(cast):
    planted = Client()
    planted.cookies["known"] = f"{cast['owner'].pk}:1abcde:{'x' * 43}"
    guess(SIGN_INS.most)
    assert attempt(password=PASSWORD, client=planted).status_code == 429
