"""A calendar address opens one build's deadlines, for as long as its member belongs to it.

Numbers are requirements of OWASP ASVS 5.0.0: 8.2.1 and 8.2.2 (function and record), 8.3.1.
"""

import secrets
from base64 import urlsafe_b64decode
from hashlib import sha256

import pytest
from django.core import serializers
from django.core.cache import cache
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from icalendar import Calendar

from materials.models import Alerts, Change
from materials.services.alerts import make_address
from materials.services.members import remove_member
from tests.access.test_routes import ANYBODY, ROUTES, address
from tests.entries import FAR, line
from tests.world import once

pytestmark = once("everything")


@pytest.fixture
def offer(entries):
    board = entries.component("Oak board")
    return entries.purchase("Q9", line(board, "3 pieces"), state="offer", ends_on=FAR)


@pytest.fixture
def member(build, cast):
    return build.members.get(user=cast["co_builder"])


@pytest.fixture
def token(member):
    return make_address(member=member, now=timezone.now())


def get(token: str, **headers: str):
    return Client().get(reverse("calendar", args=[token]), headers=headers)


def test_a_secret_is_256_random_bits(member, monkeypatch):
    asked = []

    def token_bytes(count=None):
        asked.append(count)
        return bytes(range(count))

    monkeypatch.setattr(secrets, "token_bytes", token_bytes)
    made = make_address(member=member, now=timezone.now())
    assert asked == [32]
    assert urlsafe_b64decode(made + "=") == bytes(range(32))


def test_only_its_hash_is_kept(token):
    stored = serializers.serialize("json", [*Alerts.objects.all(), *Change.objects.all()])
    assert token not in stored
    assert Alerts.objects.filter(token_hash=sha256(token.encode()).hexdigest()).count() == 1


def test_what_it_answers(token, offer, build):
    answer = get(token)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Cache-Control"] == "private, no-cache"
    assert answer["Referrer-Policy"] == "no-referrer"
    assert answer["X-Robots-Tag"] == "noindex"
    assert not answer.cookies
    (event,) = Calendar.from_ical(answer.content).walk("VEVENT")
    assert event["summary"] == "Ends: 3 pieces Oak board"
    assert event["url"].endswith(reverse("purchase", args=[build.pk, offer.pk]))


def test_what_has_not_changed_is_not_sent_again(token, offer):
    first = get(token)
    again = get(token, if_none_match=first["ETag"])
    assert (again.status_code, again.content, again["ETag"]) == (304, b"", first["ETag"])
    assert again["Cache-Control"] == "private, no-cache"
    offer.supplier = None
    type(offer).objects.filter(pk=offer.pk).update(state="declined", due_at=None)
    assert get(token, if_none_match=first["ETag"]).status_code == 200


def test_a_new_address_ends_the_old_one_and_revoking_ends_it(clients, build, member, token):
    client = clients["co_builder"]
    page = client.post(reverse("calendar_make", args=[build.pk]))
    new = page.context["address"].rstrip("/").rpartition("/")[2]
    assert "no-store" in page["Cache-Control"]
    assert (get(token).status_code, get(new).status_code) == (404, 200)
    client.post(reverse("calendar_revoke", args=[build.pk]))
    assert get(new).status_code == 404
    # Revoking twice, or without an address, is no fault.
    assert client.post(reverse("calendar_revoke", args=[build.pk])).status_code == 302


def test_it_ends_with_the_membership_and_with_the_account(entries, member, token, cast):
    user = cast["co_builder"]
    type(user).objects.filter(pk=user.pk).update(is_active=False)
    assert get(token).status_code == 404
    type(user).objects.filter(pk=user.pk).update(is_active=True)
    assert get(token).status_code == 200
    remove_member(**entries.by, member=member, now=timezone.now())
    assert get(token).status_code == 404
    assert not Alerts.objects.filter(member=member.pk).exists()


def test_a_viewer_makes_one_of_his_own_and_it_shows_this_build_alone(
    clients, build, other_build, cast, entries, offer
):
    page = clients["viewer"].post(reverse("calendar_make", args=[build.pk]))
    made = Alerts.objects.get(member__user=cast["viewer"])
    assert made.member.build_id == build.pk
    assert b"Oak board" in Client().get(page.context["address"]).content
    assert (
        clients["viewer"].post(reverse("calendar_make", args=[other_build.pk])).status_code == 404
    )


def test_openings_are_counted_at_most_once_a_minute_and_heads_are_not(token):
    url = reverse("calendar", args=[token])
    Client().head(url)
    assert Alerts.objects.get(member__role="co-builder").opened_count == 0
    for _ in range(3):
        Client().get(url)
    made = Alerts.objects.get(member__role="co-builder")
    assert made.opened_count == 1
    assert made.last_opened_at is not None


@pytest.mark.parametrize("method", ["post", "put", "patch", "delete"])
def test_it_is_only_read(method, token):
    answer = getattr(Client(), method)(reverse("calendar", args=[token]))
    assert (answer.status_code, answer["Allow"]) == (405, "GET, HEAD")


def test_wrong_secrets_are_limited_as_those_of_share_links_are(token):
    cache.clear()
    codes = [get("x" * 43).status_code for _ in range(31)]
    assert codes == [404] * 30 + [429]
    # A right one is never stopped.
    assert get(token).status_code == 200


@pytest.mark.parametrize("name", sorted(n for n in ROUTES if ROUTES[n][0] is not ANYBODY))
def test_no_other_address_takes_the_secret(name, build, everything, token):
    """8.2.1, 8.3.1: also not that of a shared page."""
    answer = Client().get(
        address(name, build, everything), {"token": token}, headers={"authorization": token}
    )
    assert answer.status_code in (302, 401, 404)
    assert get(everything["share_token"]).status_code == 404
    assert Client().get(reverse("shared", args=[token])).status_code == 404
