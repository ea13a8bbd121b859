"""Marks, profiles, and the fixtures that tests begin with (tests/world.py)."""

import gc
import hashlib
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.core.cache import cache
from django.db import connection, transaction
from django.template import RequestContext
from django.test import Client, client, override_settings
from hypothesis import HealthCheck
from hypothesis import settings as hypothesis_settings
from playwright.sync_api import sync_playwright

from materials.models import Build, Component
from materials.services import mail as mails
from materials.services.components import save_component
from tests.entries import Entries
from tests.made_database import copy_made, made_beside
from tests.searches import TIMES
from tests.views.screens import Screens
from tests.world import World

# What is loaded and collected stays to the end: looking through it for rubbish, again and again,
# took a third of the collection, and a second every so often after it.
gc.disable()

# On a busy machine an example may wait long for the processor: time is no fault of the example.
hypothesis_settings.register_profile(
    "patient",
    deadline=None,
    max_examples=100 * TIMES,
    suppress_health_check=[HealthCheck.too_slow],
)
hypothesis_settings.load_profile("patient")


def keep_context_of_page(store, signal, sender, template, context, **named) -> None:
    """What an answer's ``context`` holds: the page's, without copies for each piece within it."""
    if "context" not in store and isinstance(context, RequestContext):
        keep_rendered(store, signal, sender, template, context, **named)


keep_rendered = client.store_rendered_templates
client.store_rendered_templates = keep_context_of_page


@pytest.fixture(scope="session")
def playwright() -> Iterator[Any]:
    """What drives browsers: one for a process, which takes no second beside it."""
    with sync_playwright() as started:
        yield started


def pytest_addoption(parser: pytest.Parser) -> None:
    """What ``python -m tests`` leaves out for want of a program."""
    parser.addoption("--without", metavar="MARK", action="append", default=[])


def pytest_configure(config: pytest.Config) -> None:
    """Where others will do the work, have their database made once, while they collect."""
    is_shared = getattr(config.option, "numprocesses", None) and not hasattr(config, "workerinput")
    if is_shared and connection.vendor == "sqlite":
        making = made_beside()
        making.__enter__()
        config.add_cleanup(lambda: making.__exit__(None, None, None))


@pytest.hookimpl(trylast=True)
def pytest_collection_finish() -> None:
    """From here on rubbish is looked for, in what comes; by the ten thousand."""
    gc.freeze()
    gc.set_threshold(10_000)
    gc.enable()


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Marks that follow from what a test asks for; and what is left out."""
    without, gone = set(config.getoption("without")), []
    for item in items:
        asked = set(item.fixturenames)
        if "chromium" in asked:
            item.add_marker("browser")
        if item.get_closest_marker("django_db") or asked & {"db", "transactional_db"}:
            item.add_marker("database")
        if item.get_closest_marker("world") and "transactional_db" in asked:
            raise pytest.UsageError(f"{item.nodeid} cannot roll back to a world made once")
        if without & {mark.name for mark in item.iter_markers()}:
            gone.append(item)
    if gone:
        config.hook.pytest_deselected(items=gone)
        items[:] = [item for item in items if item not in gone]


@pytest.fixture(autouse=True)
def nothing_kept(request) -> None:
    """What a process holds of a build is of a database that is rolled back."""
    cache.clear()
    mark = request.node.get_closest_marker("django_db")
    if "transactional_db" in request.fixturenames or (mark and mark.kwargs.get("transaction")):
        # A cursor that the error of an earlier test still leads to keeps SQLite's file open.
        gc.collect()


@pytest.fixture(scope="session")
def django_db_keepdb(django_db_modify_db_settings, django_db_keepdb) -> bool:
    """A copy of the database that was made for all is kept, and goes with the folder it is in."""
    place = connection.settings_dict["TEST"]["NAME"]
    return (connection.vendor == "sqlite" and copy_made(Path(place))) or django_db_keepdb


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


@pytest.fixture(scope="module")
def made_world(
    request, django_db_setup, django_db_blocker, tmp_path_factory
) -> Iterator[World | None]:
    """The world of a module that is marked so, until its last test; else none."""
    mark = request.node.get_closest_marker("world")
    if mark is None:
        yield None
        return
    media = tmp_path_factory.mktemp("media")
    with (
        django_db_blocker.unblock(),
        override_settings(MEDIA_ROOT=media),
        transaction.atomic(),
    ):
        yield World(media, *mark.kwargs["parts"])
        transaction.set_rollback(True)


@pytest.fixture
def world(db, made_world, tmp_path) -> World:
    """What a test begins with."""
    return World(made_world.media if made_world else tmp_path, pattern=made_world)


@pytest.fixture
def cast(world) -> dict[str, Any]:
    return world.cast


@pytest.fixture
def quick_codes(monkeypatch) -> None:
    """Recovery codes hashed with a thousandth of the work, as passwords are in tests."""
    scrypt = hashlib.scrypt
    monkeypatch.setattr(hashlib, "scrypt", lambda *a, n, **more: scrypt(*a, n=n >> 10, **more))


@pytest.fixture
def can_mail(settings, monkeypatch) -> None:
    """A server that sends mail; what is sent aside is sent at once."""
    settings.CAN_SEND_MAIL = True
    monkeypatch.setattr(mails, "_aside", lambda work: work())


@pytest.fixture
def owner_has_mail(can_mail, cast) -> None:
    """The owner has an address, and the server sends mail."""
    cast["owner"].email = "owner@buildledger.example"
    cast["owner"].save()


@pytest.fixture
def build(world) -> Build:
    return world.build


@pytest.fixture
def left_build(world) -> Build:
    return world.left_build


@pytest.fixture
def other_build(world) -> Build:
    return world.other_build


@pytest.fixture
def second(world) -> Build:
    return world.second


@pytest.fixture
def owner(world) -> Client:
    return world.clients["owner"]


@pytest.fixture
def screens(owner, build, records) -> Screens:
    """The owner at the pages of a build that holds one record of each kind."""
    return Screens(owner, build.pk)


@pytest.fixture
def clients(world) -> dict[str, Client]:
    return world.clients


@pytest.fixture
def entries(cast, build) -> Entries:
    """Writes into the owner's build."""
    return Entries(cast["owner"], build)


@pytest.fixture
def records(world) -> dict[str, Any]:
    return world.records


@pytest.fixture
def everything(world, settings) -> dict[str, Any]:
    settings.MEDIA_ROOT = world.media
    return world.everything


@pytest.fixture
def add_component():
    """Make a component through its service."""

    def add(build: Build, name: str, unit: str = "piece", **values) -> Component:
        owner = build.members.get(role="owner").user
        return save_component(
            actor=owner,
            build=build,
            component=Component(),
            values={"name": name, "unit": unit, **values},
        )

    return add
