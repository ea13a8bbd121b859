"""axe-core: no violation of WCAG 2.2 A and AA, nor of its best practices.

Here what is not a screen of the demo build on a phone: those are in test_looks.py.
"""

import json

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from django.core.files.uploadedfile import SimpleUploadedFile
from django.template.loader import render_to_string
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from materials.choices import Role
from materials.models import Member
from materials.services.accounts import ensure_user
from materials.services.attempt_limits import TABLES, count_attempt
from materials.services.builds import create_build

from .conftest import DESKTOP
from .screens import AREAS, NO_SCREEN, SCREENS, press, routes

pytestmark = pytest.mark.django_db(transaction=True)

ALL = {
    "runOnly": "wcag2a wcag2aa wcag21a wcag21aa wcag22aa best-practice".split(),
    # Off unless asked for: axe-core leaves 2.5.8 out of its own run.
    "rules": {"target-size": {"enabled": True}},
    "resultTypes": ["violations"],
}
# Dark differs from light in its colours alone.
COLOURS = {
    "runOnly": {"type": "rule", "values": ["color-contrast", "link-in-text-block"]},
    "resultTypes": ["violations"],
}

# The bar sticks to the bottom and lies over whatever is scrolled to there: test_looks.py sees
# to that. Here it stands below the page, so that nothing is taken for half a target.
UNFOLD = """
document.querySelectorAll('details').forEach(part => part.open = true);
document.querySelectorAll('.bar, .thumb').forEach(part => part.style.position = 'static');
"""


# Rows of one list are alike: most of a page's time goes into the fiftieth of them.
FEW_ROWS = """
document.querySelectorAll('tbody, ul, ol, dl').forEach(
  list => [...list.children].slice(8).forEach(row => row.remove()));
"""
FORMS = ["the first", pytest.param("everything", marks=pytest.mark.slow)]


def violations(page, options) -> list[str]:
    """What axe-core finds: rule, place, and what it says of it."""
    found = page.evaluate(f"axe.run(document, {json.dumps(options)})")["violations"]
    return [
        f"{rule['id']} at {node['target'][0]}: {node['failureSummary']}"
        for rule in found
        for node in rule["nodes"]
    ]


def look(page, screen: str, seen: str = "everything") -> list[str]:
    """Violations of one screen with all folded open: its first rows, or everything and in dark."""
    page.evaluate(UNFOLD)
    if seen == "the first":
        page.evaluate(FEW_ROWS)
    page.emulate_media(color_scheme="light")
    page.evaluate(AXE_SCRIPT)
    found = [f"{screen}: {text}" for text in violations(page, ALL)]
    if seen == "the first":
        return found
    page.emulate_media(color_scheme="dark")
    return found + [f"{screen}, dark: {text}" for text in violations(page, COLOURS)]


def test_every_address_has_a_screen():
    assert set(routes()) == set(SCREENS) | set(NO_SCREEN)
    assert sorted(SCREENS) == sorted(" ".join(AREAS.values()).split())


@pytest.mark.parametrize("seen", FORMS)
@pytest.mark.slow
def test_no_violation_on_a_desk(seen, walk):
    steps = walk(DESKTOP)
    names = "home cost_sheet purchase_edit components hours_report"
    screens = steps.through(names, 1 if seen == "the first" else None)
    found = [text for screen in screens for text in look(steps.page, screen, seen)]
    assert not found, "\n".join(found)


def error_pages(build) -> dict[str, str]:
    """The pages that say that something went wrong, by what they answer."""
    viewer, _ = ensure_user(username="vera", password="sawdust-and-lime")
    Member.objects.create(build=build, user=viewer, role=Role.VIEWER)
    client = Client()
    client.force_login(viewer)
    strict = Client(enforce_csrf_checks=True)
    for _ in range(TABLES.most):
        count_attempt(limit=TABLES, who=f"user {viewer.pk}", at=timezone.now())
    file = {"name": "Far barn", "file": SimpleUploadedFile("barn.zip", b"PK")}
    answers = {
        "429": client.post(reverse("build_file_new"), file),
        "404": client.get("/builds/999999/"),
        "403": client.get(reverse("build_edit", args=[build.pk])),
        "403-stale": strict.post(reverse("sign_in"), {"username": "vera"}),
        "400": Client().get(reverse("sign_in"), headers={"host": "nowhere.example"}),
    }
    for name, answer in answers.items():
        assert answer.status_code == int(name[:3])
    pages = {name: answer.content.decode() for name, answer in answers.items()}
    return pages | {"500": render_to_string("500.html", {"number": "4821-0937-5516"})}


def test_no_violation_where_something_went_wrong(open_page, demo_build):
    page, found = open_page(), []
    pages = error_pages(demo_build)
    # Under an address of the live server, so that their styles are found.
    page.route(
        "**/went-wrong/*",
        lambda route: route.fulfill(body=pages[route.request.url.rpartition("/")[2]]),
    )
    for name, html in pages.items():
        assert "buildledger" in html, f"{name} is no page of the app's own"
        page.goto(f"/went-wrong/{name}")
        assert page.locator("h1").count() == 1, name
        found += look(page, name)
    assert not found, "\n".join(found)


def test_no_violation_before_anybody_is_signed_in(open_page, live_server):
    page = open_page()
    page.goto("/")
    found = look(page, "sign in")
    page.get_by_label("Username").fill("nobody")
    press(page, "Sign in")
    found += look(page, "sign in refused")
    user, _ = ensure_user(username="ann", password="sawdust-and-lime")
    page.get_by_label("Username").fill(user.username)
    page.get_by_label("Password").fill("sawdust-and-lime")
    press(page, "Sign in")
    page.get_by_text("No build yet").wait_for()
    found += look(page, "no build yet")
    assert not found, "\n".join(found)


def test_no_violation_in_an_empty_build(open_page, enter, transactional_db):
    user, _ = ensure_user(username="ann", password="sawdust-and-lime")
    build = create_build(actor=user, values={"name": "Pump house", "currency": "USD"})
    page = open_page()
    enter(page, user)
    found = []
    for name in "home cost_sheet budget hours_report needed components labour cautions".split():
        page.goto(reverse(name, args=[build.pk]))
        found += look(page, f"{name} of an empty build")
    assert not found, "\n".join(found)
