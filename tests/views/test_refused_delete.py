"""A delete that is refused names what hinders it, each a link, and offers no button."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from tests.entries import line
from tests.views.screens import Page, Screens


@pytest.fixture
def screens(owner, build) -> Screens:
    return Screens(owner, build.pk)


def ways(page: Page) -> dict[str, str]:
    """What hinders, by what it is called."""
    part = page.html.partition('<ul class="ways">')[2].partition("</ul>")[0]
    return {text: url for url, text in re.findall(r'<a href="([^"]*)">([^<]*)</a>', part)}


def is_offered(page: Page) -> bool:
    return '<button class="danger"' in page.html


HINDERED = {
    "element": {"Component: Rafter", "Task: Raise it"},
    "component": {
        "Purchase: P1", "Conversion: C1", "Leftovers: 1 piece Board on hand",
        "Cutting plan: Cuts 1",
    },
    "supplier": {"Purchase: P1"},
    "task": {"Hours: "},
}  # fmt: skip


@pytest.mark.parametrize("kind", sorted(HINDERED))
def test_it_is_said_before_anything_is_pressed(kind, screens, entries, records):
    entries.component("Rafter", element=records["element"])
    entries.task("Raise it", element=records["element"])
    entries.left_over(records["component"], "1 piece", fate="on hand")
    url = screens.url("record_delete", kind, records[kind].pk)
    page = screens.read(url)
    assert not is_offered(page)
    named = ways(page)
    for words in HINDERED[kind]:
        assert any(name.startswith(words) for name in named), (words, named)
    for address in named.values():
        screens.read(address)
    again = screens.client.post(url)
    assert again.status_code == 422
    assert ways(Page(again.content.decode())) == named
    assert not is_offered(Page(again.content.decode()))


def test_what_made_more_than_there_is_names_the_component(screens, build, records):
    """A purchase is in nobody's way until what came with it was used."""
    url = screens.url("record_delete", "purchase", records["purchase"].pk)
    assert is_offered(screens.read(url))
    page = Page(screens.client.post(url).content.decode())
    board = reverse("component", args=[build.pk, records["component"].pk])
    assert ways(page) == {"Component: Board": board}
    assert not is_offered(page)


def test_what_nothing_uses_is_deleted(screens, entries, build):
    part = entries.component("Peg")
    url = screens.url("record_delete", "component", part.pk)
    page = screens.read(url)
    assert is_offered(page)
    assert ways(page) == {}
    assert reverse("component", args=[build.pk, part.pk]) in page.html
    assert screens.client.post(url).status_code == 302


def test_of_each_kind_the_first_few_are_named(screens, entries):
    part = entries.component("Peg")
    for number in range(12):
        entries.purchase(f"P{number}", line(part, "1 piece", unit_price=Decimal(1)))
    page = screens.read(screens.url("record_delete", "component", part.pk))
    assert len(ways(page)) == 8
