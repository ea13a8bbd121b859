"""Deadlines as instants, over clock changes of the IANA time zone database (read by zoneinfo).

The changes named here are of that database: Berlin on 29 March and 25 October 2026, New York on
8 March and 1 November 2026, Nuuk at the midnight of 30 March 2024, Apia's left-out 30 December
2011, Lord Howe's half hour on 5 April 2026.
"""

from datetime import UTC, date, datetime, time
from zoneinfo import ZoneInfo

import pytest

from materials.calc.deadlines import (
    Due,
    comes_twice,
    day_words,
    deadline_words,
    instant,
    is_near,
    is_skipped,
    read_time,
)

BERLIN, NEW_YORK = ZoneInfo("Europe/Berlin"), ZoneInfo("America/New_York")
NUUK, APIA, LORD_HOWE = map(ZoneInfo, ("America/Nuuk", "Pacific/Apia", "Australia/Lord_Howe"))


def utc(*parts: int) -> datetime:
    return datetime(*parts, tzinfo=UTC)


@pytest.mark.parametrize(
    ("day", "at", "zone", "when"),
    [
        (date(2026, 1, 5), time(18), BERLIN, utc(2026, 1, 5, 17)),
        (date(2026, 7, 5), time(18), BERLIN, utc(2026, 7, 5, 16)),
        (date(2026, 7, 5), None, BERLIN, utc(2026, 7, 5, 21, 59, 59)),
        # Twice: the first of the two, still in summer time.
        (date(2026, 10, 25), time(2, 30), BERLIN, utc(2026, 10, 25, 0, 30)),
        (date(2026, 11, 1), time(1, 30), NEW_YORK, utc(2026, 11, 1, 5, 30)),
        (date(2026, 4, 5), time(1, 45), LORD_HOWE, utc(2026, 4, 4, 14, 45)),
        # A day of 23 and one of 25 hours end with their last second.
        (date(2026, 3, 29), None, BERLIN, utc(2026, 3, 29, 21, 59, 59)),
        (date(2026, 10, 25), None, BERLIN, utc(2026, 10, 25, 22, 59, 59)),
        # The last hour of the day is skipped, and half a year later comes twice.
        (date(2024, 3, 30), None, NUUK, utc(2024, 3, 31, 0, 59, 59)),
        (date(2024, 10, 26), None, NUUK, utc(2024, 10, 27, 1, 59, 59)),
        (date.max, None, NEW_YORK, datetime.max.replace(microsecond=0, tzinfo=UTC)),
    ],
)
def test_when_that_is(day, at, zone, when):
    assert instant(day, at, zone) == when


@pytest.mark.parametrize(
    ("day", "at", "zone", "skipped", "twice"),
    [
        (date(2026, 3, 29), time(2, 30), BERLIN, True, False),
        (date(2026, 3, 29), time(1, 59), BERLIN, False, False),
        (date(2026, 3, 29), time(3), BERLIN, False, False),
        (date(2026, 3, 8), time(2), NEW_YORK, True, False),
        (date(2026, 10, 25), time(2), BERLIN, False, True),
        (date(2026, 10, 25), time(3), BERLIN, False, False),
        (date(2026, 11, 1), time(1, 59), NEW_YORK, False, True),
        (date(2026, 4, 5), time(1, 29), LORD_HOWE, False, False),
        (date(2026, 4, 5), time(1, 30), LORD_HOWE, False, True),
        (date(2024, 3, 30), time(23, 10), NUUK, True, False),
        (date(2011, 12, 30), time(12), APIA, True, False),
    ],
)
def test_times_that_are_not_there_or_twice(day, at, zone, skipped, twice):
    assert is_skipped(day, at, zone) == skipped
    assert comes_twice(day, at, zone) == twice


def test_a_whole_day_may_be_left_out():
    """Samoa went from 29 to 31 December 2011; a day whose last hour is skipped is there."""
    assert is_skipped(date(2011, 12, 30), None, APIA)
    assert not is_skipped(date(2011, 12, 31), None, APIA)
    assert not is_skipped(date(2024, 3, 30), None, NUUK)


@pytest.mark.parametrize(
    ("text", "read"),
    [
        ("18:00", time(18)),
        ("9:05", time(9, 5)),
        ("18.30", time(18, 30)),
        ("18:30:00", time(18, 30)),
        ("6 pm", time(18)),
        ("6:30 p.m.", time(18, 30)),
        ("12 am", time(0)),
        ("12:15PM", time(12, 15)),
        ("0:00", time(0)),
        ("24:00", None),
        ("18", None),
        ("13 pm", None),
        ("0 am", None),
        ("9:60", None),
        ("noon", None),
        ("18:00:30", None),
        ("", None),
        ("٣:٠٠", None),
    ],
)
def test_times_as_people_write_them(text, read):
    assert read_time(text) == read


TODAY = date(2026, 12, 4)  # a Friday


@pytest.mark.parametrize(
    ("day", "at", "words"),
    [
        (TODAY, time(18), "today 18:00"),
        (date(2026, 12, 5), None, "tomorrow"),
        (date(2026, 12, 3), time(9), "yesterday 9:00"),
        (date(2026, 12, 6), time(9), "Sun 9:00"),
        (date(2026, 12, 10), None, "Thu"),
        (date(2026, 12, 11), None, "11 Dec"),
        (date(2026, 11, 30), None, "30 Nov"),
        (date(2027, 1, 4), time(8, 15), "4 Jan 2027 8:15"),
    ],
)
def test_days_in_words(day, at, words):
    assert day_words(day, at, TODAY) == words


def test_what_has_passed_says_so():
    now = datetime(2026, 12, 4, 18, 30, tzinfo=BERLIN)
    said = {
        (Due.ENDS, time(19)): "ends today 19:00",
        (Due.ENDS, time(18)): "ended today 18:00",
        (Due.ENDS, None): "ends today",
        (Due.FETCH, time(19)): "fetch by today 19:00",
        (Due.FETCH, time(18)): "overdue since today 18:00",
    }
    for (kind, at), words in said.items():
        assert deadline_words(kind, TODAY, at, now, BERLIN) == words


def test_near_is_today_and_tomorrow_where_the_build_stands():
    # Late on the 4th in New York, when it is the 5th in Berlin.
    now = utc(2026, 12, 5, 2)
    due = utc(2026, 12, 6, 6)
    assert is_near(due, now, BERLIN)
    assert not is_near(due, now, NEW_YORK)
    assert not is_near(utc(2026, 12, 5, 1), now, BERLIN)
