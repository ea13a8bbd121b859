"""Deadlines as iCalendar: rules and examples of RFC 5545, and read back by the library.

Sections and examples of the RFC are from memory: 3.1 (lines end with CRLF and are folded at 75
octets, a fold being CRLF and one space), 3.3.11 (backslash, semicolon, comma and line break of a
text are written \\\\ \\; \\, \\n), 3.6.1 (a VEVENT's DTEND comes after its DTSTART, and a DATE has
no time), 3.8.6.3 (a trigger is a duration before the start, or with RELATED=END the end).
"""

import re
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from icalendar import Calendar

from materials.calc.deadlines import Due
from materials.choices import State
from materials.exchange.calendar import uid_of, write_calendar
from materials.models import Build, Purchase
from materials.queries.deadlines import list_events
from materials.services.builds import save_build
from materials.services.purchases import save_purchase
from materials.services.short_form import change_state
from tests.entries import line

NOW = datetime(2026, 12, 1, 12, tzinfo=UTC)
ADDRESS = "https://sheds.example/builds/1/purchases/1/"
# The example of 3.3.11 in our words: a comma, a semicolon, a backslash and an umlaut.
NAME = "Boards, old; dry \\ Lärche"


@pytest.fixture
def build(build, entries) -> Build:
    save_build(actor=entries.actor, build=build, values={"time_zone": "Europe/Lisbon"})
    build.refresh_from_db()
    return build


@pytest.fixture
def offer(build, entries) -> Purchase:
    board = entries.component(NAME)
    made = entries.purchase(
        "Q1",
        line(board, "12 pieces"),
        line(entries.component("Lath"), "40 pieces"),
        state="offer",
        supplier="Barn at the ford",
        ends_on=date(2026, 12, 5),
        ends_time=time(18),
        fetch_on=date(2026, 12, 8),
    )
    made.supplier.place = "Ford Lane 3, Upper Ham"
    made.supplier.save()
    return made


def written(build: Build, now: datetime = NOW) -> bytes:
    events = list_events(build, now)
    return write_calendar(build, events, {event.purchase.pk: ADDRESS for event in events})


def read(build: Build, now: datetime = NOW) -> list:
    return Calendar.from_ical(written(build, now)).walk("VEVENT")


def test_lines_end_with_crlf_and_fold_at_75_octets(build, entries, offer):
    """3.1; a fold never cuts a sign of several octets in two."""
    note = "ä" * 60
    save_purchase(
        **entries.by,
        purchase=offer,
        values={"number": "Q" + "1" * 30},
        lines=[line(entries.component(note), "3 pieces")],
    )
    data = written(build)
    assert data.endswith(b"\r\n")
    assert b"\n" not in data.replace(b"\r\n", b"")
    lines = data.split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert any(one.startswith(b" ") for one in lines)
    for one in lines:
        one.decode()
    assert note in data.replace(b"\r\n ", b"").decode()


def test_texts_are_escaped(build, offer):
    """3.3.11."""
    unfolded = written(build).replace(b"\r\n ", b"").decode()
    (summary,) = re.findall(r"^SUMMARY:(.*)\r$", unfolded, re.MULTILINE)
    assert "Boards\\, old\\; dry \\\\ Lärche" in summary
    (told,) = re.findall(r"^DESCRIPTION:(Q1.*)\r$", unfolded, re.MULTILINE)
    assert "\\n40 pieces Lath\\n" in told


def test_an_event_says_what_is_needed_and_no_price(build, entries, offer):
    (event,) = read(build)
    assert event["summary"] == f"Ends: 12 pieces {NAME} and 1 more, Barn at the ford"
    assert event["location"] == "Ford Lane 3, Upper Ham"
    assert event["url"] == ADDRESS
    assert event.decoded("dtend") == datetime(2026, 12, 5, 18, tzinfo=ZoneInfo("Europe/Lisbon"))
    assert event.decoded("dtend") - event.decoded("dtstart") == timedelta(minutes=30)
    assert event.decoded("dtstamp").tzinfo is not None
    assert written(build).count(b"DTEND:20261205T180000Z") == 1
    assert "$" not in str(event.to_ical())
    assert "price" not in str(event.to_ical()).lower()


def test_alarms_come_a_day_and_two_hours_before_the_end(build, offer):
    """3.8.6.3."""
    (event,) = read(build)
    alarms = event.walk("VALARM")
    assert [alarm["action"] for alarm in alarms] == ["DISPLAY", "DISPLAY"]
    assert all(alarm["description"] for alarm in alarms)
    assert [alarm["trigger"].params["RELATED"] for alarm in alarms] == ["END", "END"]
    triggers = [alarm.decoded("trigger") for alarm in alarms]
    assert triggers == [timedelta(days=-1), timedelta(hours=-2)]


def test_a_day_alone_is_an_event_of_the_day(build, entries, offer):
    """3.6.1: the DATE of DTEND is the day after; told at 9:00 before and at 7:00 of the day."""
    change_state(**entries.by, purchase=offer, state=State.ORDERED, on=date(2026, 12, 1))
    (event,) = read(build)
    assert (event.decoded("dtstart"), event.decoded("dtend")) == (
        date(2026, 12, 8),
        date(2026, 12, 9),
    )
    assert b"DTSTART;VALUE=DATE:20261208" in written(build)
    assert event["summary"].startswith("Fetch: ")
    triggers = [alarm.decoded("trigger") for alarm in event.walk("VALARM")]
    assert triggers == [timedelta(hours=-24 + 9), timedelta(hours=7)]


def test_a_change_keeps_the_uid_and_raises_the_sequence(build, entries, offer):
    (before,) = read(build)
    save_purchase(
        **entries.by,
        purchase=offer,
        values={"ends_time": time(20)},
        lines=[line(entries.component("Lath 2"), "4 pieces")],
    )
    (after,) = read(build)
    assert after["uid"] == before["uid"] == uid_of(build, offer, Due.ENDS)
    assert after["sequence"] == before["sequence"] + 1
    assert after.decoded("last-modified") >= before.decoded("last-modified")
    assert after.decoded("dtend") == datetime(2026, 12, 5, 20, tzinfo=UTC)


def test_what_is_taken_or_declined_vanishes(build, entries, offer):
    ending = read(build)[0]["uid"]
    change_state(**entries.by, purchase=offer, state=State.ORDERED, on=date(2026, 12, 1))
    (fetching,) = read(build)
    assert fetching["uid"] != ending
    offer.refresh_from_db()
    change_state(**entries.by, purchase=offer, state=State.DECLINED, on=date(2026, 12, 1))
    assert read(build) == []


def test_what_passed_long_ago_is_left_out(build, offer):
    assert len(read(build, NOW + timedelta(days=20))) == 1
    assert read(build, NOW + timedelta(days=40)) == []


def test_the_same_deadlines_are_the_same_bytes(build, offer):
    """So that an unchanged calendar is known by its digest; nothing in it is of the hour."""
    assert written(build) == written(build, NOW + timedelta(hours=5))


def test_a_corrected_time_zone_moves_the_moment(build, entries, offer):
    save_build(actor=entries.actor, build=build, values={"time_zone": "America/Halifax"})
    build.refresh_from_db()
    (event,) = read(build)
    assert event.decoded("dtend") == datetime(2026, 12, 5, 22, tzinfo=UTC)
