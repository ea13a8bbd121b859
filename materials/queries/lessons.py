"""Reading lessons: those of a build, and those of all one's builds that touch something.

Two records of different builds are the same thing when they are called the same, whatever the case
and spaces.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from django.contrib.auth.models import AnonymousUser, User
from django.db.models import Q, QuerySet

from .. import access
from ..choices import LessonKind
from ..models import (
    Build,
    Component,
    Element,
    Lesson,
    Supplier,
    Task,
)
from ..models.lessons import ABOUT
from .exchange import name_key

# So many lessons stand beside what they touch.
SHOWN = 5
Names = Iterable[str]
# Money and hours of one lesson.
Figures = tuple[Decimal | None, Decimal | None]
# What a lesson may be about, and how several of them are called.
_SUBJECTS: dict[str, tuple[Any, str]] = {
    "component": (Component, "Components"),
    "element": (Element, "Elements"),
    "task": (Task, "Tasks"),
    "supplier": (Supplier, "Suppliers"),
}


@dataclass(frozen=True)
class Touching:
    """The lessons that touch something, own ones first; ``more`` of them are not listed."""

    rows: tuple[Lesson, ...]
    more: int = 0


@dataclass(frozen=True)
class LessonSums:
    """What lessons of one kind come to.

    ``amount`` and ``hours`` are of those that state them, None where none does; ``is_whole``:
    whether all of them state both.
    """

    count: int
    amount: Decimal | None
    hours: Decimal | None
    is_whole: bool


def list_lessons(build: Build) -> QuerySet[Lesson]:
    """Lessons of a build, newest first, with what they are about."""
    return Lesson.objects.filter(build=build).select_related("build", *ABOUT)


def newest_lessons(build: Build, most: int = SHOWN) -> Touching:
    """The newest lessons of a build, whatever they are about."""
    rows = list(list_lessons(build))
    return Touching(tuple(rows[:most]), max(0, len(rows) - most))


def list_subjects(build: Build) -> list[tuple[str, str, list[Any]]]:
    """All that a lesson of the build may be about: the kind, its heading, and what there is."""
    return [
        (about, label, list(model.objects.filter(build=build)))
        for about, (model, label) in _SUBJECTS.items()
    ]


def sum_lessons(build: Build) -> dict[str, LessonSums]:
    """What the regrets of a build cost and its wins saved, by kind."""
    found: dict[str, list[Figures]] = {kind: [] for kind in LessonKind.values}
    rows = Lesson.objects.filter(build=build).order_by()
    for kind, amount, hours in rows.values_list("kind", "amount", "hours"):
        found[kind].append((amount, hours))
    return {kind: _sums(figures) for kind, figures in found.items()}


def _sums(rows: list[Figures]) -> LessonSums:
    amounts = [amount for amount, _ in rows if amount is not None]
    hours = [worked for _, worked in rows if worked is not None]
    return LessonSums(
        len(rows),
        sum(amounts, Decimal(0)) if amounts else None,
        sum(hours, Decimal(0)) if hours else None,
        all(amount is not None and worked is not None for amount, worked in rows),
    )


def lessons_touching(
    user: User | AnonymousUser,
    build: Build,
    *,
    wholes: Iterable[Build] = (),
    most: int | None = SHOWN,
    without: Lesson | None = None,
    **names: Names,
) -> Touching:
    """Lessons of the user's builds about things of these names, the build's own first.

    ``names``: of components, elements, tasks and suppliers, as ``component=[…]``; ``wholes``:
    builds whose lessons about the build as a whole count too; ``most``: so many are listed, all
    for None; ``without``: one that is shown already. One query.
    """
    wanted = {about: {name_key(name) for name in given} for about, given in names.items()}
    kinds = Q(**dict.fromkeys(ABOUT), build__in=[one.pk for one in wholes])
    for about, given in wanted.items():
        if given:
            kinds |= Q(**{f"{about}__isnull": False})
    rows = (
        Lesson.objects.filter(kinds, build__in=access.list_builds(user).order_by())
        .select_related("build", *ABOUT)
        .order_by("-noted_on", "-pk")
    )
    found = [
        row for row in rows if row != without and (row.about is None or _is_named(row, wanted))
    ]
    found.sort(key=lambda row: row.build_id != build.pk)
    listed = tuple(found[:most])
    return Touching(listed, len(found) - len(listed))


def _is_named(row: Lesson, wanted: Mapping[str, set[str]]) -> bool:
    return any(
        (named := getattr(row, about)) is not None and name_key(named.name) in given
        for about, given in wanted.items()
    )


def lessons_of_others(user: User | AnonymousUser, build: Build, most: int) -> Touching:
    """Lessons of the user's other builds that touch anything of this one, or a whole build."""
    names = {
        about: model.objects.filter(build=build).order_by().values_list("name", flat=True)
        for about, (model, _) in _SUBJECTS.items()
    }
    others = access.list_builds(user).exclude(pk=build.pk)
    found = lessons_touching(user, build, wholes=others, most=None, **names)
    rows = [row for row in found.rows if row.build_id != build.pk]
    return Touching(tuple(rows[:most]), max(0, len(rows) - most))
