"""The server's clock is set back: nobody is kept out, nothing stays open, nothing is lost."""

import re
from datetime import UTC, datetime, timedelta
from decimal import Decimal

import pytest
import time_machine
from django.contrib.auth import get_user_model
from django.test import Client
from django.urls import reverse

from materials.models import Change, LabourEntry, Purchase, Timer
from materials.queries.checks import find_differences
from materials.services.attempt_limits import PASSWORDS, TooMany, check_limit, count_attempt
from materials.services.invitations import invite
from materials.services.reset_links import reset_parts
from tests.access.test_routes import ROUTES, address
from tests.answers import status
from tests.entries import line
from tests.imports.steps import as_text, upload

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 6, 15, 12, 0, tzinfo=UTC)
DAY, YEAR = timedelta(days=1), timedelta(days=365)
BACK = pytest.mark.parametrize("back", [DAY, YEAR], ids=["day", "year"])


@pytest.fixture
def clock():
    """A clock that stands at NOW until it is moved."""
    with time_machine.travel(NOW, tick=False) as moved:
        yield moved


@pytest.fixture
def visitor(clock, cast):
    """Somebody who signed in before the clock was set back."""
    client = Client()
    assert signed_in(client).status_code == 302
    return client


def signed_in(client, password="pw-for-tests"):
    return client.post(reverse("sign_in"), {"username": "owner", "password": password})


def test_every_page_is_still_shown(clock, cast, build, everything):
    clock.move_to(NOW - YEAR)
    client = Client()
    client.force_login(cast["owner"])
    answers = {name: status(client.get(address(name, build, everything))) for name in ROUTES}
    assert answers == {name: row[0]["owner"] for name, row in ROUTES.items()}


@BACK
def test_histories_stay_in_the_order_of_writing(back, clock, entries, build, clients):
    board = entries.component("Board")
    entries.purchase("P1", line(board, "3 pieces", unit_price=Decimal(2)))
    clock.move_to(NOW - back)
    entries.change(board, note="after the clock")
    entries.supplier("Yard")
    written = list(Change.objects.filter(build=build).values_list("record_type", flat=True))
    assert written[:3] == ["supplier", "component", "purchase"]
    clients["owner"].force_login(entries.actor)
    text = clients["owner"].get(reverse("history", args=[build.pk])).content.decode()
    shown = [int(pk) for pk in re.findall(r"/history/(\d+)/\"", text)]
    assert shown == sorted(shown, reverse=True)
    assert len(shown) >= 4
    undone = Change.objects.filter(build=build, record_type="component").first()
    answer = clients["owner"].post(reverse("change_undo", args=[build.pk, undone.pk]))
    assert answer.status_code == 302
    board.refresh_from_db()
    assert board.note == ""
    assert list(find_differences(build)) == []


@BACK
def test_writing_goes_on(back, clock, entries, build, clients):
    board = entries.component("Board")
    clock.move_to(NOW - back)
    clients["owner"].force_login(entries.actor)
    day = (NOW - back).date().isoformat()
    typed = {
        "what": "Board", "quantity_text": "3 pieces", "price": "2", "price_for": "each",
        "source": "salvage", "state": "received", "bought_on": day, "form_token": "x" * 20,
    }  # fmt: skip
    url = reverse("log", args=[build.pk])
    assert clients["owner"].post(url, typed).status_code == 302
    clients["owner"].post(url, typed)
    assert Purchase.objects.filter(build=build, lines__component=board).count() == 1


def test_a_session_outlives_a_small_step_and_no_large_one(clock, cast, visitor):
    for back, code in ((timedelta(minutes=90), 200), (timedelta(days=1), 200)):
        clock.move_to(NOW - back)
        assert visitor.get(reverse("builds")).status_code == code
    # Two weeks of session must not become a year and two weeks.
    clock.move_to(NOW - timedelta(days=365))
    assert visitor.get(reverse("builds")).status_code == 302
    assert signed_in(visitor).status_code == 302
    assert visitor.get(reverse("builds")).status_code == 200
    # Set right again: that session is over, and one signs in as ever.
    clock.move_to(NOW)
    assert visitor.get(reverse("builds")).status_code == 302
    assert signed_in(visitor).status_code == 302
    assert visitor.get(reverse("builds")).status_code == 200


def test_a_session_is_not_ended_by_reading_it_under_the_wrong_clock(clock, cast, visitor):
    clock.move_to(NOW - timedelta(days=365))
    other = Client()
    other.cookies = visitor.cookies.copy()
    other.get(reverse("builds"))
    clock.move_to(NOW)
    assert visitor.get(reverse("builds")).status_code == 200


