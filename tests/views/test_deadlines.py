"""Deadlines as they are typed, shown, sorted and listed."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Alerts, Purchase
from materials.queries.checks import find_differences
from materials.services.builds import save_build
from tests.entries import line

# The build stands in Lisbon; there it is half past ten in the morning of a Friday.
NOW = datetime(2026, 12, 4, 10, 30, tzinfo=UTC)
TODAY = NOW.date()


@pytest.fixture(autouse=True)
def clock(monkeypatch):
    monkeypatch.setattr(timezone, "now", lambda: NOW)


@pytest.fixture
def build(build, entries):
    save_build(actor=entries.actor, build=build, values={"time_zone": "Europe/Lisbon"})
    return build


@pytest.fixture
def add(entries):
    """Add an offer or an order by its number and deadline."""
    board = entries.component("Board")

    def make(number: str, day: date | None, at: time | None = None, state: str = "offer"):
        names = ("ends_on", "ends_time") if state == "offer" else ("fetch_on", "fetch_time")
        values = dict(zip(names, (day, at), strict=True))
        return entries.purchase(number, line(board, "3 pieces"), state=state, **values)

    return make


def text(client, name: str, *args, query: str = "") -> str:
    content = client.get(reverse(name, args=args) + query).content.decode()
    return " ".join(content.split())


def typed(**more: str) -> dict[str, str]:
    return {
        "what": "Oak board",
        "quantity_text": "3 pieces",
        "price": "9",
        "price_for": "each",
        "source": "salvage",
        "state": "offer",
        "bought_on": "2026-12-04",
    } | more


@pytest.mark.parametrize(
    ("on", "at", "kept", "due"),
    [
        ("2026-12-05", "18:00", time(18), datetime(2026, 12, 5, 18, tzinfo=UTC)),
        ("2026-12-05", "6:30 pm", time(18, 30), datetime(2026, 12, 5, 18, 30, tzinfo=UTC)),
        ("2027-07-05", "18:00", time(18), datetime(2027, 7, 5, 17, tzinfo=UTC)),
        ("2026-12-05", "", None, datetime(2026, 12, 5, 23, 59, 59, tzinfo=UTC)),
    ],
)
def test_logged_where_an_offer_is_logged(clients, build, on, at, kept, due):
    sent = typed(ends_on=on, ends_time=at)
    answer = clients["owner"].post(reverse("log", args=[build.pk]), sent)
    assert answer.status_code == 302
    made = Purchase.objects.get(build=build)
    assert (str(made.ends_on), made.ends_time, made.due_at) == (on, kept, due)
    assert list(find_differences(build)) == []


@pytest.mark.parametrize(
    ("more", "sentence"),
    [
        ({"ends_time": "18:00"}, "Enter the day too, or leave the time empty."),
        (
            {"ends_on": "2027-03-28", "ends_time": "01:30"},
            "There is no 1:30 on 28 Mar 2027 in Europe/Lisbon: clocks are set forward then.",
        ),
        ({"ends_on": "2026-12-05", "ends_time": "late"}, "Enter a time like 18:00 or 6:30 pm."),
        ({"fetch_on": "soon"}, "Enter a date like 2026-04-03."),
    ],
)
def test_refused_with_a_sentence_and_nothing_typed_is_lost(clients, build, more, sentence):
    answer = clients["owner"].post(reverse("log", args=[build.pk]), typed(**more))
    assert answer.status_code == 422
    content = answer.content.decode()
    assert sentence in content
    for value in more.values():
        assert f'value="{value}"' in content
    assert not Purchase.objects.filter(build=build).exists()


def test_the_boxes_say_whose_clocks(clients, build):
    page = text(clients["owner"], "log", build.pk, query="?state=offer")
    assert "In Europe/Lisbon time. If empty: the end of the day." in page
    for name, kind in (("ends_on", "date"), ("ends_time", "time")):
        assert f'<input type="{kind}" name="{name}"' in page


def test_the_home_shows_what_is_due_and_what_passed_in_words(clients, build, add):
    add("Q1", TODAY, time(18))
    add("Q2", TODAY + timedelta(days=40))
    add("Q3", TODAY, time(9))
    add("P4", TODAY - timedelta(days=1), time(9), "ordered")
    add("P5", TODAY + timedelta(days=2), time(9), "ordered")
    add("Q6", None)
    add("Q7", TODAY - timedelta(days=90))
    page = text(clients["viewer"], "home", build.pk)
    part = page[page.index('id="due-title"') : page.index('id="offers-title"')]
    words = [
        "Overdue since yesterday 9:00.",
        "Ends today 18:00.",
        "Fetch by Sun 9:00.",
        "Ends 13 Jan 2027.",
        "Ended today 9:00.",
    ]
    places = [part.index(one) for one in words]
    assert places == sorted(places)
    # Without a deadline, or with one of long ago: listed as before.
    rest = page[page.index('id="offers-title"') :]
    assert "Other offers" in rest


def test_what_is_overdue_turns_so_while_nothing_changes(clients, build, add, monkeypatch):
    """The figures of the home are kept; what they say of now is not."""
    add("Q1", TODAY, time(18))
    assert "Ends today 18:00." in text(clients["owner"], "home", build.pk)
    monkeypatch.setattr(timezone, "now", lambda: NOW + timedelta(hours=8))
    assert "Ended today 18:00." in text(clients["owner"], "home", build.pk)


def test_the_list_sorts_by_deadline_with_the_undated_last(clients, build, add):
    add("Q1", TODAY + timedelta(days=9))
    add("Q2", None)
    add("Q3", TODAY, time(18))
    add("P4", TODAY + timedelta(days=1), None, "ordered")
    answer = clients["owner"].get(reverse("purchases", args=[build.pk]) + "?sort=due_at")
    rows = [row.record.number for row in answer.context["table"].page.object_list]
    assert rows == ["Q3", "P4", "Q1", "Q2"]
    assert "ends today 18:00" in answer.content.decode()


def test_the_purchase_says_it_whole(clients, build, add):
    offer = add("Q1", date(2026, 12, 5), time(18))
    page = text(clients["owner"], "purchase", build.pk, offer.pk)
    assert "Ends tomorrow 18:00." in page
    assert "5 Dec 2026, 18:00 (Europe/<wbr>Lisbon)" in page
    twice = add("Q2", date(2027, 10, 31), time(1, 30))
    page = text(clients["owner"], "purchase", build.pk, twice.pk)
    assert "31 Oct 2027, 1:30, the first of two (Europe/<wbr>Lisbon)" in page


def test_a_corrected_time_zone_keeps_what_was_typed(clients, build, add, entries):
    offer = add("Q1", date(2026, 12, 5), time(18))
    save_build(actor=entries.actor, build=build, values={"time_zone": "America/Halifax"})
    offer.refresh_from_db()
    assert (offer.ends_time, offer.due_at) == (time(18), datetime(2026, 12, 5, 22, tzinfo=UTC))
    assert list(find_differences(build)) == []


def test_the_page_of_deadlines_and_the_mail_tick(clients, build, add, settings, cast):
    add("Q1", TODAY, time(18))
    settings.CAN_SEND_MAIL = False
    page = text(clients["viewer"], "deadlines", build.pk)
    assert "Ends today 18:00" in page
    assert "This server sends no mail." in page
    settings.CAN_SEND_MAIL = True
    assert "You get no mail about deadlines." in text(clients["viewer"], "deadlines", build.pk)
    url = reverse("deadline_mail", args=[build.pk])
    assert "Your account has no e-mail yet" in clients["viewer"].get(url).content.decode()
    clients["viewer"].post(url, {"wants_mail": "on"})
    made = Alerts.objects.get(member__user=cast["viewer"])
    assert (made.wants_mail, made.site) == (True, "http://testserver")
    clients["viewer"].post(url, {})
    made.refresh_from_db()
    assert not made.wants_mail


def test_whoever_is_no_member_sees_the_list_and_has_no_address(clients, build, cast, add):
    add("Q1", TODAY, time(18))
    user = cast["stranger"]
    type(user).objects.filter(pk=user.pk).update(is_superuser=True)
    page = text(clients["stranger"], "deadlines", build.pk)
    assert "Ends today 18:00" in page
    assert "calendar address" not in page
    for name in ("calendar_make", "calendar_revoke", "deadline_mail"):
        assert clients["stranger"].post(reverse(name, args=[build.pk])).status_code == 404


def test_the_time_zone_is_asked_in_the_details(clients, build):
    page = text(clients["owner"], "build_edit", build.pk)
    assert '<option value="Europe/Lisbon" selected>' in page
    answer = clients["owner"].post(
        reverse("build_edit", args=[build.pk]),
        {"name": "Hill shed", "currency": "USD", "distance_unit": "mi", "time_zone": "Moon/Base"},
    )
    assert answer.status_code in (409, 422)
