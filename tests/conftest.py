"""The test cast: an owner, a co-builder, a viewer, a stranger, an anonymous visitor.

And one who was a member until the owner removed him, where a test asks for that.
"""

from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.db import connection
from django.test import Client
from django.utils import timezone
from hypothesis import settings as hypothesis_settings

from materials.choices import Role
from materials.models import Build, Change, Component, Member
from materials.services.builds import create_build
from materials.services.components import save_component
from materials.services.members import add_member, remove_member
from tests.entries import Entries, line
from tests.views.screens import Screens

# On a busy machine an example may wait long for the processor: time is no fault of the example.
hypothesis_settings.register_profile("patient", deadline=None)
hypothesis_settings.load_profile("patient")

USERS = ("owner", "co_builder", "viewer", "stranger", "removed")


@pytest.fixture(scope="session")
def django_db_setup(django_db_setup, django_db_blocker):
    """Before the test database goes, end what threads of live servers still hold open of it."""
    yield
    if connection.vendor == "postgresql":
        with django_db_blocker.unblock(), connection.cursor() as cursor:
            cursor.execute(
                "SELECT pg_terminate_backend(pid) FROM pg_stat_activity"
                " WHERE datname = current_database() AND pid <> pg_backend_pid()"
            )


@pytest.fixture
def cast(db):
    """Users by their part."""
    users = get_user_model().objects
    return {name: users.create_user(username=name, password="pw-for-tests") for name in USERS}


@pytest.fixture
def build(cast) -> Build:
    """The owner's build, shared with a co-builder and a viewer."""
    made = create_build(
        actor=cast["owner"],
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
    Member.objects.create(build=made, user=cast["co_builder"], role=Role.CO_BUILDER)
    Member.objects.create(build=made, user=cast["viewer"], role=Role.VIEWER)
    return made


@pytest.fixture
def left_build(cast, build) -> Build:
    """The owner's build after a co-builder was taken out of it."""
    by = {"actor": cast["owner"], "build": build}
    member = add_member(**by, user=cast["removed"], role=Role.CO_BUILDER)
    remove_member(**by, member=member, now=timezone.now())
    return build


@pytest.fixture
def other_build(cast) -> Build:
    """The stranger's build."""
    return create_build(actor=cast["stranger"], values={"name": "Elsewhere", "currency": "USD"})


@pytest.fixture
def second(cast) -> Build:
    """Another build of the owner's, in which the co-builder may record too."""
    made = create_build(
        actor=cast["owner"],
        values={"name": "Tool house", "currency": "USD"},
        areas=[("Floor area", Decimal(10), "sq m")],
    )
    Member.objects.create(build=made, user=cast["co_builder"], role=Role.CO_BUILDER)
    return made


@pytest.fixture
def clients(cast):
    """Signed-in clients by part, and an anonymous one."""
    made = {"anonymous": Client()}
    for name, user in cast.items():
        made[name] = Client()
        made[name].force_login(user)
    return made


@pytest.fixture
def owner(cast) -> Client:
    """The owner's browser."""
    client = Client()
    client.force_login(cast["owner"])
    return client


@pytest.fixture
def screens(owner, build, records) -> Screens:
    """The owner at the pages of a build that holds one record of each kind."""
    return Screens(owner, build.pk)


@pytest.fixture
def add_component():
    """Make a component through its service."""

    def add(build: Build, name: str, unit: str = "piece", **values) -> Component:
        owner = build.members.get(role=Role.OWNER).user
        return save_component(
            actor=owner,
            build=build,
            component=Component(),
            values={"name": name, "unit": unit, **values},
        )

    return add


@pytest.fixture
def entries(cast, build) -> Entries:
    """Writes into the owner's build."""
    return Entries(cast["owner"], build)


@pytest.fixture
def records(entries, build):
    """One record of each kind on the build."""
    board = entries.component("Board", contents="1 piece = 2x6x16")
    stud = entries.component("Stud", contents="1 piece = 2x3x8")
    task = entries.task("Frame")
    return {
        "element": build.elements.first(),
        "component": board,
        "price": entries.price(stud, 4),
        "supplier": entries.supplier("Yard"),
        "purchase": entries.purchase(
            "P1", line(board, "12 pieces", unit_price=Decimal(2)), supplier="Yard"
        ),
        "conversion": entries.conversion("C1", board, "4 pieces", (stud, "16 pieces")),
        "cutting-plan": entries.cutting_plan("Cuts 1", board, stud),
        "left-over": entries.left_over(stud, "1 piece"),
        "task": task,
        "labour": entries.labour("Ann", 2, task=task),
        "hand-over": entries.hand_over("Ann", "Ben", 5),
        "takeoff": entries.takeoff("North wall", length="20 ft", height="8 ft"),
        "life-choice": entries.life_choice("Walls"),
        "cost-index": entries.cost_index("Lumber"),
        "estimate": entries.estimate(build),
        "change": Change.objects.filter(build=build).first(),
    }
