"""Offers of what nothing needs as it is: what can be made of it, and what it is worth that way.

An invented scenario: roof slats split out of bolts.
"""

import html
import random
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from materials.models import Component
from materials.queries.needed import get_shopping
from materials.queries.offers import judge_purchase
from tests.entries import line
from tests.world import once

LATER = date(2026, 6, 1)
pytestmark = once("build", "clients")


@pytest.fixture
def offer(entries):
    """12 slats needed at 4.00 new, 8 % tax; a bolt gives 5, 0.2 h and 0.10 each; 2 bolts offered.

    15.00 for both and 6.00 to fetch them.
    """
    bolt = entries.component("Bolt")
    slat = entries.component("Slat", required_text="12 pieces")
    entries.price(slat, 4)
    stated = {"hours_each": Decimal("0.2"), "extra_each": Decimal("0.10")}
    entries.way(bolt, "1 piece", slat, "5 pieces", **stated)
    offered = line(bolt, "2 pieces", line_price_amount=Decimal(15))
    haulage = [{"kind": "haulage", "amount": Decimal(6)}]
    return entries.purchase("O1", offered, state="offer", charges=haulage)


def page_text(client, build, purchase) -> str:
    answer = client.get(reverse("purchase", args=[build.pk, purchase.pk]))
    assert answer.status_code == 200
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())).split())


def test_what_can_be_made_of_it_and_what_it_is_worth(build, clients, offer):
    making = judge_purchase(build, offer, LATER).making
    # Without it 12 × 4.32; with it 10 are made for 0.10 each and 2 bought.
    assert (making.without, making.with_it) == (Decimal("51.84"), Decimal("9.64"))
    # 42.20 less 6.00 to fetch it.
    assert making.highest_price == Decimal("36.20")
    (row,) = making.rows
    # 21.00 ÷ 2 bolts and 0.50 to split one, by 5.
    assert row.led.one == Fraction("2.20")
    assert (row.led.quantity, row.led.hours) == (10, Fraction("0.2"))
    assert row.needed == 12
    text = page_text(clients["owner"], build, offer)
    assert "Highest price, counting what can be made $36.20" in text
    assert "What could be made of it" in text
    # 42.20 less 21.00.
    assert "Slat can be made of it: that saves $21.20 , delivered." in text
    assert "Slat from Bolt 10 pieces $2.20 below new $4.32" in text


def test_what_it_costs_new_is_no_measure_where_nothing_needs_it_as_it_is(
    build, entries, clients, offer
):
    """Bolts at 50.00 new would “save” 87.00; nobody would buy them so."""
    bolt = Component.objects.get(build=build, name="Bolt")
    entries.price(bolt, 50)
    text = page_text(clients["owner"], build, offer)
    assert "Is it worth it? Slat can be made of it: that saves $21.20 , delivered." in text
    assert "Highest price worth paying" not in text
    entries.change(bolt, required_text="2 pieces")
    text = page_text(clients["owner"], build, offer)
    # 108.00 less 21.00.
    assert "Saves $87.00 against new" in text
    assert "Highest price worth paying" in text


def test_other_offers_of_what_it_makes_stand_beside_it(build, entries, offer):
    slat = Component.objects.get(build=build, name="Slat")
    entries.purchase("O2", line(slat, "4 pieces", unit_price=Decimal(3)), state="offer")
    (row,) = judge_purchase(build, offer, LATER).making.rows
    assert row.elsewhere == 3


def test_the_price_to_beat_is_that_of_making_it(build, entries, offer):
    """Slats offered are worth what slats made of bolts on hand cost, not what new ones do."""
    slat = Component.objects.get(build=build, name="Slat")
    bolt = Component.objects.get(build=build, name="Bolt")
    entries.purchase("P1", line(bolt, "3 pieces", unit_price=Decimal(5)))
    entries.left_over(bolt, "3 pieces", "on hand")
    offered = entries.purchase("O3", line(slat, "12 pieces", unit_price=Decimal(3)), state="offer")
    judgement = judge_purchase(build, offered, LATER)
    # New they are 51.84; 3 bolts make 15 for 0.10 each: 1.50 for what serves.
    assert judgement.worth.highest_price == Decimal("51.84")
    assert judgement.making.highest_price == Decimal("1.50")


