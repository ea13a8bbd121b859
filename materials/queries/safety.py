"""The usual cautions for what a build has logged."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from datetime import date
from functools import cache
from typing import Any

from ..calc.safety.cautions import (
    Caution,
    Item,
    Trait,
    cautions_by_rule,
    cautions_for,
    guess_traits,
    made_of,
    with_words,
)
from ..choices import State
from ..models import Build, CautionNote, Component, ConversionOutput, Move, Purchase, PurchaseLine
from ..models.stated import stated_fields

# What a caution may ask of a line: all that is stated of one and that an item takes.
OF_LINE = tuple(
    name for name in stated_fields(PurchaseLine) if name in {field.name for field in fields(Item)}
)
# Where a purchase may tell of a fire or of no use before.
_NOTES = ("note", "purchase__note")
_PLACES = ("purchase__supplier__name", "purchase__supplier__place", "purchase__supplier__note")
_CAUTION_FIELDS = tuple(name for name in OF_LINE if name != "note")


def traits_of(component: Component) -> frozenset[Trait]:
    """What was ticked about a component, and what its name lets one guess."""
    ticked = {Trait(value) for value in component.traits if value in set(Trait)}
    return frozenset(ticked) | guess_traits(component.name, component.note)


def item_of(component: Component) -> Item:
    """A component as the cautions take it, wherever it came from."""
    element = component.element
    return with_words(
        Item(
            name=component.name,
            element_code=element.code if element else "",
            element_name=element.name if element else "",
            traits=traits_of(component),
        ),
        component.note,
    )


def _of_line(part: Item, row: dict[str, Any]) -> Item:
    """A purchase line as the cautions take it."""
    item = replace(part, **{name: row[name] for name in _CAUTION_FIELDS})
    item = replace(item, through_fire=part.through_fire or item.through_fire)
    return with_words(
        item, *(row[name] or "" for name in _NOTES), places=[row[name] or "" for name in _PLACES]
    )


def cautions_of(lines: Iterable[PurchaseLine], purchase: Purchase | None = None) -> list[Caution]:
    """The cautions of some lines, each once, in the order of the rules.

    ``purchase`` is theirs where they are not saved and cannot tell it.
    """
    items = []
    for line in lines:
        of = purchase or line.purchase
        row = {name: getattr(line, name) for name in OF_LINE} | {
            "purchase__note": of.note,
            **{name: getattr(of.supplier, name.rpartition("__")[2], "") for name in _PLACES},
        }
        items.append(_of_line(item_of(line.component), row))
    return [caution for caution, _ in cautions_by_rule(items)]


@dataclass(frozen=True)
class DealtWith:
    """What was done about a caution at one time, and the components it was done about."""

    note: CautionNote
    components: tuple[Component, ...]


@dataclass(frozen=True)
class BuildCaution:
    """A caution, once for the build, with the components it came up for and what was done."""

    caution: Caution
    open: tuple[Component, ...]
    dealt_with: tuple[DealtWith, ...]


def list_cautions(build: Build) -> list[BuildCaution]:
    """Cautions over everything got, ordered, moved in or made of that.

    In five queries, and one more for each build along which material came.
    """
    moves = _moves_into(build)
    builds = {build.pk, *(move["component__build_id"] for move in moves)} - {None}
    listed_parts = Component.objects.filter(build__in=builds).select_related("element")
    components = {part.pk: part for part in listed_parts}
    own = [pk for pk, part in components.items() if part.build_id == build.pk]
    found = _items(builds, moves, components)
    concerned: dict[Caution, dict[int, Component]] = {}
    for pk in sorted(own):
        for item in found.get(pk, ()):
            for caution in cautions_for(item):
                concerned.setdefault(caution, {})[pk] = components[pk]
    notes: dict[str, dict[int, CautionNote]] = {}
    for note in CautionNote.objects.filter(build=build).select_related("component", "actor"):
        notes.setdefault(note.code, {}).setdefault(note.component_id, note)
    listed = []
    for caution, parts in concerned.items():
        done = notes.get(caution.code, {})
        listed.append(
            BuildCaution(
                caution,
                tuple(part for pk, part in parts.items() if pk not in done),
                _together(done[pk] for pk in parts if pk in done),
            )
        )
    return sorted(listed, key=lambda row: (not row.open, row.caution.title))


def _moves_into(build: Build) -> list[dict[str, Any]]:
    """Moves by which material came into a build, and into those it came from."""
    found: list[dict[str, Any]] = []
    known, asked = {build.pk}, {build.pk}
    while asked:
        moves = Move.objects.filter(to_component__build__in=asked).order_by()
        names = ("component_id", "component__build_id", "to_component_id")
        rows = [dict(row) for row in moves.values(*names).distinct()]
        found += rows
        asked = {row["component__build_id"] for row in rows} - known - {None}
        known |= asked
    return found


def _items(
    builds: set[int], moves: list[dict[str, Any]], components: dict[int, Component]
) -> dict[int, set[Item]]:
    """What is known of each component, once for each past its material has."""
    plain = cache(lambda pk: item_of(components[pk]))
    found: defaultdict[int, set[Item]] = defaultdict(set)
    rows = PurchaseLine.objects.filter(
        purchase__build__in=builds, purchase__state__in=[State.RECEIVED, State.ORDERED]
    ).values("component_id", *_CAUTION_FIELDS, *_NOTES, *_PLACES)
    for row in rows.distinct():
        # What somebody else adds meanwhile is cautioned of next time; so below.
        if row["component_id"] in components:
            found[row["component_id"]].add(_of_line(plain(row["component_id"]), row))
    makes = _makes(builds, moves)
    # The past of what came from elsewhere was kept there.
    for arrived in makes.pop(None, ()):
        if arrived in components:
            found[arrived].add(plain(arrived))
    handed_on = [(pk, item) for pk, items in found.items() for item in items]
    while handed_on:
        pk, stock = handed_on.pop()
        for made in makes.get(pk, set()) & components.keys():
            item = made_of(stock, plain(made))
            if item not in found[made]:
                found[made].add(item)
                handed_on.append((made, item))
    return found


def _makes(builds: set[int], moves: list[dict[str, Any]]) -> dict[int | None, set[int]]:
    """What each component's material became, made or moved; None: what came from elsewhere."""
    outputs = ConversionOutput.objects.filter(conversion__build__in=builds)
    pairs = outputs.values_list("conversion__source_id", "component_id").distinct()
    makes: defaultdict[int | None, set[int]] = defaultdict(set)
    for source, made in pairs:
        makes[source].add(made)
    for move in moves:
        source, arrived = move["component_id"], move["to_component_id"]
        if source != arrived:
            makes[source].add(arrived)
    return makes


def _together(notes: Iterable[CautionNote]) -> tuple[DealtWith, ...]:
    """Notes of the same words, person and day as one, in the order of the components."""
    same: dict[tuple[str, str, date], list[CautionNote]] = {}
    for note in notes:
        same.setdefault((note.dealt_with, note.who, note.at.date()), []).append(note)
    return tuple(
        DealtWith(group[0], tuple(note.component for note in group)) for group in same.values()
    )


def get_caution(build: Build, code: str) -> BuildCaution | None:
    """One caution of a build by its code; None when it does not come up."""
    return next((row for row in list_cautions(build) if row.caution.code == code), None)
