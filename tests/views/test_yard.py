"""A build without signal: its page, the worker, and what makes it installable."""

import json
import re
from decimal import Decimal
from html import unescape

import pytest
from django.conf import settings as project
from django.contrib.staticfiles import finders
from django.test import Client
from django.urls import reverse
from PIL import Image

from buildledger.joined import script
from materials.choices import State
from materials.views.yard import _SCRIPTS
from tests.entries import line
from tests.world import once

pytestmark = once("records", "clients")
# Of the scripts that work without signal, unpacked, as they are served: twenty kilobytes.
MOST = 20 * 1024
OWN = ("store", "send", "outbox", "yard", "copies", "worker", "gone")


def test_the_page_has_what_is_asked_at_a_yard(clients, build, entries, records):
    board = records["component"]
    entries.component("Slab", required_text="5 pieces")
    entries.purchase("O1", line(board, "3 pieces", unit_price=Decimal(2)), state=State.OFFER)
    text = clients["co_builder"].get(reverse("yard", args=[build.pk])).content.decode()
    facts = dict(re.findall(r'data-known="([^"]*)" data-facts="([^"]*)"', unescape(text)))
    assert facts["board"] == "Best known $2.00 per piece, so far. 1 piece = 2x8x12."
    # 4 and the build's retail tax of 8 %.
    assert "New $4.32 per piece." in facts["shelf"]
    assert facts["slab"] == "Get 5\xa0pieces. In piece."
    assert next(iter(facts)) == "slab"
    assert "Take it: received" in text
    assert reverse("log", args=[build.pk]) in re.search(r'data-keeps="([^"]*)"', text)[1].split()


def test_a_viewer_keeps_what_a_viewer_may_see(clients, build):
    text = clients["viewer"].get(reverse("yard", args=[build.pk])).content.decode()
    pages = re.search(r'data-keeps="([^"]*)"', text)[1].split()
    assert reverse("home", args=[build.pk]) in pages
    for page in pages:
        assert clients["viewer"].get(page).status_code == 200
    assert "Take it" not in text


def test_the_pages_kept_are_those_that_say_for_whom(clients, build, cast):
    text = clients["owner"].get(reverse("yard", args=[build.pk])).content.decode()
    for page in re.search(r'data-keeps="([^"]*)"', text)[1].split():
        assert clients["owner"].get(page)["Kept-For"] == str(cast["owner"].pk)


def test_the_worker_names_its_files_and_is_asked_for_anew():
    answer = Client().get(reverse("worker"))
    assert (answer.status_code, answer["Cache-Control"]) == (200, "private, no-cache")
    assert answer["Content-Type"].startswith("text/javascript")
    release = json.loads(re.search(r"const release = (\{.*?\});", answer.content.decode())[1])
    for name in release["files"]:
        is_file = name.startswith(release["folder"])
        found = finders.find(name.removeprefix(release["folder"])) if is_file else ""
        assert found or Client().get(name).status_code == 200, name


def test_the_worker_changes_with_what_is_served(monkeypatch):
    first = Client().get(reverse("worker")).content
    assert Client().get(reverse("worker")).content == first
    monkeypatch.setattr("materials.views.yard.static", lambda name: f"/static/new-{name}")
    assert Client().get(reverse("worker")).content != first


def test_switched_off_it_removes_itself(clients, build, settings):
    settings.OFFLINE = False
    text = Client().get(reverse("worker")).content.decode()
    assert "unregister" in text
    assert "fetch" not in text
    page = clients["owner"].get(reverse("yard", args=[build.pk])).content.decode()
    assert "switched off" in page
    assert "data-keeps" not in page


def test_the_scripts_are_small_and_each_is_short():
    served = sum(len(script(_SCRIPTS, name).encode()) for name in OWN)
    assert served <= MOST
    for name in OWN:
        assert len((_SCRIPTS / f"{name}.js").read_text(encoding="utf-8").splitlines()) < 250


def test_scripts_calculate_nothing_of_money():
    """Whatever is asked of a cost, the server says: no figure is made in a script."""
    for name in OWN:
        text = (_SCRIPTS / f"{name}.js").read_text(encoding="utf-8")
        assert not re.search(r"parseFloat|toFixed|amount|landed|Intl", text), name


def test_it_can_be_installed():
    """https://www.w3.org/TR/appmanifest/: name, icons, start and display (read in 2024)."""
    answer = Client().get(reverse("manifest"))
    told = json.loads(answer.content)
    assert answer["Content-Type"] == "application/manifest+json"
    assert {"name", "short_name", "start_url", "display", "icons"} <= set(told)
    assert {icon.get("purpose") for icon in told["icons"]} >= {"any", "maskable"}
    for icon in told["icons"]:
        path = finders.find(icon["src"].removeprefix(project.STATIC_URL))
        assert path, icon
        if icon["type"] == "image/png":
            with Image.open(path) as picture:
                assert icon["sizes"] == "{}x{}".format(*picture.size)
    assert (
        f'rel="manifest" href="{reverse("manifest")}"' in Client().get("/sign-in/").content.decode()
    )


@pytest.mark.parametrize("name", ["offline", "sign_in"])
def test_pages_without_an_account_tell_of_entries_that_wait(name):
    assert "data-others" in Client().get(reverse(name)).content.decode()
