"""Deadlines as a calendar (iCalendar, RFC 5545), for whatever program a member plans by.

A deadline with a time is the half hour before it, in UTC; a day alone is an event of that day.
Each is told a day and two hours before its end; one of a whole day at nine on the day before and
at seven on the day itself, since nobody fetches anything before midnight. What was taken, declined
or fetched is not there any more. The library folds lines and escapes texts.
"""

from datetime import UTC, timedelta
from uuid import NAMESPACE_OID, uuid5

from icalendar import Alarm, Calendar
from icalendar import Event as CalendarEvent

from ..calc.deadlines import Due
from ..models import Build, Purchase
from ..queries.deadlines import Event

LENGTH = timedelta(minutes=30)
# Before the end of what has a time, and after midnight of a whole day.
BEFORE_END = (timedelta(days=-1), timedelta(hours=-2))
OF_A_DAY = (timedelta(hours=-15), timedelta(hours=7))
WORDS = {Due.ENDS: "Ends", Due.FETCH: "Fetch"}
READ_AGAIN = timedelta(hours=1)


def write_calendar(build: Build, events: list[Event], addresses: dict[int, str]) -> bytes:
    """The calendar of a build's deadlines; ``addresses``: of purchases' pages, by key."""
    calendar = Calendar()
    calendar.add("prodid", "-//buildledger//deadlines//EN")
    calendar.add("version", "2.0")
    calendar.add("name", build.name)
    calendar.add("x-wr-calname", build.name)
    calendar.add("refresh-interval", READ_AGAIN, parameters={"VALUE": "DURATION"})
    for event in events:
        calendar.add_component(_event(build, event, addresses[event.purchase.pk]))
    return bytes(calendar.to_ical())


def uid_of(build: Build, purchase: Purchase, kind: Due) -> str:
    """What a deadline is known by, whatever changes of it and whatever address it is read at."""
    began = build.created_at.astimezone(UTC).isoformat()
    return str(uuid5(NAMESPACE_OID, f"buildledger {began} {purchase.pk} {kind.value}"))


def _event(build: Build, event: Event, address: str) -> CalendarEvent:
    purchase = event.purchase
    assert purchase.deadline is not None
    assert purchase.due_at is not None
    _, day, at = purchase.deadline
    summary = _summary(event)
    made = CalendarEvent()
    made.add("uid", uid_of(build, purchase, event.kind))
    made.add("dtstamp", event.changed_at)
    made.add("last-modified", event.changed_at)
    made.add("sequence", event.changes)
    if at is None:
        made.add("dtstart", day)
        made.add("dtend", day + timedelta(days=1))
    else:
        due = purchase.due_at.astimezone(UTC)
        made.add("dtstart", due - LENGTH)
        made.add("dtend", due)
    made.add("summary", summary)
    made.add("description", _description(event, address))
    if purchase.supplier and purchase.supplier.place:
        made.add("location", purchase.supplier.place)
    made.add("url", address)
    made.add("transp", "TRANSPARENT")
    for trigger in OF_A_DAY if at is None else BEFORE_END:
        made.add_component(_alarm(trigger, summary, of_end=at is not None))
    return made


def _alarm(trigger: timedelta, summary: str, *, of_end: bool) -> Alarm:
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", summary)
    alarm.add("trigger", trigger, parameters={"RELATED": "END"} if of_end else {})
    return alarm


def _summary(event: Event) -> str:
    purchase = event.purchase
    what = event.lines[0] if event.lines else purchase.number
    if len(event.lines) > 1:
        what += f" and {len(event.lines) - 1} more"
    where = f", {purchase.supplier}" if purchase.supplier else ""
    return f"{WORDS[event.kind]}: {what}{where}"


def _description(event: Event, address: str) -> str:
    supplier = event.purchase.supplier
    parts = [f"{event.purchase.number}:", *event.lines]
    if supplier:
        parts.append(", ".join(part for part in (supplier.name, supplier.place) if part))
    return "\n".join([*parts, address])