@BACK
def test_a_locked_sign_in_opens_again(back, clock, cast):
    client = Client()
    for _ in range(8):
        answer = signed_in(client, "wrong")
    assert answer.status_code == 429
    clock.move_to(NOW - back)
    assert signed_in(client).status_code == 302


def test_a_locked_sign_in_is_not_opened_by_a_step_of_minutes(clock, cast):
    client = Client()
    for _ in range(8):
        signed_in(client, "wrong")
    clock.move_to(NOW - timedelta(minutes=5))
    refused = signed_in(client)
    assert refused.status_code == 429
    # Its end is told, and it is a moment at which it does open.
    clock.shift(timedelta(seconds=int(refused["Retry-After"]) + 1))
    assert signed_in(client).status_code == 302


@BACK
def test_limits_begin_anew(back, clock, db):
    for _ in range(PASSWORDS.most):
        count_attempt(limit=PASSWORDS, who="a", at=NOW)
    with pytest.raises(TooMany):
        check_limit(limit=PASSWORDS, who="a", at=NOW)
    with pytest.raises(TooMany) as error:
        check_limit(limit=PASSWORDS, who="a", at=NOW - timedelta(minutes=2))
    assert error.value.until <= NOW + PASSWORDS.within
    check_limit(limit=PASSWORDS, who="a", at=NOW - back)
    count_attempt(limit=PASSWORDS, who="a", at=NOW - back)


def test_a_reset_link_lives_no_longer_than_twice_its_day(clock, cast):
    parts = reset_parts(get_user_model().objects.get(username="owner"))
    url = reverse("password_new", kwargs=parts)

    def opens(at: datetime) -> bool:
        clock.move_to(at)
        return Client().get(url, follow=True).status_code == 200

    assert opens(NOW + timedelta(hours=23))
    assert not opens(NOW + timedelta(hours=25))
    assert opens(NOW - timedelta(hours=2))
    assert not opens(NOW - timedelta(days=365))


def test_an_invitation_lives_no_longer_than_twice_the_longest(clock, cast, build):
    def opens(secret: str, at: datetime) -> bool:
        clock.move_to(at)
        return Client().get(reverse("join_link", args=[secret]), follow=True).status_code == 200

    given = {"actor": cast["owner"], "build": build, "role": "viewer", "note": "", "now": NOW}
    _, secret = invite(**given, days=30)
    assert opens(secret, NOW + timedelta(days=29))
    assert not opens(secret, NOW + timedelta(days=31))
    assert opens(secret, NOW - timedelta(days=1))
    assert not opens(secret, NOW - timedelta(days=365))


def test_a_share_link_keeps_the_day_that_its_owner_chose(clock, entries):
    link, token = entries.share_link("Aunt Ida", expires_on=NOW.date() + timedelta(days=9))
    url = reverse("shared", args=[token])
    for at in (NOW, NOW - timedelta(days=365), NOW + timedelta(days=9)):
        clock.move_to(at)
        assert Client().get(url).status_code == 200
    link.refresh_from_db()
    # Each is counted: an opening of the time before does not hide those after it.
    assert link.opened_count == 3
    clock.move_to(NOW + timedelta(days=10))
    assert Client().get(url).status_code == 404


@BACK
def test_hours_that_are_running_are_asked_for_and_not_dropped(back, clock, cast, build, clients):
    owner = clients["owner"]
    url = reverse("timer", args=[build.pk])
    owner.post(url, {"kind": "installing"})
    assert Timer.objects.count() == 1
    clock.move_to(NOW - back)
    owner.force_login(cast["owner"])
    assert status(owner.get(url)) == 200
    answer = owner.post(url, {"stop": "1"}, follow=True)
    text = answer.content.decode()
    assert "clock was set back while the timer ran" in text.replace("&#x27;", "'")
    assert Timer.objects.count() == 1
    assert LabourEntry.objects.count() == 0


@BACK
def test_uploads_of_an_hour_that_has_not_come_do_not_count(back, clock, entries, monkeypatch):
    monkeypatch.setattr("materials.services.import_jobs.MAX_UPLOADS_AN_HOUR", 1)
    table = as_text([["Date", "Item", "Qty"], ["2026-05-04", "Board", "3 ft"]])
    upload(entries, table)
    clock.move_to(NOW - back)
    upload(entries, table, "second.csv")
