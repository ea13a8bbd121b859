"""One box finds a record by the beginnings of a few words, in the builds one may see."""

import pytest
from django.urls import reverse

from materials.access import list_builds
from materials.queries.search import LISTED, find
from tests.entries import Entries, line
from tests.views.screens import Page


@pytest.fixture
def yard(entries):
    """A build with something of each kind."""
    wool = entries.component("Sheep's wool batts", unit="bag", note="from the shearing shed")
    entries.purchase(
        "W-17", line(wool, "3 bags", note="one bale torn"), supplier="Fell farm", note="cash only"
    )
    entries.labour("Ida", 2, task=entries.task("Stuffing walls"), note="windy")
    return wool


def found(cast, text: str, who: str = "owner", first=None) -> dict[str, list[str]]:
    answer = find(list_builds(cast[who]), text, first)
    return {group.kind.label: [row.title for row in group.rows] for group in answer.groups}


@pytest.mark.parametrize(
    ("text", "label", "title"),
    [
        ("wool", "Components", "Sheep's wool batts"),
        ("batts wool", "Components", "Sheep's wool batts"),
        ("WOO bat", "Components", "Sheep's wool batts"),
        ("shearing", "Components", "Sheep's wool batts"),
        ("w-17", "Purchases", "W-17"),
        ("17", "Purchases", "W-17"),
        ("cash", "Purchases", "W-17"),
        ("torn", "Notes on purchase lines", "Sheep's wool batts"),
        ("fell", "Suppliers", "Fell farm"),
        ("stuff", "Tasks", "Stuffing walls"),
        ("ida", "People", "Ida"),
        ("windy", "Notes on hours", "Ida"),
    ],
)
def test_each_kind_is_found_by_the_beginning_of_words(cast, yard, text, label, title):
    assert found(cast, text)[label] == [title]


def test_all_words_must_be_there_and_begin_so(cast, yard):
    assert found(cast, "wool fell") == {}
    assert "Components" not in found(cast, "ool")


def test_a_slip_behind_the_first_letters_is_forgiven_and_said(cast, yard, build, clients):
    assert find(list_builds(cast["owner"]), "stufing").is_guess
    assert found(cast, "stufing")["Tasks"] == ["Stuffing walls"]
    page = clients["owner"].get(reverse("search", args=[build.pk]), {"q": "stufing"})
    assert "Nothing begins with “stufing”. These begin alike." in Page(page.content.decode()).text


def test_only_in_builds_one_may_see(cast, yard, other_build):
    assert found(cast, "wool", "viewer") != {}
    assert found(cast, "wool", "stranger") == {}
    Entries(cast["stranger"], other_build).component("Reed mat")
    assert found(cast, "reed") == {}


def test_the_open_build_comes_first(cast, yard, build, second):
    Entries(cast["owner"], second).component("Wool felt")
    first, other = (found(cast, "wool", first=made.pk)["Components"] for made in (build, second))
    assert first == ["Sheep's wool batts", "Wool felt"]
    assert other == ["Wool felt", "Sheep's wool batts"]


def test_more_than_are_listed_is_said(cast, build, entries, clients):
    for number in range(LISTED + 1):
        entries.component(f"Slat {number}")
    page = clients["owner"].get(reverse("search", args=[build.pk]), {"q": "slat"})
    assert "There are more: add a word." in page.content.decode()
    assert len(found(cast, "slat")["Components"]) == LISTED


@pytest.mark.parametrize("text", ["", " ", "%", "_", "\\", "'", "\0", "a" * 5000, "ß Ä", "x " * 99])
def test_nothing_typed_is_an_error(build, clients, text):
    for address in (reverse("search", args=[build.pk]), reverse("search_builds")):
        assert clients["owner"].get(address, {"q": text}).status_code == 200


def test_marks_of_the_database_stand_for_themselves(cast, entries):
    entries.component("Slat")
    assert found(cast, "S_at") == found(cast, "%lat") == {}


def test_every_result_leads_to_its_page(cast, build, records, clients):
    for text in ("board", "yard", "p1", "frame", "ann", "c1"):
        page = clients["owner"].get(reverse("search", args=[build.pk]), {"q": text})
        links = [url for url, _ in Page(page.content.decode()).links if "/search/" not in url]
        inside = page.content.decode().partition("<main")[2].count('class="rows"')
        assert inside, text
        for url in links:
            if url.startswith(f"/builds/{build.pk}/"):
                assert clients["owner"].get(url).status_code == 200, url
