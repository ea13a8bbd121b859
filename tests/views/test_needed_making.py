"""Still needed where things are made: of what is on hand, of what is got, in chains.

An invented scenario: roof shingles split of cedar bolts, and pegs of laths.
"""

import html
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from materials.models import Component
from materials.queries.needed import get_shopping
from tests.entries import line
from tests.world import once

LATER = date(2026, 6, 1)
pytestmark = once("build", "clients")


@pytest.fixture
def slats(entries):
    """37 slats are needed at 4.00 new; a plank gives 7 slats out of 3 planks, planks cost 1.20."""
    plank = entries.component("Plank")
    slat = entries.component("Slat", required_text="37 pieces")
    entries.price(slat, 4)
    entries.purchase("P1", line(plank, "20 pieces", unit_price=Decimal("1.20")), supplier="Yard")
    entries.conversion("C1", plank, "3 pieces", (slat, "7 pieces"), hours=Decimal("1.5"))
    # What was tried out went to somebody else.
    entries.left_over(slat, "7 pieces", "given away")
    return plank, slat


def address(build) -> str:
    return reverse("needed", args=[build.pk])


def text_of(client, build) -> str:
    answer = client.get(address(build))
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())).split())


def test_a_need_is_met_from_stock_on_hand_and_the_rest_is_got(build, entries, clients, slats):
    plank, slat = slats
    entries.left_over(plank, "14 pieces", "on hand")
    shopping = get_shopping(build, LATER)
    (making,) = shopping.making.makings
    # 16 planks make 37.33; 14 on hand make 32, and two are got where they were for 1.20.
    assert (making.used, making.drawn.hand, making.drawn.got) == (16, 14, 2)
    assert [(one.part, one.quantity, one.hand) for one in making.made] == [(slat, 37, 32)]
    ((row,),) = [part.rows for part in shopping.lists]
    assert (row.position.component.key, row.needed, row.cost) == (plank.pk, 2, Decimal("2.40"))
    assert shopping.total == Decimal("2.40")
    text = text_of(clients["owner"], build)
    assert "16 pieces Plank: make 37 pieces Slat" in text
    assert "14 pieces on hand for 32 pieces Slat; 2 pieces to get" in text
    # Half an hour a plank.
    assert "37 pieces Slat needed; 8 h" in text


def test_what_is_on_hand_is_named_where_nothing_sells_the_rest(build, entries, clients, slats):
    plank, slat = slats
    entries.left_over(plank, "14 pieces", "on hand")
    slat.prices.all().delete()
    build.purchases.get(number="P1").lines.update(unit_price=None, price_amount=None)
    text = text_of(clients["owner"], build)
    assert "14 pieces Plank on hand: make 32 pieces Slat" in text
    shopping = get_shopping(build, LATER)
    ((row,),) = [part.rows for part in shopping.lists]
    assert (row.position.component.key, row.needed, row.is_partly_made) == (slat.pk, 5, True)
    assert shopping.without_price == 1


def test_what_is_cheaper_new_is_bought_new(build, entries, clients, slats):
    _, slat = slats
    entries.price(slat, "0.25", priced_on=LATER)
    shopping = get_shopping(build, LATER)
    assert not shopping.making.is_used
    # 37 × 0.25 × 1.08 tax of the build.
    tax = 1 + Fraction(build.retail_tax_percent) / 100
    assert Fraction(shopping.total) == Fraction("9.25") * tax
    assert "make-title" not in clients["owner"].get(address(build)).content.decode()


def test_a_stated_way_counts_in_place_of_the_learned_one(build, entries, clients, slats):
    plank, slat = slats
    entries.left_over(plank, "14 pieces", "on hand")
    entries.way(plank, "1 piece", slat, "4 pieces", lost_percent=Decimal(25))
    (making,) = get_shopping(build, LATER).making.makings
    # 3 a plank serve: 13 of the 14 on hand do.
    assert (making.used, making.is_all_on_hand, making.hours) == (13, True, None)
    text = text_of(clients["owner"], build)
    assert "13 pieces Plank on hand: make 39 pieces Slat" in text
    assert "hours not known; extra cost not known, so none counts" in text


