"""After saving: one line of what was saved, another there, the same again, and undo."""

import re
from decimal import Decimal

import pytest
from django.urls import reverse

from materials.models import Change, Conversion, LabourEntry, LeftOver, Purchase, RetailPrice
from tests.entries import line
from tests.views.screens import Screens

STRIP = re.compile(r'<div class="saved message">(.*?)</form></div>\s*</div>', re.DOTALL)


def strip(html: str) -> str:
    """The strip of a page, or nothing."""
    found = STRIP.search(html)
    return found[1] if found else ""


def words(html: str) -> str:
    return " ".join(re.sub("<[^>]*>", " ", html).split())


@pytest.fixture
def screens(owner, build) -> Screens:
    return Screens(owner, build.pk)


@pytest.fixture
def board(entries):
    return entries.component("Board", contents="1 piece = 2x8x12")


def link(html: str, label: str) -> str:
    return re.search(rf'href="([^"]*)">{label}</a>', html)[1].replace("&amp;", "&")


LOG = {
    "what": "Board",
    "quantity_text": "12 pieces",
    "price": "27",
    "source": "salvage",
    "supplier": "Sand & Lime",
}


def after(screens: Screens, name: str, typed: dict) -> str:
    answer = screens.save(name, typed)
    return screens.client.get(answer.url).content.decode()


def test_a_purchase_is_said_in_one_line(screens, board):
    page = after(screens, "log", LOG)
    # What only a script shows does not count.
    assert len(re.findall(r"<\w+ (?![^>]*hidden)[^>]*role=\"status\"", page)) == 1
    assert "Saved. P001: 12 pieces Board from Sand &amp; Lime, $324.00" in words(strip(page))


def test_the_next_one_at_the_same_place(screens, board):
    page = after(screens, "log", LOG)
    form = screens.read(link(strip(page), "Log another here")).form.fields
    assert (form["supplier"], form["what"], form["source"]) == ("Sand & Lime", "", "salvage")


def test_the_same_again(screens, board):
    page = after(screens, "log", LOG)
    form = screens.read(link(strip(page), "Same again")).form.fields
    kept = ("what", "quantity_text", "price", "source", "supplier")
    assert {name: form[name] for name in kept} == LOG


def test_an_offer_is_judged_again_at_the_same_place(screens, board):
    page = after(screens, "log", LOG | {"state": "offer"})
    form = screens.read(link(strip(page), "Judge another here")).form.fields
    assert (form["supplier"], form["state"]) == ("Sand & Lime", "offer")


def test_hours(screens, build, entries):
    entries.task("Frame")
    page = after(screens, "labour_add", {"person": "Ann", "hours": "3", "task": "Frame"})
    assert "Saved. 3 h, Ann, Frame," in words(strip(page))
    more = screens.read(link(strip(page), "Log more hours")).form.fields
    assert (more["person"], more["hours"]) == ("Ann", "")
    assert more["task"] == str(build.tasks.get().pk)
    assert screens.read(link(strip(page), "Same again")).form.fields["hours"].startswith("3")


def test_a_conversion(screens, entries, board):
    entries.component("Slat")
    entries.purchase("P1", line(board, "12 pieces", unit_price=Decimal(2)))
    typed = {"source": "Board", "used_text": "2 pieces"}
    typed |= {"outputs-0-component": "Slat", "outputs-0-made_text": "8 pieces"}
    page = after(screens, "conversion_add", typed)
    assert "Saved. C001: 2 pieces Board into 8 pieces Slat" in words(strip(page))
    again = screens.read(link(strip(page), "Same again")).form.fields
    assert (again["number"], again["used_text"], again["outputs-0-made_text"]) == (
        "C002",
        "2 pieces",
        "8 pieces",
    )
    more = screens.read(link(strip(page), "Log another from this")).form.fields
    assert (more["source"], more["used_text"]) == (str(board.pk), "")


def test_leftovers(screens, entries, board):
    entries.purchase("P1", line(board, "12 pieces", unit_price=Decimal(2)))
    typed = {"component": "Board", "quantity_text": "2 pieces", "fate": "scrapped"}
    page = after(screens, "left_over_add", typed)
    assert "Saved. 2 pieces Board, scrapped" in words(strip(page))
    assert screens.read(link(strip(page), "Add other leftovers")).form.fields["fate"] == "scrapped"
    assert screens.read(link(strip(page), "Same again")).form.fields["quantity_text"] == "2 pieces"


def test_a_price(screens, board):
    typed = {"component": "Board", "price": "3.50", "priced_at": "Mill Street"}
    page = after(screens, "price_add", typed)
    assert "Saved. Board: $3.50 per" in words(strip(page))
    assert "Mill Street" in strip(page)
    here = screens.read(link(strip(page), "Add another price here")).form.fields
    assert (here["priced_at"], here["price"]) == ("Mill Street", "")


UNDONE = {
    "log": (LOG, Purchase, "purchases"),
    "labour_add": ({"person": "Ann", "hours": "3"}, LabourEntry, "labour"),
    "left_over_add": (
        {"component": "Board", "quantity_text": "1 piece", "fate": "on hand"},
        LeftOver,
        "left_over",
    ),
    "price_add": ({"component": "Board", "price": "3"}, RetailPrice, "prices"),
}


@pytest.mark.parametrize("name", sorted(UNDONE))
def test_undo_takes_it_back_and_leads_to_the_list(name, screens, build, entries, board):
    entries.purchase("P0", line(board, "12 pieces", unit_price=Decimal(2)))
    typed, model, place = UNDONE[name]
    before = model.objects.count()
    page = after(screens, name, typed)
    undo = re.search(r'action="([^"]*)"', strip(page))[1]
    assert model.objects.count() == before + 1
    answer = screens.client.post(undo, {"saved": "1"})
    assert answer.url == reverse(place, args=[build.pk])
    assert model.objects.count() == before
    assert "Undone." in screens.read(answer.url).text
    # Nothing is offered of what is gone.
    assert strip(screens.client.get(f"{answer.url}?saved=purchase-999999").content.decode()) == ""


def test_only_who_saved_it_may_undo_it_there(clients, screens, build, board):
    answer = screens.save("log", LOG)
    for part, shown in (("owner", True), ("co_builder", False), ("viewer", False)):
        page = clients[part].get(answer.url).content.decode()
        assert bool(strip(page)) == shown, part
    undo = reverse("change_undo", args=[build.pk, Change.objects.get(record_type="purchase").pk])
    assert clients["viewer"].post(undo, {"saved": "1"}).status_code == 403
    assert Purchase.objects.count() == 1


@pytest.mark.parametrize(
    "asked", ["", "purchase", "purchase-", "purchase-x", "nothing-1", "-1", "share link-1"]
)
def test_what_names_nothing_shows_nothing(asked, owner, build):
    page = owner.get(reverse("purchases", args=[build.pk]), {"saved": asked})
    assert page.status_code == 200
    assert strip(page.content.decode()) == ""


def test_what_was_changed_may_be_undone_too(screens, entries, board):
    conversion = entries.labour("Ann", 2)
    page = after_edit(screens, "labour_edit", {"hours": "5"}, conversion.pk)
    undo = re.search(r'action="([^"]*)"', strip(page))[1]
    screens.client.post(undo, {"saved": "1"})
    assert LabourEntry.objects.get().hours == 2
    assert Conversion.objects.count() == 0


def after_edit(screens: Screens, name: str, typed: dict, pk: int) -> str:
    answer = screens.save(name, typed, pk)
    return screens.client.get(answer.url).content.decode()
