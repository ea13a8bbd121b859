"""Finding a record by a few words, in the builds somebody may see.

A word is found at the beginning of a word, in any order; all of them must stand in one record.
Where nothing has them as typed, their first letters are tried in what has a name or a number: a
slip further on is forgiven.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import and_, or_

from django.db import models
from django.db.models import F, Q

from ..models import (
    Build,
    Component,
    Conversion,
    LabourEntry,
    LeftOver,
    Lesson,
    Person,
    Purchase,
    PurchaseLine,
    Supplier,
    Task,
)

MOST_WORDS = 6
LISTED = 8
LEAST_LETTERS = 3
# What a word may stand behind.
MARKS = (" ", "-", "(", ",", "/")


@dataclass(frozen=True)
class Kind:
    """Where one kind of record keeps its words.

    ``leads_to``: the key that its page is found by, where it is that of another record.
    """

    name: str
    label: str
    model: type[models.Model]
    build: str
    title: str
    texts: tuple[str, ...]
    leads_to: str = "pk"
    note: str = ""


KINDS = (
    Kind("component", "Components", Component, "build", "name", ("name", "note")),
    Kind("supplier", "Suppliers", Supplier, "build", "name", ("name", "place", "note")),
    Kind("purchase", "Purchases", Purchase, "build", "number", ("number", "note"), note="note"),
    Kind(
        "purchase", "Notes on purchase lines", PurchaseLine, "of_build", "component__name",
        ("note",), leads_to="purchase_id", note="note",
    ),
    Kind("task", "Tasks", Task, "build", "name", ("name",)),
    Kind("person", "People", Person, "build", "name", ("name",)),
    Kind(
        "labour", "Notes on hours", LabourEntry, "build", "person__name", ("note",), note="note"
    ),
    Kind(
        "conversion", "Conversions", Conversion, "build", "number", ("number", "note"), note="note"
    ),
    Kind(
        "left-over", "Notes on leftovers", LeftOver, "component__build", "component__name",
        ("note",), note="note",
    ),
    Kind("lesson", "Lessons", Lesson, "build", "text", ("text",)),
)  # fmt: skip


@dataclass(frozen=True)
class Found:
    """One record: its name or number, what its note says, its build, and its page's key."""

    title: str
    note: str
    build: int
    build_name: str
    key: int


@dataclass(frozen=True)
class Group:
    """What was found of one kind; ``has_more`` when not all of it is listed."""

    kind: Kind
    rows: tuple[Found, ...]
    has_more: bool


@dataclass(frozen=True)
class Answer:
    """What was found; ``is_guess`` when only the words' first letters were."""

    groups: tuple[Group, ...]
    is_guess: bool = False


def find(builds: models.QuerySet[Build], text: str, first: int | None = None) -> Answer:
    """Records of ``builds`` with the words of ``text``; those of the build ``first`` come first.

    One query for each kind, twice where nothing has the words as typed.
    """
    words = text.replace("\0", " ").split()[:MOST_WORDS]
    if not words:
        return Answer(())
    keys = list(builds.values_list("pk", flat=True))
    groups = _groups(keys, words, first)
    if groups:
        return Answer(groups)
    begun = [word[: max(LEAST_LETTERS, len(word) // 2)] for word in words]
    if begun == words:
        return Answer(())
    named = [kind for kind in KINDS if kind.title in kind.texts]
    return Answer(_groups(keys, begun, first, named), is_guess=True)


def _groups(
    builds: Sequence[int], words: Sequence[str], first: int | None, kinds: Sequence[Kind] = KINDS
) -> tuple[Group, ...]:
    groups = []
    for kind in kinds:
        rows = _rows(kind, builds, words, first)
        if rows:
            groups.append(Group(kind, tuple(rows[:LISTED]), len(rows) > LISTED))
    return tuple(groups)


def _rows(
    kind: Kind, builds: Sequence[int], words: Iterable[str], first: int | None
) -> list[Found]:
    each = (reduce(or_, (_begins(name, word) for name in kind.texts)) for word in words)
    rows = (
        kind.model._default_manager.filter(reduce(and_, each), **{f"{kind.build}__in": builds})
        .filter(**{f"{kind.note}__gt": ""} if kind.note in kind.texts[:1] else {})
        .annotate(here=models.Case(models.When(**{kind.build: first}, then=0), default=1))
        .order_by("here", "-pk")
        .values_list(
            kind.title,
            F(kind.note) if kind.note else models.Value(""),
            kind.build,
            f"{kind.build}__name",
            kind.leads_to,
        )
    )
    return [Found(title or "", *row) for title, *row in rows[: LISTED + 1]]


def _begins(field: str, word: str) -> Q:
    """A word of the field begins so. Only ASCII letters are alike in both cases everywhere."""
    forms = sorted({word} if word.isascii() else {word, word.lower(), word.capitalize()})
    return reduce(or_, (_begins_as(field, form) for form in forms))


def _begins_as(field: str, form: str) -> Q:
    """What the database can tell quickest comes first: most rows have the letters nowhere."""
    anywhere = Q(**{f"{field}__icontains": form})
    begun = (Q(**{f"{field}__icontains": f"{mark}{form}"}) for mark in MARKS)
    return anywhere & (Q(**{f"{field}__istartswith": form}) | reduce(or_, begun))