def test_a_chain_of_stated_ways(build, entries, slats):
    plank, _ = slats
    log = entries.component("Log")
    entries.way(log, "1 piece", plank, "5 pieces", extra_each=Decimal("0.10"))
    entries.purchase("P2", line(log, "4 pieces", unit_price=Decimal(2)), supplier="Mill")
    entries.left_over(log, "2 pieces", "on hand")
    shopping = get_shopping(build, LATER)
    # 16 planks: 10 of 2 logs on hand for 10 × 0.10; 5 more of a log for 2.50 and one for 1.20.
    assert shopping.total == Decimal("4.70")
    used = {making.known.source.name: making.used for making in shopping.making.makings}
    assert used == {"Log": 3, "Plank": 16}


def test_the_page_of_ways_shows_spread_and_cost(build, entries, clients, slats):
    plank, slat = slats
    entries.conversion("C2", plank, "2 pieces", (slat, "6 pieces"), hours=Decimal("0.6"))
    answer = clients["owner"].get(reverse("ways", args=[build.pk])).content.decode()
    text = " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer)).split())
    # 13 of 5 planks; 7 of 3 and 6 of 2.
    assert "Slat 2.6 pieces of 1 piece Plank" in text
    assert "Made so far: 2.333 to 3." in text
    # An hour and a half for 7, 0.6 h for 6.
    assert "Hours for one so far: 0.1 h to 0.21 h." in text
    # 1.20 ÷ 2.6.
    assert "$0.4615" in text
    assert "2 conversions" in text
    page = clients["viewer"].get(reverse("component", args=[build.pk, plank.pk])).content.decode()
    assert "What can be made of it" in page
    assert "State what can be made of it" not in page


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"component": "Plank"}, "Plank cannot be made from itself"),
        ({"source": "Slat", "component": "Plank"}, "so this would go in a circle"),
        ({"lost_percent": "100"}, "Nothing is left of it. Enter less than 100."),
        ({"made_text": "a lot"}, "a lot"),
    ],
)
def test_what_cannot_be_stated_is_said_and_kept_as_typed(build, clients, slats, values, said):
    typed = {"source": "Plank", "used_text": "1 piece", "component": "Slat"}
    typed |= {"made_text": "3 pieces", "note": "with the long saw"} | values
    for name in ("source", "component"):
        typed[name] = Component.objects.get(build=build, name=typed[name]).pk
    answer = clients["owner"].post(reverse("way_to_make_add", args=[build.pk]), typed)
    assert answer.status_code == 422
    page = html.unescape(answer.content.decode())
    assert said in page
    assert "with the long saw" in page
    assert not build.ways_to_make.exists()


def test_a_way_is_stated_once(build, clients, slats):
    plank, slat = slats
    typed = {"source": plank.pk, "used_text": "1 piece", "component": slat.pk, "made_text": "3"}
    address = reverse("way_to_make_add", args=[build.pk])
    assert clients["owner"].post(address, typed).status_code == 302
    way = build.ways_to_make.get()
    assert (way.made_text, way.hours_each, way.extra_each) == ("3 pieces", None, None)
    again = clients["owner"].post(address, typed)
    assert "It is stated already what Plank gives of Slat." in again.content.decode()


def test_a_purchase_leads_to_what_was_made_of_it(build, clients, slats):
    plank, _ = slats
    purchase = build.purchases.get(number="P1")
    page = clients["owner"].get(reverse("purchase", args=[build.pk, purchase.pk]))
    form = f"{reverse('conversion_add', args=[build.pk])}?source={plank.pk}&used=20%20pieces"
    assert f'href="{html.escape(form)}"' in page.content.decode()
    started = clients["owner"].get(form).context["form"]
    assert (started.initial["source"], started.initial["used_text"]) == (plank.pk, "20 pieces")
    seen = clients["viewer"].get(reverse("purchase", args=[build.pk, purchase.pk]))
    assert "Log what was made of it" not in seen.content.decode()


def test_the_list_leads_to_a_conversion_that_is_filled_in(build, entries, clients, slats):
    """By the way the list means, though another works the same planks up; as much as is there."""
    plank, _ = slats
    entries.left_over(plank, "14 pieces", "on hand")
    entries.way(plank, "1 piece", entries.component("Wedge"), "30 pieces")
    page = clients["owner"].get(address(build)).content.decode()
    (form,) = re.findall(r'href="([^"]*/conversions/add/[^"]*)"', page)
    started = clients["owner"].get(html.unescape(form))
    assert started.context["form"].initial["used_text"] == "14 pieces"
    shown = started.content.decode()
    # 14 planks make 32.67, in half an hour each.
    assert 'value="32 pieces"' in shown
    assert 'value="7.00"' in shown or 'value="7"' in shown
