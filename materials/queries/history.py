"""Reading a change in words: what stood there before, and what after."""

from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from itertools import islice
from typing import Any, NamedTuple

from django.apps import apps
from django.db import models
from django.utils.timezone import localtime

from ..calc.deadlines import clock
from ..calc.money import round_half_up
from ..fields import FixedPointField
from ..models import Build, Change, Component
from ..models.stated import POSITION, derived_fields, parent_link

Row = dict[str, Any]

# What only keeps rows together or in order, and the long table of an estimate.
_HIDDEN = frozenset(
    {"purchase", "conversion", POSITION, "created_at", "added_at", "joined_at", "figures"}
)
# Words for fields, and for rows by their model, that do not say it themselves; tools add theirs.
FIELD_WORDS = {
    "bought_on": "date",
    "converted_on": "date",
    "noted_on": "date",
    "worked_on": "date",
    "handed_on": "date",
    "text": "lesson",
    "author": "noted by",
    "giver": "from",
    "receiver": "to",
    "weight": "part",
    "own_hours_count": "own hours count in settling up",
    "quantity_text": "quantity",
    "used_text": "quantity used",
    "made_text": "quantity made",
    "required_text": "required",
    "price_per_text": "price per",
    "price_breaks": "cheaper from",
    "most_text": "at most",
    "step_text": "sold by",
    "per_text": "per",
    "distance_text": "distance",
    "lot_price_amount": "lot price",
    "line_price_amount": "line price",
    "extra_cost_amount": "extra cost",
    "proceeds_amount": "proceeds",
    "paid_amount": "paid",
    "budget_amount": "budget",
    "usable_percent": "usable, %",
    "waste_percent": "waste allowance, %",
    "new_qty_per_one": "new quantity per one",
    "area_qty": "area",
    "area_unit": "unit",
    "from_on": "from",
    "moved_on": "date",
    "value_amount": "value",
    "was_on_hand": "taken from what was on hand",
    "hand_text": "taken from what was on hand",
    "to_component": "component",
    "to_text": "quantity",
    "lost_percent": "lost, %",
    "hours_each": "hours for one",
    "extra_each": "extra cost of one",
}
ROW_WORDS = {
    "purchaseline": "line",
    "charge": "charge",
    "conversionoutput": "made",
    "retailprice": "new price",
    "buildarea": "area",
    "distancerate": "distance rate",
    "share": "share",
}


def add_words(fields: dict[str, str], rows: dict[str, str]) -> None:
    """Have the history call a tool's fields, and the rows of its models, by these words."""
    FIELD_WORDS.update(fields)
    ROW_WORDS.update(rows)


class Difference(NamedTuple):
    """One thing that changed; “—” where there was or is nothing."""

    what: str
    before: str
    after: str


Names = dict[tuple[type[models.Model], Any], str]
CHUNK = 500


def iterate_history(build: Build) -> Iterator[tuple[Change, list[Difference]]]:
    """Every change of a build with what it made different, newest first.

    The names of the records spoken of are read for many changes at once.
    """
    changes = Change.objects.filter(build=build).select_related("actor").iterator(CHUNK)
    own = frozenset(Component.objects.filter(build=build).values_list("pk", flat=True))
    while chunk := list(islice(changes, CHUNK)):
        rows = [row for change in chunk for row in (*(change.before or ()), *(change.after or ()))]
        names = _names_of(rows)
        for change in chunk:
            yield change, list_differences(change, names, own)


