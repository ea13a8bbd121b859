"""Passkeys through the pages: added after password and code, used in their place, removed."""

import json
import re
from html import unescape

import pytest
import time_machine
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.models import Passkey, SecondFactor
from materials.services.passkeys import Site
from materials.services.second_step import turn_off, turn_on
from tests.passkey_device import Device
from tests.views.screens import Page

from .test_second_step import KEY, NOON, PASSWORD, code_at, first_step, is_in

pytestmark = pytest.mark.django_db
SITE = Site("testserver", "http://testserver")


@pytest.fixture
def clock():
    with time_machine.travel(NOON, tick=False) as clock:
        yield clock


@pytest.fixture
def on(cast, clock, quick_codes):
    """The owner's second step is on since a minute ago."""
    turn_on(user=cast["owner"], key=KEY, code=code_at(NOON), now=NOON)
    clock.shift(60)


@pytest.fixture
def device() -> Device:
    return Device(SITE)


def options_on(html: str) -> dict:
    """What the page hands to its script."""
    (found,) = re.findall(r'data-options="([^"]*)"', html)
    return json.loads(unescape(found))


def asked(client: Client, **typed) -> dict:
    """Password, code and a name; what the browser is then to make."""
    right = {"name": "Blue key", "password": PASSWORD, "code": code_at(timezone.now())}
    answer = client.post(reverse("passkey_add"), right | typed)
    assert answer.status_code == 200, Page(answer.content.decode()).faults
    return options_on(answer.content.decode())


def add(client: Client, device: Device):
    answer = device.make(asked(client)["challenge"])
    return client.post(reverse("passkey_add"), {"passkey": answer})


def half_in() -> tuple[Client, str]:
    """A browser in which the password was right, and the challenge of its page."""
    client = first_step()
    html = client.get(reverse("sign_in_code")).content.decode()
    return client, options_on(html)["challenge"]


def answer_with(client: Client, answer: str):
    return client.post(reverse("sign_in_code"), {"passkey": answer})


def test_one_is_added_and_signs_in_without_a_code(on, clients, device, build):
    assert add(clients["owner"], device).url == reverse("second_step")
    page = Page(clients["owner"].get(reverse("second_step")).content.decode())
    assert "Blue key 6 Jun 2026" in page.text
    client, challenge = half_in()
    assert not is_in(client)
    assert answer_with(client, device.sign(challenge)).url == reverse("builds")
    assert is_in(client)


def test_password_and_code_are_asked_for_first(on, clients, device):
    url = reverse("passkey_add")
    right = {"name": "Blue key", "password": PASSWORD, "code": code_at(timezone.now())}
    for wrong in ({"password": "x"}, {"code": "000000"}, {"name": ""}, {"password": ""}):
        answer = clients["owner"].post(url, right | wrong)
        assert answer.status_code == 422
        assert "data-options" not in answer.content.decode()
    assert clients["owner"].post(url, {"passkey": device.make("A" * 43)}).url == url
    assert not Passkey.objects.exists()


def test_without_a_second_step_there_is_none(clients):
    assert clients["owner"].get(reverse("passkey_add")).url == reverse("second_step")


def test_what_the_device_made_is_taken_once_and_soon(on, clients, device, clock):
    client, url = clients["owner"], reverse("passkey_add")
    made = device.make(asked(client)["challenge"])
    clock.shift(5 * 60)
    assert client.post(url, {"passkey": made}).url == url
    assert not Passkey.objects.exists()
    made = device.make(asked(client)["challenge"])
    client.post(url, {"passkey": made})
    client.post(url, {"passkey": made})
    assert Passkey.objects.count() == 1


def test_what_was_made_in_another_browser_is_refused(on, clients, cast, device):
    challenge = asked(clients["owner"])["challenge"]
    other = Client()
    other.force_login(cast["owner"])
    other.post(reverse("passkey_add"), {"passkey": device.make(challenge)})
    clients["viewer"].post(reverse("passkey_add"), {"passkey": device.make(challenge)})
    assert not Passkey.objects.exists()


def test_an_answer_signs_in_once(on, clients, device):
    add(clients["owner"], device)
    client, challenge = half_in()
    answer = device.sign(challenge)
    assert answer_with(client, answer).status_code == 302
    again, _ = half_in()
    refused = answer_with(again, answer)
    assert refused.status_code == 422
    assert "not accepted" in refused.content.decode()
    assert not is_in(again)


def test_a_wrong_answer_uses_the_challenge_up(on, clients, device):
    add(clients["owner"], device)
    client, challenge = half_in()
    refused = answer_with(client, "{}")
    assert refused.status_code == 422
    assert answer_with(client, device.sign(challenge)).status_code == 422
    fresh = options_on(client.get(reverse("sign_in_code")).content.decode())["challenge"]
    assert fresh != challenge
    assert answer_with(client, device.sign(fresh)).status_code == 302


def test_reading_the_page_again_asks_the_same(on, clients, device):
    add(clients["owner"], device)
    client, challenge = half_in()
    assert (
        options_on(client.get(reverse("sign_in_code")).content.decode())["challenge"] == challenge
    )


def test_a_code_does_all_the_same(on, clients, device, clock):
    add(clients["owner"], device)
    clock.shift(60)
    client, _ = half_in()
    typed = {"code": code_at(timezone.now())}
    assert client.post(reverse("sign_in_code"), typed).status_code == 302


def test_a_passkey_alone_opens_nothing(on, clients, device):
    add(clients["owner"], device)
    client = Client()
    assert answer_with(client, device.sign("A" * 43)).url == reverse("sign_in")
    assert not is_in(client)


def test_under_another_name_of_the_server_it_is_none(on, clients, device, settings):
    add(clients["owner"], device)
    settings.ALLOWED_HOSTS = ["*"]
    client, challenge = half_in()
    sent = {"passkey": device.sign(challenge)}
    refused = client.post(reverse("sign_in_code"), sent, headers={"host": "ledger.example"})
    assert refused.status_code == 422


def test_one_is_removed_with_the_password(on, clients, device, cast):
    add(clients["owner"], device)
    url = reverse("passkey_remove", args=[Passkey.objects.get().pk])
    assert clients["viewer"].post(url, {"password": PASSWORD}).url == reverse("second_step")
    assert clients["owner"].post(url, {"password": "x"}).status_code == 422
    assert Passkey.objects.count() == 1
    assert clients["owner"].post(url, {"password": PASSWORD}).url == reverse("second_step")
    assert not Passkey.objects.exists()
    assert "data-options" not in first_step().get(reverse("sign_in_code")).content.decode()


def test_turning_the_second_step_off_takes_them_off(on, clients, device, cast):
    add(clients["owner"], device)
    turn_off(user=cast["owner"])
    assert not Passkey.objects.exists()
    assert not SecondFactor.objects.exists()
