"""Many purchase lines are given the same values in one act."""

from datetime import date
from decimal import Decimal as D

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.models import Change, Component, Person, Purchase, PurchaseLine, RetailPrice
from materials.queries.checks import find_differences
from materials.queries.many_lines import MOST
from materials.services import purchases
from materials.services.purchases import save_purchase
from tests.entries import FAR, line
from tests.fuzz.pages import read_page
from tests.world import once


def ten_purchases(world) -> None:
    """Ten purchases of ten components, one of two lines."""
    entries = world.entries
    for n in range(10):
        part = entries.component(f"Tile {n}")
        more = [line(entries.component("Grout", "lb"), "9 lb")] if n == 3 else []
        entries.purchase(f"T{n}", line(part, "5 pieces", unit_price=D(2)), *more)


pytestmark = once("clients", ten_purchases)


@pytest.fixture
def url(build) -> str:
    return reverse("lines_change", args=[build.pk])


@pytest.fixture
def lines(build) -> list[PurchaseLine]:
    found = PurchaseLine.objects.filter(of_build=build, component__name__startswith="Tile")
    return list(found.order_by("purchase__number"))


def data_of(answer) -> dict[str, list[str]]:
    """What the form of a page would send."""
    forms, _ = read_page(answer.content.decode())
    form = next(one for one in forms if any(each.name == "shown" for each in one.fields))
    found: dict[str, list[str]] = {}
    for each in form.fields:
        if each.sent:
            found.setdefault(each.name, []).append(each.value)
    return found


def opened(client, url, lines) -> dict[str, list[str]]:
    asked = "&".join(f"line={row.pk}" for row in lines)
    return data_of(client.get(f"{url}?{asked}"))


def send(client, url, page, **typed):
    return client.post(url, page | typed)


def test_the_list_offers_boxes_to_those_who_may_change(clients, build, lines):
    address = reverse("purchase_lines", args=[build.pk])
    for part, count in (("owner", 11), ("co_builder", 11), ("viewer", 0)):
        assert clients[part].get(address).content.decode().count('name="line"') == count


def test_ten_lines_get_an_element_and_more_at_once(clients, build, url, lines, entries):
    roof = entries.element("R1")
    page = opened(clients["owner"], url, lines)
    answer = send(
        clients["owner"], url, page, element=roof.pk, paid_by="Ann", supplier="Kiln",
        state="ordered", bought_on="2026-05-09", new_price="3.20",
    )  # fmt: skip
    assert answer.status_code == 302
    for row in PurchaseLine.objects.filter(pk__in=[one.pk for one in lines]):
        bought = row.purchase
        assert row.component.element == roof
        assert (bought.paid_by.name, bought.supplier.name) == ("Ann", "Kiln")
        assert (bought.state, bought.bought_on) == ("ordered", date(2026, 5, 9))
        assert [price.price for price in row.component.prices.all()] == [D("3.2")]
    assert Person.objects.filter(build=build, name="Ann").count() == 1
    # The other line of the one purchase has its payer and state, and not its element or price.
    grout = Component.objects.get(name="Grout")
    assert (grout.element, grout.prices.count()) == (None, 0)
    assert list(find_differences(build)) == []
    shown = clients["owner"].get(answer.url).content.decode()
    assert "Element, payer, supplier, state, date, new price: 10 purchase lines" in shown


def test_it_is_undone_as_one_from_the_page_one_comes_to(clients, build, url, lines, entries):
    roof = entries.element("R1")
    before = list(Purchase.objects.order_by("pk").values())
    page = opened(clients["owner"], url, lines)
    answer = send(clients["owner"], url, page, element=roof.pk, supplier="Kiln", new_price="3.20")
    forms, _ = read_page(clients["owner"].get(answer.url).content.decode())
    undo = next(form.action for form in forms if "undo" in form.action)
    assert clients["owner"].post(undo, {"saved": "1"}).status_code == 302
    assert list(Purchase.objects.order_by("pk").values()) == before
    assert not RetailPrice.objects.exists()
    assert not Component.objects.filter(element=roof).exists()
    assert not build.suppliers.exists()


def test_stock_is_only_counted_again_where_less_came_in(clients, url, lines, monkeypatch):
    counted = []
    monkeypatch.setattr(purchases, "check_stock", counted.append)
    page = opened(clients["owner"], url, lines)
    assert send(clients["owner"], url, page, supplier="Kiln", paid_by="Ann").status_code == 302
    assert counted == []
    page = opened(clients["owner"], url, lines)
    assert send(clients["owner"], url, page, state="ordered").status_code == 302
    assert len(counted) == 10


def test_only_ticked_lines_are_changed(clients, url, lines):
    page = opened(clients["owner"], url, lines)
    data = page | {"line": [str(lines[0].pk)], "supplier": "Kiln"}
    assert clients["owner"].post(url, data).status_code == 302
    assert Purchase.objects.filter(supplier__name="Kiln").get() == lines[0].purchase


def test_all_that_a_filter_lists_can_be_asked_for(clients, url, lines):
    part = lines[4].component_id
    page = data_of(clients["owner"].get(f"{url}?all=1&component={part}"))
    assert page["line"] == [str(lines[4].pk)]
    assert len(data_of(clients["owner"].get(f"{url}?all=1"))["line"]) == 11


