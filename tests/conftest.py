"""The test cast: an owner, a co-builder, a viewer, a stranger, an anonymous visitor."""

from datetime import date
from decimal import Decimal

import pytest
from django.contrib.auth import get_user_model
from django.test import Client

from materials.choices import Role
from materials.models import Build, Component, Member
from materials.services.builds import create_build
from materials.services.components import save_component

USERS = ("owner", "co_builder", "viewer", "stranger")


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
def other_build(cast) -> Build:
    """The stranger's build."""
    return create_build(actor=cast["stranger"], values={"name": "Elsewhere", "currency": "USD"})


@pytest.fixture
def clients(cast):
    """Signed-in clients by part, and an anonymous one."""
    made = {"anonymous": Client()}
    for name, user in cast.items():
        made[name] = Client()
        made[name].force_login(user)
    return made


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


DAY = date(2026, 5, 4)
