"""Reading share links, and what a link would show although it should not."""

import re
from itertools import chain
from typing import NamedTuple

from django.contrib.auth.models import User
from django.db.models import Model, QuerySet

from ..models import Build, BuildArea, Component, Element, Person, ShareLink, Supplier, Task

LEAST_LETTERS = 2


class Parts(NamedTuple):
    """What a link shows beside quantities and hours."""

    prices: bool
    suppliers: bool
    people: bool


class LeakedName(NamedTuple):
    """A name that is shown as it is written, and the hidden name it holds."""

    kind: str
    shown: str
    holds: str


def parts_of(link: ShareLink) -> Parts:
    """The parts that are ticked on a link."""
    return Parts(link.shows_prices, link.shows_suppliers, link.shows_people)


def list_share_links(build: Build) -> QuerySet[ShareLink]:
    """All links of a build, revoked ones too, newest first."""
    return ShareLink.objects.filter(build=build).select_related("created_by")


def list_open_links_of(build: Build, user: User) -> list[ShareLink]:
    """Links of a build that a user made and nobody revoked, the oldest first."""
    made = ShareLink.objects.filter(build=build, created_by=user, revoked_at=None)
    return list(made.order_by("pk"))


def list_leaked_names(build: Build, parts: Parts) -> list[LeakedName]:
    """Shown names with the name of a person or supplier in them that the parts leave out.

    A link shows names of components and the like as they are written, and nothing can tell
    a person called Stone from a stone: so they are told to the owner, not taken out.
    """
    hidden = [*([] if parts.people else _names(Person, build))]
    hidden += [] if parts.suppliers else _names(Supplier, build)
    hidden = [name for name in hidden if len(name) >= LEAST_LETTERS]
    if not hidden:
        return []
    either = "|".join(re.escape(name) for name in sorted(hidden, key=len, reverse=True))
    found = re.compile(rf"(?<!\w)(?:{either})(?!\w)", re.IGNORECASE)
    leaks = []
    for kind, shown in chain([("build", build.name)], _shown(build, parts)):
        match = found.search(shown)
        if match is not None:
            leaks.append(LeakedName(kind, shown, match.group()))
    return leaks


def _shown(build: Build, parts: Parts) -> list[tuple[str, str]]:
    """Names that a link shows as they are written."""
    kinds = [("component", Component), ("element", Element), ("task", Task)]
    kinds += [("supplier", Supplier)] if parts.suppliers else []
    listed = [(kind, name) for kind, model in kinds for name in _names(model, build)]
    areas = BuildArea.objects.filter(build=build).values_list("label", flat=True)
    return listed + [("area", label) for label in areas]


def _names(model: type[Model], build: Build) -> list[str]:
    return list(model._default_manager.filter(build=build).values_list("name", flat=True))
