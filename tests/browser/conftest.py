"""Headless Chromium against the live server."""

import os
import threading
import time

import pytest
from django.test import Client

from materials.exchange.importer import check_book
from materials.exchange.reader import read_workbook
from materials.management.commands._demo_lifecycle import add_life_choice
from materials.management.commands.demo import FOLDER
from materials.services.accounts import ensure_user
from materials.services.imports import import_plan
from tests.__main__ import find_chromium
from tests.browser.screens import Walk, records_of
from tests.browser.wire import Wire
from tests.browser.yard import FAILS, Phone

# Playwright's own event loop runs in this thread; the ORM would refuse to work beside it.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

QUIET = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
# A form with faults, and one that met a later version: both are answered with the page.
ANSWERS = ("422 (Unprocessable", "409 (Conflict")
PHONE = {"width": 390, "height": 844}
DESKTOP = {"width": 1280, "height": 900}


@pytest.fixture(scope="session")
def chromium(playwright):
    """One browser for the run."""
    browser = playwright.chromium.launch(executable_path=find_chromium(), args=QUIET)
    yield browser
    browser.close()


@pytest.fixture
def open_page(chromium, live_server):
    """Open a signed-out page of a size; what the console complains of fails the test.

    ``expects``: parts of complaints that belong to what is tested.
    """
    opened, complaints = [], []

    def start(size=PHONE, expects=(), **options):
        options = {"base_url": live_server.url, "viewport": size} | options
        context = chromium.new_context(**options)
        page = context.new_page()
        page.set_default_timeout(30_000)
        page.on(
            "pageerror",
            lambda error: (
                None
                if any(part in str(error) for part in expects)
                else complaints.append(str(error))
            ),
        )
        page.on(
            "console",
            lambda result: (
                complaints.append(result.text)
                if result.type == "error"
                and not any(part in result.text for part in (*ANSWERS, *expects))
                else None
            ),
        )
        opened.append(context)
        return page

    yield start
    for context in opened:
        context.close()
    wait_for_answers()
    assert complaints == []


def wait_for_answers() -> None:
    """Until the live server has answered all that the closed pages asked for.

    What still runs would meet an emptied database, and hold it open to the next test.
    """
    for _ in range(600):
        names = [thread.name for thread in threading.enumerate()]
        if not any("process_request_thread" in name for name in names):
            return
        time.sleep(0.05)
    raise AssertionError(f"The server is at work still: {names}")


@pytest.fixture
def sign_in():
    """Sign in through the screen as a user made for it."""

    def through(page, name="ann"):
        ensure_user(username=name, password="sawdust-and-lime")
        page.goto("/")
        page.get_by_label("Username").fill(name)
        page.get_by_label("Password").fill("sawdust-and-lime")
        page.get_by_role("button", name="Sign in").first.click()
        page.wait_for_url("**/")

    return through


@pytest.fixture
def demo_build(transactional_db):
    """The demo build, owned by a user who can sign in."""
    user, _ = ensure_user(username="ann", password="sawdust-and-lime")
    checked = check_book(read_workbook(FOLDER))
    build = import_plan(actor=user, plan=checked.plan, owner=user)
    add_life_choice(user, build)
    return build


@pytest.fixture
def enter(live_server):
    """Give a page's browser a user's session, without the screen that asks for it."""

    def sign(page, user):
        client = Client()
        client.force_login(user)
        cookie = client.cookies["sessionid"].value
        page.context.add_cookies(
            [{"name": "sessionid", "value": cookie, "url": live_server.url, "httpOnly": True}]
        )

    return sign


@pytest.fixture
def walk(open_page, enter, demo_build, settings, tmp_path):
    """The owner of the demo build, ready to be sent through the screens at a size."""

    def start(size=PHONE, **options):
        settings.MEDIA_ROOT = tmp_path
        page = open_page(size, **options)
        enter(page, demo_build.members.get(role="owner").user)
        return Walk(page, demo_build, records_of(demo_build))

    return start


@pytest.fixture
def wire(live_server):
    """What a phone hangs on: to be cut."""
    made = Wire((live_server.thread.host, live_server.thread.port))
    yield made
    made.end()


@pytest.fixture
def phone(walk, wire):
    """The owner's phone, not keeping the build yet."""

    def take(expects=(), **options):
        steps = walk(base_url=wire.url, expects=(*FAILS, *expects), **options)
        steps.page.context.set_default_timeout(30_000)
        steps.page.set_default_timeout(8_000)
        return Phone(steps.page, steps.build, wire)

    return take
