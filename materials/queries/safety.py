"""The usual cautions for what a build has logged."""

from collections.abc import Iterable
from dataclasses import dataclass, fields
from datetime import date

from ..calc.safety.cautions import (
    Caution,
    Item,
    Trait,
    cautions_by_rule,
    cautions_for,
    guess_traits,
)
from ..choices import State
from ..models import Build, CautionNote, Component, PurchaseLine
from ..models.stated import stated_fields

# What a caution may ask of a line: all that is stated of one and that an item takes.
OF_LINE = tuple(
    name for name in stated_fields(PurchaseLine) if name in {field.name for field in fields(Item)}
)
# No rule asks for the note, and hardly two lines have the same.
_CAUTION_FIELDS = tuple(name for name in OF_LINE if name != "note")


def traits_of(component: Component) -> frozenset[Trait]:
    """What was ticked about a component, and what its name lets one guess."""
    ticked = {Trait(value) for value in component.traits if value in set(Trait)}
    return frozenset(ticked) | guess_traits(component.name, component.note)


def item_of(line: PurchaseLine, component: Component) -> Item:
    """A purchase line as the cautions take it."""
    element = component.element
    return Item(
        name=component.name,
        element_code=element.code if element else "",
        element_name=element.name if element else "",
        traits=traits_of(component),
        **{name: getattr(line, name) for name in OF_LINE},
    )


def cautions_of(lines: Iterable[PurchaseLine]) -> list[Caution]:
    """The cautions of some lines, each once, in the order of the rules."""
    items = [item_of(line, line.component) for line in lines]
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
    """Cautions over everything got or ordered, in three queries."""
    components = {
        part.pk: part for part in Component.objects.filter(build=build).select_related("element")
    }
    rows = (
        PurchaseLine.objects.filter(
            purchase__build=build, purchase__state__in=[State.RECEIVED, State.ORDERED]
        )
        .order_by("component_id")
        .values("component_id", *_CAUTION_FIELDS)
        .distinct()
    )
    concerned: dict[Caution, dict[int, Component]] = {}
    for row in rows:
        pk = row.pop("component_id")
        part, line = components[pk], PurchaseLine(**row)
        for caution in cautions_for(item_of(line, part)):
            concerned.setdefault(caution, {})[pk] = part
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
