"""Judging an offer, taking it or declining it, and what is still needed."""

import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.calc.types import PercentOn
from materials.choices import ChargeKind, Source, State
from materials.models import Purchase, RetailPrice
from materials.queries.needed import get_shopping
from materials.queries.offers import judge_purchase
from materials.services.prices import save_price
from materials.services.purchases import save_purchase
from materials.services.suppliers import get_or_add_supplier
from tests.entries import line

DAY, LATER = date(2026, 5, 4), date(2026, 6, 1)


@pytest.fixture
def stud(cast, build, add_component):
    """A component of which 100 are needed, 4.50 new."""
    part = add_component(build, "Stud", required_text="100 pieces")
    save_price(
        actor=cast["owner"],
        build=build,
        price=RetailPrice(),
        values={"component": part, "price": Decimal("4.50"), "priced_on": DAY},
    )
    return part


@pytest.fixture
def buy(cast, build):
    """Enter a purchase of one line."""

    def write(component, quantity, price, state, supplier="", charges=(), hours=None, **line):
        owner = cast["owner"]
        return save_purchase(
            actor=owner,
            build=build,
            purchase=Purchase(),
            values={
                "number": f"P{Purchase.objects.count() + 1}",
                "bought_on": DAY,
                "state": state,
                "lot_price_amount": price,
                "expected_hours": hours,
                "supplier": get_or_add_supplier(actor=owner, build=build, name=supplier),
            },
            lines=[
                {
                    "component": component,
                    "quantity_text": quantity,
                    "source": Source.SALVAGE,
                    **line,
                }
            ],
            charges=charges,
        )

    return write


AUCTION = (
    {"kind": ChargeKind.BUYERS_PREMIUM, "percent": Decimal(15)},
    {
        "kind": ChargeKind.SALES_TAX,
        "percent": Decimal(8),
        "percent_on": PercentOn.PRICE_AND_CHARGES,
    },
    {"kind": ChargeKind.HAULAGE, "amount": Decimal(40)},
)


def test_the_walk_away_bid_just_does_not_pass_buying_new(build, stud, buy):
    offer = buy(stud, "50 pieces", Decimal(100), State.OFFER, charges=AUCTION, hours=Decimal(4))
    judged = judge_purchase(build, offer, LATER)
    # New: 50 x 4.50 x 1.08 = 243.00. Landed: p x 1.15 x 1.08 + 40 <= 243 gives p <= 163.44...
    assert judged.worth.retail_equivalent == Fraction(243)
    assert judged.worth.highest_price == Decimal("163.44")
    # Four hours at 20.00 leave 163.00: p x 1.242 + 40 <= 163 gives 99.03...
    assert judged.worth.highest_price_with_hours == Decimal("99.03")
    # 100.00 + 15.00 + 9.20 + 40.00 = 164.20, and 243.00 - 164.20 is saved.
    assert judged.saved == Fraction("78.80")


def test_what_an_offer_would_do(build, stud, buy):
    buy(stud, "30 pieces", Decimal(60), State.RECEIVED)
    offer = buy(stud, "50 pieces", Decimal(100), State.OFFER)
    judged = judge_purchase(build, offer, LATER)
    effects = {effect.name: (effect.now, effect.then) for effect in judged.effects}
    assert effects["remaining"] == (Fraction(4940), Fraction(4840))
    assert effects["spent"] == (Fraction(60), Fraction(160))
    # 60.00 / 200 sq ft, then 160.00 / 200 sq ft.
    assert effects["area_0"] == (Fraction("0.3"), Fraction("0.8"))
    (needed,) = judged.needed
    assert (needed.now, needed.then) == (Fraction(70), Fraction(20))


def surplus_of(judged):
    """What is more than needed, by component."""
    return {part.name: need.surplus for part, need in judged.preview.surplus}


