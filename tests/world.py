"""What tests begin with: the cast, their builds and records, each made when first asked for.

A module with ``pytestmark = once("records", …)`` has the parts it names made once. Each of its
tests is given a copy to spoil, and what it writes is rolled back to where the first began.
"""

from collections.abc import Callable
from copy import deepcopy
from decimal import Decimal
from functools import cached_property
from pathlib import Path
from typing import Any

import pytest
from django.contrib.auth import get_user_model
from django.test import Client
from django.utils import timezone

from materials.choices import Role
from materials.models import Build, Change, Member
from materials.services.builds import create_build
from materials.services.invitations import invite
from materials.services.members import add_member, remove_member
from materials.services.photos import add_photos
from tests.entries import Entries, line
from tests.imports.steps import small_import
from tests.photo_files import jpeg, sent

Part = str | Callable[["World"], Any]
USERS = ("owner", "co_builder", "viewer", "stranger", "removed")


class Made(cached_property):
    """A part of a world: made when first asked for, or copied then from a world that has it."""

    def __get__(self, world, owner=None):
        if world is None or self.attrname not in vars(world.pattern or world):
            return super().__get__(world, owner)
        # What is copied once is one thing, through whichever part it is reached.
        part = deepcopy(vars(world.pattern)[self.attrname], world.copied)
        vars(world)[self.attrname] = part
        return part


class Clients(dict[str, Client]):
    """Clients by part, each signed in when first asked for; and an anonymous one."""

    def __init__(self, cast: dict[str, Any]):
        super().__init__(anonymous=Client())
        self.cast = cast

    def __missing__(self, name: str) -> Client:
        self[name] = Client()
        self[name].force_login(self.cast[name])
        return self[name]

    def sign_in(self, *names: str) -> None:
        """Now, where many will ask."""
        for name in names:
            self[name]


class World:
    """An owner, a co-builder, a viewer, a stranger, an anonymous visitor, and what is theirs.

    And one who was a member until the owner removed him, where ``left_build`` is asked for.
    """

    def __init__(self, media: Path, *parts: Part, pattern: "World | None" = None):
        """``pattern``: a world of which a test is given a copy."""
        self.media, self.pattern, self.copied = media, pattern, {}
        for part in parts:
            part(self) if callable(part) else getattr(self, part)
        if "clients" in parts:
            self.clients.sign_in(*USERS)

    @Made
    def cast(self) -> dict[str, Any]:
        """Users by their part."""
        users = get_user_model().objects
        return {name: users.create_user(username=name, password="pw-for-tests") for name in USERS}

    @Made
    def build(self) -> Build:
        """The owner's build, shared with a co-builder and a viewer."""
        made = create_build(
            actor=self.cast["owner"],
            values={
                "name": "Hill shed",
                "currency": "USD",
                "budget_amount": Decimal(5000),
                "contingency_percent": Decimal(10),
                "retail_tax_percent": Decimal(8),
                "own_labour_rate": Decimal(20),
            },
            areas=[("Floor area", Decimal(200), "sq ft")],
            rates=[(None, Decimal("0.70"))],
        )
        Member.objects.create(build=made, user=self.cast["co_builder"], role=Role.CO_BUILDER)
        Member.objects.create(build=made, user=self.cast["viewer"], role=Role.VIEWER)
        return made

    @Made
    def left_build(self) -> Build:
        """The owner's build after a co-builder was taken out of it."""
        by = self.entries.by
        member = add_member(**by, user=self.cast["removed"], role=Role.CO_BUILDER)
        remove_member(**by, member=member, now=timezone.now())
        return self.build

    @Made
    def other_build(self) -> Build:
        """The stranger's build."""
        values = {"name": "Elsewhere", "currency": "USD"}
        return create_build(actor=self.cast["stranger"], values=values)

    @Made
    def second(self) -> Build:
        """Another build of the owner's, in which the co-builder may record too."""
        made = create_build(
            actor=self.cast["owner"],
            values={"name": "Tool house", "currency": "USD"},
            areas=[("Floor area", Decimal(10), "sq m")],
        )
        Member.objects.create(build=made, user=self.cast["co_builder"], role=Role.CO_BUILDER)
        return made

    @Made
    def clients(self) -> Clients:
        return Clients(self.cast)

    @Made
    def entries(self) -> Entries:
        """Writes into the owner's build."""
        return Entries(self.cast["owner"], self.build)

    @Made
    def records(self) -> dict[str, Any]:
        """One record of each kind on the build."""
        build, entries = self.build, self.entries
        board = entries.component("Board", contents="1 piece = 2x8x12")
        shelf = entries.component("Shelf", contents="1 piece = 2x8x4")
        task = entries.task("Frame")
        return {
            "element": build.elements.first(),
            "component": board,
            "price": entries.price(shelf, 4),
            "supplier": entries.supplier("Yard"),
            "purchase": entries.purchase(
                "P1", line(board, "12 pieces", unit_price=Decimal(2)), supplier="Yard"
            ),
            "conversion": entries.conversion("C1", board, "4 pieces", (shelf, "12 pieces")),
            "way-to-make": entries.way(board, "1 piece", entries.component("Peg"), "9 pieces"),
            "cutting-plan": entries.cutting_plan("Cuts 1", board, shelf),
            "left-over": entries.left_over(shelf, "1 piece"),
            "task": task,
            "labour": entries.labour("Ann", 2, task=task),
            "hand-over": entries.hand_over("Ann", "Ben", 5),
            "takeoff": entries.takeoff("North wall", length="20 ft", height="8 ft"),
            "life-choice": entries.life_choice("Walls"),
            "cost-index": entries.cost_index("Lumber"),
            "lesson": entries.lesson("Oiled too late", component=board, hours=Decimal(6)),
            "estimate": entries.estimate(build),
            "change": Change.objects.filter(build=build).first(),
            "person": build.persons.get(name="Ann"),
        }

    @Made
    def everything(self) -> dict[str, Any]:
        """The records, and a photo, a member, an invitation, a link, an import, something moved.

        What the addresses of all routes are of. Uploads go where MEDIA_ROOT says.
        """
        records, entries = self.records, self.entries
        made, _ = invite(**entries.by, role="viewer", note="", days=14, now=timezone.now())
        photos = add_photos(**entries.by, record=records["purchase"], files=[sent(jpeg())])
        link, token = entries.share_link("Aunt Ida")
        return records | {
            "photo": photos[0],
            "share": link,
            "share_token": token,
            "calendar_token": entries.calendar_token(),
            "move": entries.transfer(records["component"], "1 piece", self.second),
            "member": self.build.members.get(user=self.cast["viewer"]),
            "invitation": made,
            "import": small_import(entries),
        }


def once(*parts: Part) -> list[pytest.MarkDecorator]:
    """Marks of a module whose world is made once: parts by their name, or what makes more of it.

    Not for tests that need ``transactional_db``.
    """
    return [pytest.mark.world(parts=parts), pytest.mark.usefixtures("world")]
