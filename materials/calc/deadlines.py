"""Days and times by which something must be done: as instants, and in words.

A deadline is a day, with or without a time, as clocks show it where the build stands. A day alone
ends with its last second. Where clocks are set back and a time comes twice, the first counts:
nobody comes too late for that. Time zones are handed in; their rules are the IANA database's.
"""

import re
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from enum import StrEnum

_TIME = re.compile(
    r"(\d{1,2})(?:[:.](\d{2})(?::00(?:\.0+)?)?)?\s*(?:([ap])\.?\s?m\.?)?",
    re.IGNORECASE | re.ASCII,
)
LAST_SECOND = time(23, 59, 59)
TIME_FORMATS = "like 18:00 or 6:30 pm"


class Due(StrEnum):
    """What a deadline is of: an offer that ends, or something ordered that must be fetched."""

    ENDS = "ends"
    FETCH = "fetch"


def read_time(text: str) -> time | None:
    """A time of day as people write it: 18:00, 18.30, 6 pm, 6:30 p.m.; None for anything else."""
    match = _TIME.fullmatch(text.strip())
    if match is None or not (match[2] or match[3]):
        return None
    hour, minute = int(match[1]), int(match[2] or 0)
    if match[3]:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if match[3].lower() == "p" else 0)
    return time(hour, minute) if hour < 24 and minute < 60 else None


def zone_words(name: str) -> str:
    """A time zone as people read it: “America/New York”."""
    return name.replace("_", " ")


def clock(at: time) -> str:
    """A time of day in words: “9:00”, “18:30”."""
    return f"{at.hour}:{at.minute:02}"


def instant(day: date, at: time | None, zone: tzinfo) -> datetime:
    """When that is, in UTC.

    Of a time that comes twice the first; one that is skipped counts as if the clocks had not
    been set forward; a day alone is over with its last second, the later one of two.
    """
    wall = (
        datetime.combine(day, LAST_SECOND, tzinfo=zone).replace(fold=1)
        if at is None
        else datetime.combine(day, at, tzinfo=zone)
    )
    try:
        return wall.astimezone(UTC)
    except OverflowError:
        # The first or the last day there is.
        return wall.replace(tzinfo=UTC)


def is_skipped(day: date, at: time | None, zone: tzinfo) -> bool:
    """Whether clocks are set forward over that time, or the whole day is left out."""
    there = instant(day, at, zone).astimezone(zone)
    return there.date() != day or (at is not None and there.time() != at)


def comes_twice(day: date, at: time, zone: tzinfo) -> bool:
    """Whether clocks are set back over that time."""
    first = datetime.combine(day, at, tzinfo=zone)
    second = first.replace(fold=1)
    return not is_skipped(day, at, zone) and first.utcoffset() != second.utcoffset()


def day_words(day: date, at: time | None, today: date) -> str:
    """A day near today, and its time: “today 18:00”, “Sat 9:00”, “14 Dec”."""
    ahead = (day - today).days
    near = {-1: "yesterday", 0: "today", 1: "tomorrow"}
    if ahead in near:
        text = near[ahead]
    elif 1 < ahead < 7:
        text = f"{day:%a}"
    else:
        text = f"{day.day} {day:%b}" + (f" {day.year}" if day.year != today.year else "")
    return text if at is None else f"{text} {clock(at)}"


def deadline_words(kind: Due, day: date, at: time | None, now: datetime, zone: tzinfo) -> str:
    """A deadline as it stands now, for the middle of a sentence: “ends today 18:00”.

    One that has passed says so in words: “ended yesterday”, “overdue since Sat 9:00”.
    """
    when = day_words(day, at, now.astimezone(zone).date())
    is_past = instant(day, at, zone) < now
    if kind is Due.ENDS:
        return f"{'ended' if is_past else 'ends'} {when}"
    return f"overdue since {when}" if is_past else f"fetch by {when}"


def is_near(instant_due: datetime, now: datetime, zone: tzinfo) -> bool:
    """Whether what has not passed is due today or tomorrow, where the build stands."""
    last = now.astimezone(zone).date() + timedelta(days=1)
    return now <= instant_due and instant_due.astimezone(zone).date() <= last