def test_what_else_changes_is_said(clients, url, lines):
    page = clients["owner"].get(f"{url}?line={lines[3].pk}").content.decode()
    assert "They hold for 1 other line too." in page


def test_a_stale_row_is_named_and_nothing_is_written(clients, url, lines, entries):
    page = opened(clients["owner"], url, lines)
    second = lines[2].purchase
    row = second.lines.get()
    kept = line(row.component, "5 pieces", unit_price=D(2), pk=row.pk)
    save_purchase(
        actor=entries.actor, build=entries.build, purchase=second,
        values={"note": "two are cracked"}, lines=[kept],
    )  # fmt: skip
    before = Change.objects.count()
    answer = send(clients["owner"], url, page, supplier="Kiln")
    assert answer.status_code == 409
    text = answer.content.decode()
    assert "Somebody changed this meanwhile: T2, 5 pieces Tile 2." in text
    # What was changed, as at a form over one record.
    shown = text[text.index("What was changed meanwhile") :]
    assert '<td data-label="Now">two are cracked</td>' in shown[: shown.index("</table>")]
    assert Change.objects.count() == before
    # What was typed is still there, and the page has seen the change now.
    again = data_of(answer)
    assert again["supplier"] == ["Kiln"]
    assert len(again["line"]) == 10
    assert clients["owner"].post(url, again).status_code == 302
    second.refresh_from_db()
    assert (second.supplier.name, second.note) == ("Kiln", "two are cracked")


def test_refused_rows_are_named_and_no_longer_ticked(clients, url, lines, entries):
    """What was made of it stands in the way of one: the others can be saved at once."""
    entries.conversion(
        "C1", lines[6].component, "3 pieces", (entries.component("Chip"), "9 pieces")
    )
    page = opened(clients["owner"], url, lines)
    answer = send(clients["owner"], url, page, state="ordered")
    assert answer.status_code == 422
    words = answer.content.decode()
    assert "T6, 5 pieces Tile 6: That is more Tile 6 than there is" in words
    assert not Purchase.objects.filter(state="ordered").exists()
    again = data_of(answer)
    assert str(lines[6].pk) not in again["line"]
    assert clients["owner"].post(url, again).status_code == 302
    assert Purchase.objects.filter(state="ordered").count() == 9


def test_an_offer_that_is_taken_is_of_today(clients, url, entries):
    part = entries.component("Tread")
    offer = entries.purchase("Q1", line(part, "3 pieces"), state="offer", bought_on=FAR)
    page = opened(clients["owner"], url, offer.lines.all())
    assert send(clients["owner"], url, page, state="received").status_code == 302
    offer.refresh_from_db()
    assert (offer.state, offer.bought_on) == ("received", timezone.localdate())


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({}, "Nothing to change yet"),
        ({"line": [], "supplier": "Kiln"}, "Tick the lines to change."),
        ({"new_per_text": "gal"}, "Enter what one costs new, or leave both empty."),
        ({"new_price": "2", "new_per_text": "gal"}, "gal"),
        ({"bought_on": "soon"}, "Enter a date like 2026-04-03."),
        ({"line": ["999999"], "supplier": "Kiln"}, "was deleted meanwhile"),
        ({"line": ["x"], "supplier": "Kiln"}, "was deleted meanwhile"),
    ],
)
def test_bad_input_gets_a_sentence_and_keeps_what_was_typed(typed, said, clients, url, lines):
    before = Change.objects.count()
    page = opened(clients["owner"], url, lines)
    answer = clients["owner"].post(url, page | {"paid_by": ""} | typed)
    assert answer.status_code == 422
    assert said in answer.content.decode()
    assert Change.objects.count() == before
    if typed.get("supplier"):
        assert data_of(answer)["supplier"] == ["Kiln"]


def test_lines_of_another_build_are_not_there(clients, url, lines, other_build, build):
    elsewhere = reverse("lines_change", args=[other_build.pk])
    asked = f"{elsewhere}?line={lines[0].pk}"
    assert "No line is ticked." in clients["stranger"].get(asked).content.decode()
    answer = clients["stranger"].post(elsewhere, {"line": [lines[0].pk], "supplier": "Kiln"})
    assert answer.status_code == 422
    assert not Purchase.objects.filter(supplier__name="Kiln").exists()


def test_sent_twice_it_counts_once(clients, url, lines):
    page = opened(clients["owner"], url, lines[:2])
    data = page | {"new_price": "3.20"}
    assert [clients["owner"].post(url, data).status_code for _ in range(2)] == [302, 302]
    assert RetailPrice.objects.count() == 2


def test_no_more_than_fits_is_changed(clients, url, entries):
    part = entries.component("Brick")
    entries.purchase("B1", *(line(part, "1 piece") for _ in range(MOST + 1)))
    page = clients["owner"].get(f"{url}?all=1&component={part.pk}")
    assert len(data_of(page)["line"]) == MOST
    assert f"At most {MOST} lines" in page.content.decode()