def test_an_offer_says_what_of_it_the_build_does_not_need(build, stud, buy, entries, clients):
    cable = entries.component("Cable", unit="ft", required_text="100 ft")
    slate = entries.component("Slate", unit="sq ft")
    entries.price(cable, "0.50")
    entries.price(slate, "9")
    buy(cable, "120 ft", Decimal(10), State.RECEIVED)
    buy(stud, "70 pieces", Decimal(60), State.RECEIVED)
    buy(stud, "28 pieces", Decimal(60), State.ORDERED)
    offer = entries.purchase(
        "O1",
        line(stud, "8 pieces", unit_price=Decimal(1)),
        line(cable, "250 ft", line_price_amount=Decimal(20)),
        line(slate, "2 sq ft", line_price_amount=Decimal(5)),
        state=State.OFFER,
    )
    judged = judge_purchase(build, offer, LATER)
    assert surplus_of(judged) == {"Stud": 6, "Cable": 250}
    # All of it new: (8 x 4.50 + 250 x 0.50 + 2 x 9.00) x 1.08 = 193.32.
    assert judged.worth.highest_price == Decimal("193.32")
    # Two studs, no cable, and all the slate, of which nothing is known: (9.00 + 18.00) x 1.08.
    assert judged.worth.needed_equivalent == Fraction("29.16")
    assert judged.worth.highest_price_needed == Decimal("29.16")
    page = reverse("purchase", args=[build.pk, offer.pk])
    text = clients["owner"].get(page).content.decode().replace("&nbsp;", " ")
    text = re.sub(r"<[^>]*>", "", text)
    assert "6 of 8 pieces of Stud and all 250 ft of Cable are more than the build needs" in text
    assert "Slate states no requirement, so the need is not known." in text
    assert "Components without a requirement count in full." in text
    assert "$29.16" in text


def test_two_lines_of_one_component_meet_one_need(build, stud, entries):
    entries.purchase("P1", line(stud, "95 pieces"))
    offer = entries.purchase(
        "O1", line(stud, "4 pieces"), line(stud, "6 pieces"), state=State.OFFER
    )
    judged = judge_purchase(build, offer, LATER)
    assert surplus_of(judged) == {"Stud": 5}
    # Five studs at 4.50 and 8 % tax.
    assert judged.worth.needed_equivalent == Fraction("24.3")


def test_an_offer_of_which_all_is_needed_says_so(build, stud, buy, clients):
    offer = buy(stud, "50 pieces", Decimal(100), State.OFFER)
    judged = judge_purchase(build, offer, LATER)
    assert surplus_of(judged) == {}
    assert judged.worth.highest_price_needed == judged.worth.highest_price == Decimal("243.00")
    page = clients["owner"].get(reverse("purchase", args=[build.pk, offer.pk])).content.decode()
    assert "All of it is still needed." in page
    assert "more than the build needs" not in page


def test_what_can_be_used_is_what_meets_a_need(build, stud, buy, clients):
    offer = buy(stud, "200 pieces", Decimal(100), State.OFFER, usable_percent=Decimal("50.5"))
    page = clients["owner"].get(reverse("purchase", args=[build.pk, offer.pk])).content.decode()
    text = re.sub(r"<[^>]*>", "", page).replace("&nbsp;", " ")
    assert "Of what is usable, 1 of 101 pieces of Stud is more than the build needs" in text


def test_where_no_requirement_is_stated_nothing_is_known_of_the_need(
    build, add_component, buy, clients, entries
):
    slate = add_component(build, "Slate", unit="sq ft")
    offer = buy(slate, "20 sq ft", Decimal(100), State.OFFER)
    judged = judge_purchase(build, offer, LATER)
    assert judged.worth.highest_price_needed is None
    assert [part.name for part in judged.preview.unstated] == ["Slate"]
    url = reverse("purchase", args=[build.pk, offer.pk])
    page = clients["owner"].get(url).content.decode()
    assert "Slate states no requirement, so the need is not known" in page
    assert "None of it states a requirement" not in page, "nothing else is known either"
    entries.price(slate, "9")
    page = clients["owner"].get(url).content.decode()
    assert "None of it states a requirement, so the need is not known." in page


def test_a_quantity_typed_in_its_own_unit_is_not_said_twice(build, stud, buy, clients):
    def page(purchase):
        url = reverse("purchase", args=[build.pk, purchase.pk])
        return clients["owner"].get(url).content.decode()

    for typed in ("5 pieces", "5 ea", "5 @ 2x4x8"):
        assert " = 5&nbsp;pieces" not in page(buy(stud, typed, Decimal(1), State.RECEIVED)), typed
    assert " = 12&nbsp;pieces" in page(buy(stud, "1 dozen", Decimal(1), State.RECEIVED))


