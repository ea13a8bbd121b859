"""How deadlines are written: near days by their names, what has passed in words."""

from typing import Any

from django import template
from django.utils import timezone
from django.utils.html import format_html, format_html_join
from django.utils.safestring import mark_safe

from ..calc.deadlines import clock, comes_twice, deadline_words, zone_words
from ..models import Build, Purchase

register = template.Library()


@register.simple_tag
def deadline(purchase: Purchase, build: Build, sentence: bool = False) -> str:
    """“ends today 18:00”, “fetch by Sat 9:00”, stressed once it has passed; empty without one."""
    text = words_of(purchase, build)
    if text and sentence:
        text = f"{text[0].upper()}{text[1:]}."
    if not text or purchase.due_at is None or purchase.due_at >= timezone.now():
        return text
    return format_html('<strong class="is-past">{}</strong>', text)


def words_of(purchase: Purchase, build: Build) -> str:
    """The deadline that counts for a purchase now, in words; empty without one."""
    if purchase.deadline is None:
        return ""
    kind, day, at = purchase.deadline
    return deadline_words(kind, day, at, timezone.now(), build.zone)


def full_words(day: Any, at: Any, build: Build) -> str:
    """A day and time as stated: “5 Dec 2026, 18:00 (Europe/Lisbon)”; may break at the stroke."""
    text = f"{day.day} {day:%b %Y}"
    if at is None:
        return text
    twice = ", the first of two" if comes_twice(day, at, build.zone) else ""
    zone = format_html_join(
        mark_safe("/<wbr>"), "{}", ((part,) for part in zone_words(build.time_zone).split("/"))
    )
    return format_html("{}, {}{} ({})", text, clock(at), twice, zone)
