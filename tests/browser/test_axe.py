"""axe-core on every screen: no violation of WCAG 2.2 A and AA, nor of its best practices."""

import json

import pytest
from axe_playwright_python.base import AXE_SCRIPT

from .conftest import DESK
from .screens import AREAS, NO_SCREEN, SCREENS, routes

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
document.querySelectorAll('.edge').forEach(part => part.style.position = 'static');
"""


def violations(page, options) -> list[str]:
    """What axe-core finds: rule, place, and what it says of it."""
    found = page.evaluate(f"axe.run(document, {json.dumps(options)})")["violations"]
    return [
        f"{rule['id']} at {node['target'][0]}: {node['failureSummary']}"
        for rule in found
        for node in rule["nodes"]
    ]


def look(page, screen: str) -> list[str]:
    """Violations of one screen with everything folded open, in light and in dark."""
    page.evaluate(UNFOLD)
    page.emulate_media(color_scheme="light")
    page.evaluate(AXE_SCRIPT)
    found = [f"{screen}: {text}" for text in violations(page, ALL)]
    page.emulate_media(color_scheme="dark")
    return found + [f"{screen}, dark: {text}" for text in violations(page, COLOURS)]


def test_every_address_has_a_screen():
    assert set(routes()) == set(SCREENS) | set(NO_SCREEN)
    assert sorted(SCREENS) == sorted(" ".join(AREAS.values()).split())


@pytest.mark.parametrize("area", AREAS)
def test_no_violation_on_a_phone(area, walk):
    steps = walk()
    found = [text for screen in steps.through(AREAS[area]) for text in look(steps.page, screen)]
    assert not found, "\n".join(found)


def test_no_violation_on_a_desk(walk):
    steps = walk(DESK)
    names = "cost_sheet purchase purchase_add components history hours_report"
    found = [text for screen in steps.through(names) for text in look(steps.page, screen)]
    assert not found, "\n".join(found)