def test_a_saving_against_new_is_no_verdict_where_making_costs_less(build, entries, clients, offer):
    slat = Component.objects.get(build=build, name="Slat")
    bolt = Component.objects.get(build=build, name="Bolt")
    entries.purchase("P1", line(bolt, "3 pieces", unit_price=Decimal(5)))
    entries.left_over(bolt, "3 pieces", "on hand")
    dear = entries.purchase("O3", line(slat, "12 pieces", unit_price=Decimal(3)), state="offer")
    text = page_text(clients["owner"], build, dear)
    # 51.84 less 36.00; 15 slats of 3 bolts at 0.10 of work each.
    assert "Saves $15.84 against new, delivered. Hours are not counted." in text
    assert "But what is needed can be got or made for $1.50." in text
    cheap = entries.purchase(
        "O4", line(slat, "12 pieces", unit_price=Decimal("0.12")), state="offer"
    )
    text = page_text(clients["owner"], build, cheap)
    assert "Saves $50.40 against new" in text
    assert "But what is needed" not in text


@pytest.mark.parametrize(
    ("hours_each", "told"),
    [
        # 42.20 less 6.00 to fetch it, and 20 × (0.5 + 10 × 0.05).
        ("0.05", "$16.20 0.5 h to fetch and prepare and 0.5 h more to make, at $20.00 an hour."),
        # 20 × (0.5 + 10 × 0.2) pass it.
        ("0.2", "none 0.5 h to fetch and prepare and 2 h more to make, at $20.00 an hour: they"),
    ],
)
def test_its_price_after_the_hours_is_by_what_can_be_made_of_it(
    build, clients, offer, hours_each, told
):
    """Nothing needs bolts as they are, so what bolts cost new has no say in it."""
    build.ways_to_make.update(hours_each=Decimal(hours_each))
    offer.expected_hours = Decimal("0.5")
    offer.save()
    Component.objects.filter(build=build, name="Bolt").update(would_buy_new=False)
    text = page_text(clients["owner"], build, offer)
    assert f"For everything, after the hours {told}" in text


def test_what_only_the_offer_meets_has_no_price_to_beat(build, clients, offer):
    Component.objects.get(build=build, name="Slat").prices.all().delete()
    making = judge_purchase(build, offer, LATER).making
    assert making.missing == ("Slat",)
    assert making.highest_price is None
    text = page_text(clients["owner"], build, offer)
    assert "It also meets what nothing else known does: Slat." in text
    assert "What Slat would cost otherwise is not known." in text


def test_an_unknown_price_leaves_the_cost_of_one_unknown(build, clients, offer):
    offer.lines.update(line_price_amount=None, price_amount=None)
    (row,) = judge_purchase(build, offer, LATER).making.rows
    assert row.led.one is None
    assert "What could be made of it" in page_text(clients["owner"], build, offer)


def test_nothing_is_said_where_no_way_has_to_do_with_it(build, entries, clients):
    lime = entries.component("Lime", unit="lb")
    offered = entries.purchase("O9", line(lime, "4 lb", unit_price=Decimal(1)), state="offer")
    assert judge_purchase(build, offered, LATER).making is None
    assert "What could be made of it" not in page_text(clients["owner"], build, offered)


def test_the_short_form_says_it_before_it_is_saved(build, clients, offer):
    typed = {"what": "Bolt", "quantity_text": "2 pieces", "price": "15", "price_for": "line"}
    typed |= {"source": "salvage", "state": "offer", "bought_on": "2026-05-04", "look": "1"}
    answer = clients["owner"].post(reverse("log", args=[build.pk]) + "?state=offer", typed)
    text = " ".join(html.unescape(re.sub(r"<[^>]*>", " ", answer.content.decode())).split())
    assert "What could be made of it" in text
    # 7.50 and 0.50 by 5.
    assert "Slat can be made of it: $1.60 each, new $4.32." in text


def test_taking_an_offer_saves_what_was_said(build, entries, offer):
    """The worth of an offer is by how much still needed falls once it is on hand, to the cent."""
    chance = random.Random(4)
    bolt = Component.objects.get(build=build, name="Bolt")
    before = get_shopping(build, LATER).total
    for at in range(6):
        count = chance.randint(1, 3)
        said = entries.purchase(f"S{at}", line(bolt, f"{count} pieces"), state="offer")
        making = judge_purchase(build, said, LATER).making
        assert making.without == before
        entries.purchase(f"T{at}", line(bolt, f"{count} pieces"))
        entries.left_over(bolt, f"{count} pieces", "on hand")
        after = get_shopping(build, LATER).total
        assert making.worth == before - after
        before = after
