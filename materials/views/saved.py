"""After saving: what was saved, in one line, and what may come next.

The address of the page one comes to says what was saved (``?saved=purchase-12``); whoever saved it
last may undo it from there. Anybody else's address of that kind shows nothing.
"""

from collections.abc import Callable, Set
from dataclasses import dataclass
from typing import Any

from django.db import models
from django.http import HttpRequest
from django.urls import reverse
from django.utils.http import urlencode

from .. import access
from ..choices import State
from ..forms.fields import DayField
from ..forms.short_form_values import fits_quick_form
from ..models import (
    Build,
    Conversion,
    LabourEntry,
    LeftOver,
    Lesson,
    Purchase,
    RetailPrice,
    WayToMake,
)
from ..queries.purchases import get_purchase
from ..queries.records import get_record, list_changes, list_record_changes, number_of
from ..services.acts import Act
from ..templatetags.figures import hours, money_text, rate_text


@dataclass(frozen=True)
class Saved:
    """What was saved, and the addresses of what may come next."""

    text: str
    another: tuple[str, str]
    again: str
    undo: str


def saved_at(address: str, kind: str, record: models.Model) -> str:
    """The address to come to after a record was saved."""
    return f"{address}{'&' if '?' in address else '?'}saved={kind}-{record.pk}"


def read_saved(request: HttpRequest, build: Build) -> Saved | None:
    """What the address says was saved, if the one who looks did it and may undo it."""
    kind, _, key = request.GET.get("saved", "").rpartition("-")
    pk = number_of(key)
    if kind == "act" and pk is not None:
        return _read_act(request, build, pk)
    if kind not in _KINDS or pk is None or not access.may_edit(request.user, build):
        return None
    change = list_record_changes(build, kind.replace("-", " "), pk).first()
    if change is None or change.after is None or change.actor_id != request.user.pk:
        return None
    record = get_record(build, kind, pk)
    if record is None:
        return None
    text, another, again = _KINDS[kind](build, record)
    return Saved(text, another, again, reverse("change_undo", args=[build.pk, change.pk]))


def act_at(address: str, act: Act) -> str:
    """The address to come to after an act of several changes."""
    return address if act.change is None else f"{address}?saved=act-{act.change.pk}"


def _read_act(request: HttpRequest, build: Build, pk: int) -> Saved | None:
    change = list_changes(build).filter(pk=pk, actor=request.user.pk).first()
    if change is None or not access.may_edit(request.user, build):
        return None
    about = ("What it changed", reverse("change", args=[build.pk, pk]))
    return Saved(change.summary, about, "", reverse("change_undo", args=[build.pk, pk]))


Next = tuple[str, tuple[str, str], str]


def _purchase(build: Build, found: Purchase) -> Next:
    record = get_purchase(build, found.pk)
    lines, charges = list(record.lines.all()), list(record.charges.all())
    what = str(lines[0]) if lines else "no lines"
    if len(lines) > 1:
        what += f" and {len(lines) - 1} more"
    price = money_text(record.landed_amount, build.currency)
    if record.unknown_count:
        price = f"{price} and not known" if record.landed_amount else "price not known"
    where = f" from {record.supplier}" if record.supplier else ""
    asked = {"where": record.supplier.name} if record.supplier else {}
    label = "Log another here" if record.supplier else "Log another"
    if record.state == State.OFFER:
        asked["state"], label = State.OFFER.value, label.replace("Log", "Judge")
    log = reverse("log", args=[build.pk])
    form = "log" if fits_quick_form(record, lines, charges) else "purchase_add"
    again = f"{reverse(form, args=[build.pk])}?like={record.pk}"
    return f"{record.number}: {what}{where}, {price}", (label, _with(log, asked)), again


def _labour(build: Build, record: LabourEntry) -> Next:
    of_task = f", {record.task}" if record.task else ""
    text = f"{hours(record.hours)}, {record.person}{of_task}, {record.worked_on:%-d %b %Y}"
    return text, *_forms(build, "labour_add", record, "Log more hours")


def _conversion(build: Build, record: Conversion) -> Next:
    made = "; ".join(str(row) for row in record.outputs.select_related("component"))
    text = f"{record.number}: {record.used_text} {record.source} into {made}"
    return text, *_forms(build, "conversion_add", record, "Log another from this")


def _left_over(build: Build, record: LeftOver) -> Next:
    text = f"{record.quantity_text} {record.component}, {record.get_fate_display().lower()}"
    return text, *_forms(build, "left_over_add", record, "Add other leftovers")


def _price(build: Build, record: RetailPrice) -> Next:
    unit = record.per_text or record.component.unit
    at = f", {record.priced_at}" if record.priced_at else ""
    text = f"{record.component}: {rate_text(record.price, build.currency)} per {unit}{at}"
    return text, *_forms(build, "price_add", record, "Add another price here")


def _way(build: Build, record: WayToMake) -> Next:
    text = f"{record.used_text} {record.source} gives {record.made_text} {record.component}"
    return text, *_forms(build, "way_to_make_add", record, "State another from this")


def _lesson(build: Build, record: Lesson) -> Next:
    return str(record), *_forms(build, "lesson_add", record, "Add another about the same")


def _forms(
    build: Build, name: str, record: models.Model, label: str
) -> tuple[tuple[str, str], str]:
    """The form with what stays the same, and with all of it."""
    address = reverse(name, args=[build.pk])
    return (label, f"{address}?here={record.pk}"), f"{address}?like={record.pk}"


def _with(address: str, asked: dict[str, str]) -> str:
    return f"{address}?{urlencode(asked)}" if asked else address


def begin_like(
    request: HttpRequest, build: Build, kind: str, form_class: Any, stays: Set[str]
) -> dict[str, Any]:
    """What a form begins with where the address wants another like a record.

    ``?like=`` takes all that the form asks but its number and day, ``?here=`` what ``stays``.
    """
    like, here = (number_of(request.GET.get(name)) for name in ("like", "here"))
    pk = here if like is None else like
    record = get_record(build, kind, pk) if pk is not None else None
    if record is None:
        return {}
    names = stays if like is None else form_class.base_fields.keys() - {"number", "suggested"}
    is_new = {name for name in names if isinstance(form_class.base_fields[name], DayField)}
    return {name: getattr(record, name) for name in names - is_new if hasattr(record, name)}


_KINDS: dict[str, Callable[[Build, Any], Next]] = {
    "purchase": _purchase,
    "labour": _labour,
    "conversion": _conversion,
    "left-over": _left_over,
    "price": _price,
    "way-to-make": _way,
    "lesson": _lesson,
}