def test_an_offer_with_haulage_beyond_its_worth_has_no_price(build, stud, buy):
    haul = ({"kind": ChargeKind.HAULAGE, "amount": Decimal(500)},)
    offer = buy(stud, "10 pieces", Decimal(0), State.OFFER, charges=haul)
    judged = judge_purchase(build, offer, LATER)
    assert judged.worth.highest_price is None
    assert judged.cost_above_new == Fraction("451.40")


def test_taking_declining_and_looking_again(clients, build, stud, buy):
    offer = buy(stud, "50 pieces", Decimal(100), State.OFFER)
    owner, page = clients["owner"], reverse("purchase", args=[build.pk, offer.pk])
    assert "Is it worth it?" in owner.get(page).content.decode()
    steps = reverse("purchase_state", args=[build.pk, offer.pk])
    for state in (State.DECLINED, State.OFFER, State.ORDERED, State.RECEIVED):
        owner.post(steps, {"state": state})
        assert Purchase.objects.get().state == state
    owner.post(steps, {"state": State.OFFER})
    assert Purchase.objects.get().state == State.RECEIVED, "what was received is no offer"
    assert "Is it worth it?" not in owner.get(page).content.decode()
    assert Purchase.objects.get().bought_on == timezone.localdate(), "the day it was taken"
    line = Purchase.objects.get().lines.get()
    assert (line.quantity_text, line.landed_amount) == ("50 pieces", Decimal("100.00"))


@pytest.mark.parametrize("state", ["", "stolen", "received\x00"])
def test_no_such_step(state, clients, build, stud, buy):
    offer = buy(stud, "50 pieces", Decimal(100), State.OFFER)
    steps = reverse("purchase_state", args=[build.pk, offer.pk])
    assert clients["owner"].post(steps, {"state": state}).status_code == 302
    assert Purchase.objects.get().state == State.OFFER


def test_what_is_still_needed_and_where_it_came_cheapest(build, stud, buy, add_component):
    nail = add_component(build, "Nail", unit="lb", required_text="5 lb")
    buy(stud, "20 pieces", Decimal(60), State.RECEIVED, "Dear yard")
    buy(stud, "20 pieces", Decimal(40), State.RECEIVED, "Cheap yard", usable_percent=Decimal(80))
    buy(stud, "10 pieces", Decimal(50), State.ORDERED, "Dear yard")
    places = get_shopping(build, LATER).lists
    rows = {row.position.component.key: row for place in places for row in place.rows}
    row = rows[stud.pk]
    # 100 - 20 - 16 usable - 10 ordered.
    assert row.position.still_needed == Fraction(54)
    # 40.00 / 16 usable; the other yard 110.00 / 30; new 4.86.
    assert (row.best.name, row.best.one, row.best.is_new) == ("Cheap yard", Fraction("2.5"), False)
    assert row.new_price == Fraction("4.86")
    assert row.cost == Fraction(135)
    assert rows[nail.pk].best is None
    assert [place.place for place in places] == ["Cheap yard", "Nowhere known yet"]


def test_the_shopping_list_leads_to_logging(clients, build, stud):
    text = clients["owner"].get(reverse("needed", args=[build.pk])).content.decode()
    assert "100&nbsp;pieces" in text
    assert f"{reverse('log', args=[build.pk])}?what=Stud&amp;much=100%20pieces" in text
    form = clients["owner"].get(reverse("log", args=[build.pk]) + "?what=Stud").content.decode()
    assert 'value="Stud"' in form
    seen = clients["viewer"].get(reverse("needed", args=[build.pk])).content.decode()
    assert "?what=Stud" not in seen


def test_what_was_bought_new_judges_an_offer_where_no_new_price_is_noted(build, entries):
    """Ten for 50.00, tax included, so 5.00 each: four offered for 8.00 are worth 20.00."""
    hinge = entries.component("Hinge", required_text="20 pieces")
    paid = {"unit_price": Decimal(5), "source": Source.RETAIL}
    entries.purchase("P1", line(hinge, "10 pieces", **paid))
    offered = line(hinge, "4 pieces", unit_price=Decimal(2))
    offer = entries.purchase("Q1", offered, state=State.OFFER)
    found = judge_purchase(build, offer, LATER)
    assert found.worth.retail_equivalent == found.preview.lines[0].new_one * 4 == 20
    assert found.worth.highest_price == 20
    assert found.saved == 12
    assert found.unpriced == ()