def list_differences(
    change: Change, names: Names | None = None, own: frozenset[int] | None = None
) -> list[Difference]:
    """What a change made different, in words, derived figures left out.

    ``names``: of the records that it speaks of, ``own``: keys of the build's components, where
    they are known already.
    """
    before, after = _by_key(change.before), _by_key(change.after)
    if names is None:
        names = _names_of([*before.values(), *after.values()])
    main = (change.before or change.after or [{"model": "", "pk": None}])[0]
    places: dict[str, int] = defaultdict(int)
    hidden = _far_side(change, main, own)
    listed = []
    for key in dict.fromkeys([*before, *after]):
        old, new = before.get(key), after.get(key)
        kind = key[0].rpartition(".")[2]
        part = ""
        if key != (main["model"], main["pk"]):
            places[kind] += 1
            part = f"{ROW_WORDS.get(kind, kind)} {places[kind]}, "
        kept = (old or new or {"fields": {}})["fields"]
        for name, field in _named_fields(key[0]):
            if name not in kept or name in hidden:
                continue
            was = _text(field, old["fields"].get(name), names) if old else "—"
            now = _text(field, new["fields"].get(name), names) if new else "—"
            if was != now:
                listed.append(Difference(f"{part}{_label(name, field)}".capitalize(), was, now))
    return listed


# The sides of a transfer; each build is shown its own alone.
_SIDES = {
    "component": {"to_component", "to_text", "moved_by"},
    "to_component": {"component", "quantity_text", "was_on_hand", "moved_by"},
}


def _far_side(change: Change, row: Row, own: frozenset[int] | None) -> set[str]:
    if change.record_type != "move":
        return set()
    pk = row["fields"].get("component")
    if own is None:
        own = frozenset(
            Component.objects.filter(pk=pk, build=change.build_id).values_list("pk", flat=True)
        )
    return _SIDES["component" if pk in own else "to_component"]


def list_between(before: list[Row], after: list[Row]) -> list[Difference]:
    """What is different between two states of one record, in words."""
    return list_differences(Change(before=before, after=after))


def _by_key(rows: list[Row] | None) -> dict[tuple[str, Any], Row]:
    return {(row["model"], row["pk"]): row for row in rows or []}


def _label(name: str, field: "models.Field[Any, Any]") -> str:
    return FIELD_WORDS.get(name, str(field.verbose_name))


@cache
def _named_fields(label: str) -> "tuple[tuple[str, models.Field[Any, Any]], ...]":
    """The fields of a kind of record that are named.

    In the order of the model: PostgreSQL does not keep that of what JSON holds.
    """
    model: type[models.Model] = apps.get_model(label)
    hidden = _HIDDEN | derived_fields(model)
    parent = parent_link(model)
    if parent is not None and parent.related_model is not Component:
        hidden |= {parent.name}
    fields = model._meta.concrete_fields
    return tuple((field.name, field) for field in fields if field.name not in hidden)


@cache
def _named_links(label: str) -> tuple[tuple[str, type[models.Model]], ...]:
    fields = _named_fields(label)
    return tuple((name, f.related_model) for name, f in fields if f.related_model is not None)


def _names_of(rows: list[Row]) -> Names:
    """Names of the records that the rows refer to, one query for each kind of record."""
    wanted: dict[type[models.Model], set[Any]] = defaultdict(set)
    for row in rows:
        for name, model in _named_links(row["model"]):
            value = row["fields"].get(name)
            if value is not None:
                wanted[model].add(value)
    return {
        (model, pk): str(record)
        for model, keys in wanted.items()
        for pk, record in model._default_manager.in_bulk(list(keys)).items()
    }


def _text(field: "models.Field[Any, Any]", value: Any, names: Names) -> str:
    if value in (None, "", []):
        return "—"
    if field.related_model is not None:
        return names.get((field.related_model, value), "one that is deleted")
    if isinstance(field, FixedPointField):
        text = f"{round_half_up(field.to_python(value), field.places):f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(field, models.DateTimeField):
        return f"{localtime(field.to_python(value)):%-d %b %Y, %H:%M}"
    if isinstance(field, models.TimeField):
        return clock(field.to_python(value))
    if isinstance(value, dict):
        return "; ".join(
            f"{name.replace('_', ' ')}: {said}" for name, said in sorted(value.items()) if said
        )
    if isinstance(value, list):
        return ", ".join(str(item) for item in value)
    return str(value)
