"""The boxes of deadlines: a day and, if it matters, a time by the build's clocks."""

from typing import Any

from django import forms

from ..calc.deadlines import clock, is_skipped, zone_words
from ..models import Build
from .fields import ClockField, DayField

# The boxes of a day, each with that of its time.
PAIRS = {"ends_on": "ends_time", "fetch_on": "fetch_time"}


def ends_on() -> DayField:
    """The day an offer ends."""
    return DayField(required=False, label="Ends on", help_text="The last day of an offer.")


def ends_time() -> ClockField:
    """The time it ends."""
    return ClockField(required=False, label="Ends at")


def fetch_on() -> DayField:
    """The day by which something ordered must be fetched."""
    return DayField(required=False, label="Fetch by", help_text="Once it is ordered.")


def fetch_time() -> ClockField:
    """The time by which it must be."""
    return ClockField(required=False, label="Fetch by, at")


def name_zone(form: forms.Form, build: Build) -> None:
    """Say at the boxes of times by whose clocks they are meant."""
    help_text = f"In {zone_words(build.time_zone)} time. If empty: the end of the day."
    for name in PAIRS.values():
        if name in form.fields:
            form.fields[name].help_text = help_text


def check_deadlines(form: forms.Form, cleaned: dict[str, Any], build: Build) -> None:
    """Say what is amiss at the box: a time without its day, or one that clocks skip."""
    for day_name, time_name in PAIRS.items():
        day, at = cleaned.get(day_name), cleaned.get(time_name)
        if day_name not in form.fields or form.errors.keys() & {day_name, time_name}:
            continue
        if at is not None and day is None:
            form.add_error(day_name, "Enter the day too, or leave the time empty.")
        elif day is not None and is_skipped(day, at, build.zone):
            what, where = f"{day.day} {day:%b %Y}", zone_words(build.time_zone)
            if at is None:
                form.add_error(day_name, f"There was no {what} in {where}. Enter another day.")
            else:
                form.add_error(
                    time_name,
                    f"There is no {clock(at)} on {what} in {where}: clocks are set forward"
                    " then. Enter another time.",
                )
