"""The sourcing plan of a build, worked by hand.

40 studs are needed: new 4.50, with 8 % tax 4.86 each. The mill offers 25 at 2.00 each, and apart
from that 20 as a lot for 60.00; either is fetched for 30.00, both on one journey. So the lot and
20 of the 25 come to 60.00 + 40.00 + 30.00 = 130.00. A door costs 108.00 new, or 80.00 and a
haulage of 50.00. A post (8.64 new) was made into 4 studs in half an hour: 10 of them, 86.40.
"""

import html
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from materials.calc.supply.types import Aim, Question
from materials.models import Change, PurchaseLine
from materials.sourcing.calc.sensitivity import BreakEven
from materials.sourcing.queries import plan as queries
from materials.sourcing.queries.plan import get_sourcing_inputs, solve
from tests.entries import line
from tests.sourcing.calc.by_hand import money_of_pieces

LATER = date(2026, 6, 1)


def haul(amount) -> dict:
    return {"kind": "haulage", "amount": Decimal(amount)}


@pytest.fixture
def yard(entries):
    """The needs and offers of the docstring; the lot is M2, the door D1."""
    stud = entries.component("Stud", required_text="48 pieces")
    door = entries.component("Door", required_text="1 piece")
    post = entries.component("Post")
    for part, price in ((stud, "4.50"), (door, "100"), (post, "8")):
        entries.price(part, price, priced_at="Lumber yard")
    entries.purchase("P1", line(post, "2 pieces", unit_price=Decimal(1)))
    entries.conversion("C1", post, "2 pieces", (stud, "8 pieces"), hours=Decimal(1))
    offer = {"state": "offer", "expected_hours": Decimal(2)}
    entries.purchase(
        "M1",
        line(stud, "25 pieces", unit_price=Decimal(2)),
        charges=[haul(30)],
        supplier="Mill",
        **offer,
    )
    entries.purchase(
        "M2",
        line(stud, "20 pieces"),
        charges=[haul(30)],
        supplier="Mill",
        lot_price_amount=Decimal(60),
        **offer,
    )
    entries.purchase(
        "D1", line(door, "1 piece", line_price_amount=Decimal(80)), charges=[haul(50)], **offer
    )
    return entries


def address(build, query="") -> str:
    return reverse("sourcing", args=[build.pk]) + query


def page_text(client, build, query="?aim=money", status=200) -> str:
    """The text of the page, tags out and spaces single; nothing is made unless it is ticked."""
    answer = client.get(address(build, query))
    assert answer.status_code == status
    text = re.sub(r"<[^>]*>", " ", answer.content.decode())
    return " ".join(html.unescape(text).split())


def plan_of(build, asked=None, recipes=()):
    inputs = get_sourcing_inputs(build, LATER)
    return solve(inputs, asked or Question(), recipes)


def side_of(build, number):
    outcome = plan_of(build)
    (sensitivity,) = [
        s for s in outcome.sensitivities if s.part[0] == build.purchases.get(number=number).pk
    ]
    return sensitivity


def test_one_journey_for_two_offers(build, yard, clients):
    text = page_text(clients["owner"], build)
    assert "Take 2 offers on 1 trip, and buy 1 thing new." in text
    assert "Money $238.00" in text
    assert "Hours 4 h" in text
    assert "Proved: no plan costs less." in text
    assert "M1 : Stud, 20 pieces of 25 pieces" in text
    assert "haulage counted once −$30.00" in text
    assert "Door : 1 piece $108.00 Lumber yard" in text


def test_the_pieces_sum_to_the_plan(build, yard):
    for asked in (Question(), Question(Aim.BOTH, rate=30), Question(Aim.HOURS)):
        outcome = plan_of(build, asked)
        assert outcome.plan.is_proved
        assert Fraction(money_of_pieces(outcome.problem, outcome.plan)) == outcome.plan.money


def test_why_each_is_in_or_out(build, yard, clients):
    text = page_text(clients["owner"], build)
    # Without the lot: 25 for 50.00, 30.00 to fetch, 15 new for 72.90, where 130.00 was.
    assert "Leaving it out would cost $22.90 more. Bought new instead: 15 pieces Stud." in text
    assert "$82.90 for the lot" in text
    # Without the other: 60.00 + 30.00 and 20 new for 97.20; a stud turns at its new price.
    assert "Leaving it out would cost $57.20 more." in text
    assert "$4.86 each" in text
    assert (
        "Taking it would cost $22.00 more, since its haulage of $50.00 is carried by 1 piece alone."
        in text
    )
    assert "$58.00 for all of it" in text


@pytest.mark.parametrize(
    ("number", "field", "break_even"),
    [
        ("M1", "unit_price", "4.86"),
        ("M2", "lot_price_amount", "82.90"),
        ("D1", "line_price_amount", "58.00"),
    ],
)
def test_the_answer_changes_at_the_price_printed(build, yard, number, field, break_even):
    sensitivity = side_of(build, number)
    assert (sensitivity.break_even, sensitivity.price) == (BreakEven.AT, Fraction(break_even))
    purchase = build.purchases.get(number=number)
    for shift, is_in in (("0.01", False), ("-0.01", True)):
        record = purchase if field == "lot_price_amount" else purchase.lines.get()
        setattr(record, field, Decimal(break_even) + Decimal(shift))
        record.save()
        assert side_of(build, number).is_in is is_in


@pytest.mark.parametrize(
    ("number", "field", "break_even"),
    [("M2", "lot_price_amount", "82.90"), ("D1", "line_price_amount", "58.00")],
)
def test_at_the_price_printed_it_comes_to_no_more(build, yard, clients, number, field, break_even):
    purchase = build.purchases.get(number=number)
    record = purchase if field == "lot_price_amount" else purchase.lines.get()
    words = "for the lot" if field == "lot_price_amount" else "for all of it"
    setattr(record, field, Decimal(break_even))
    record.save()
    sensitivity = side_of(build, number)
    assert sensitivity.is_in or sensitivity.more == 0
    text = page_text(clients["owner"], build)
    assert "An offer is worth taking up to the price in “Worth it up to”" in text
    assert "it belongs in" not in text
    # Both offers take 2 hours, and new material none: where the money is the same, new goes first.
    assert not sensitivity.is_in
    assert "Taking it would cost the same; fewer hours, then fewer trips and fewer things" in text
    assert f"${break_even} {words} now ${break_even} {words}" in text


def test_the_price_now_stands_by_the_price_at_which_it_turns(build, yard, clients):
    text = page_text(clients["owner"], build)
    assert "$82.90 for the lot now $60.00 for the lot" in text
    assert "$4.86 each now $2.00 each" in text
    assert "$58.00 for all of it now $80.00 for all of it" in text


def test_prices_no_higher_are_not_called_higher(build, yard, clients):
    made = build.purchases.get(number="M1").lines.get()
    lines = PurchaseLine.objects.filter(pk=made.pk)
    lines.update(most_text="60 pieces", price_breaks="36 pieces: 1.50")
    text = page_text(clients["owner"], build)
    # With the lot, 20 of them or of new ones for 97.20: 4.86 each.
    assert "$4.86 each, each price $2.86 higher now $2.00 each, the first of its prices" in text
    lines.update(unit_price=Decimal("4.86"), price_breaks="36 pieces: 4.36")
    text = page_text(clients["owner"], build)
    assert "$4.86 each now $4.86 each, the first of its prices" in text
    assert "$0.00 higher" not in text


def test_making_counts_unless_it_is_unticked(build, yard, clients):
    (known,) = get_sourcing_inputs(build, LATER).ways
    assert "Make from other material" in page_text(clients["owner"], build)
    assert "Money $194.40" in page_text(clients["owner"], build, "")
    text = page_text(clients["owner"], build, f"?aim=money&recipe={known.code}")
    # 10 posts for 86.40 and the door for 108.00; 5 hours.
    assert "Money $194.40" in text
    assert "Hours 5 h" in text
    assert "10 pieces Post into 40 pieces Stud" in text
    # 86.40 for 40; 4.50 with 8 % tax.
    assert "10 pieces to get One Stud comes to $2.16, new $4.86" in text
    assert "Post : 10 pieces $86.40" in text


def test_what_is_on_hand_leads_to_its_conversion(build, yard, clients):
    """Only that: what has to be got first cannot be worked up yet."""
    (known,) = get_sourcing_inputs(build, LATER).ways
    query = f"?aim=money&recipe={known.code}"
    link = r'href="([^"]*/conversions/add/[^"]*)"'
    assert not re.findall(link, clients["owner"].get(address(build, query)).content.decode())
    post = build.components.get(name="Post")
    yard.purchase("P2", line(post, "3 pieces", unit_price=Decimal(1)))
    yard.left_over(post, "3 pieces", "on hand")
    (form,) = re.findall(link, clients["owner"].get(address(build, query)).content.decode())
    assert 'value="12 pieces"' in clients["owner"].get(html.unescape(form)).content.decode()
    assert not re.findall(link, clients["viewer"].get(address(build, query)).content.decode())


def test_hours_weigh_and_limits_hold(build, yard, clients):
    # 4 hours at 30.00 are 120.00 more: all new for 40 x 4.86 + 108.00 = 302.40 is less.
    text = page_text(clients["owner"], build, "?aim=both&rate=30")
    assert "Take no offer, and buy 2 things new." in text
    assert "Money $302.40" in text
    assert "it takes 2 h" in text
    # One offer in 2 hours: 25 for 50.00 + 30.00 and 15 new for 72.90.
    text = page_text(clients["owner"], build, "?aim=money&most_hours=2")
    assert "Money $260.90" in text
    assert "within 2 h" in text
    text = page_text(clients["owner"], build, "?aim=hours&most_money=265")
    assert "Hours 2 h" in text
    assert "hours decide, not its price" in text


@pytest.mark.parametrize(
    ("query", "why"),
    [
        ("?aim=hours", "No offer is taken: no plan with one takes fewer hours."),
        (
            "?aim=both&rate=30",
            "No offer is taken: no plan with one costs less in money and hours together.",
        ),
        (
            "?aim=money&most_hours=0",
            "No offer is taken: no plan with one costs less within these limits.",
        ),
    ],
)
def test_why_no_offer_is_taken_fits_the_aim(build, yard, clients, query, why):
    text = page_text(clients["owner"], build, query)
    # All new, where 238.00 would do with two offers.
    assert "Money $302.40" in text
    assert why in text


def test_a_limit_without_an_aim_limits_the_first_aim(build, yard, clients):
    text = page_text(clients["owner"], build, "?most_money=200")
    assert "No plan meets everything within these limits. The least it can cost is $238.00." in text
    assert page_text(clients["owner"], build, "?most_hours=2").count("Money $260.90") == 1


def test_money_against_hours_is_drawn_and_listed(build, yard, clients):
    text = page_text(clients["owner"], build)
    assert "Money against hours" in text
    assert "$238.00 and 4 h. $260.90 and 2 h. $302.40 and 0 h." in text
    # (260.90 − 238.00) ÷ 2 and (302.40 − 260.90) ÷ 2.
    assert "$11.45" in text
    assert "$20.75" in text
    page = clients["owner"].get(address(build, "?aim=money")).content.decode()
    assert 'href="?aim=money&amp;most_hours=2"' in page


def test_no_plan_within_the_limit_says_what_would_do(build, yard, clients):
    text = page_text(clients["owner"], build, "?aim=money&most_money=200")
    assert "No plan meets everything within these limits. The least it can cost is $238.00." in text


def test_what_is_left_out_is_named(build, yard, clients):
    rail = yard.component("Rail", unit="ft", required_text="10 ft")
    yard.component("Paint", unit="gal")
    stud = build.components.get(name="Stud")
    yard.purchase("U1", line(stud, "5 pieces"), line(rail, "4 ft", unit_price=1), state="offer")
    text = page_text(clients["owner"], build)
    assert "10 ft Rail: it has no new price, and the offers are not enough." in text
    assert "U1 , Stud: Its price is not known" in text
    assert "U1 , Its hours: It states no hours, so none count." in text
    # Post and Paint.
    assert "2 components state no requirement" in text
    yard.purchase("U2", line(rail, "7 ft", unit_price=2), state="offer")
    # 11 ft in all do reach, and then nothing else meets it.
    text = page_text(clients["owner"], build)
    assert "10 ft Rail: no new price" not in text
    assert "none: at any price" in text


def test_more_than_needed_is_worth_nothing_and_said(build, yard, clients):
    yard.change(build.components.get(name="Stud"), required_text="24 pieces")
    # 16 are needed: M1 brings them for 32.00 + 30.00, the lot of 20 would cost 90.00.
    text = page_text(clients["owner"], build)
    assert "Stud, 16 pieces of 25 pieces" in text
    assert "4 pieces Stud would be more than needed" in text


def test_breaks_and_steps_are_planned(build, yard):
    made = build.purchases.get(number="M1").lines.get()
    values = {"step_text": "6 pieces", "most_text": "60 pieces", "price_breaks": "36 pieces: 1.50"}
    PurchaseLine.objects.filter(pk=made.pk).update(**values)
    # 42 at 1.50 and 30.00 to fetch: 93.00.
    outcome = plan_of(build)
    assert outcome.plan.takes == {(made.purchase_id, made.pk): 7}
    assert outcome.plan.money == Fraction("201.00")
    assert outcome.plan.over[made.component_id] == 2


def test_spare_material_may_be_worked_up(build, yard):
    post = build.components.get(name="Post")
    yard.change(post, required_text="1 piece")
    yard.purchase("P2", line(post, "5 pieces", unit_price=Decimal(1)))
    yard.left_over(post, "4 pieces", "on hand")
    (known,) = get_sourcing_inputs(build, LATER).ways
    outcome = plan_of(build, recipes=[known.code])
    # 4 posts are to spare, 6 are bought for 51.84.
    assert outcome.plan.money == Fraction("159.84")


def test_the_steps_lead_to_the_offer_itself(build, yard, clients):
    page = clients["owner"].get(address(build, "?aim=money")).content.decode()
    door = build.purchases.get(number="D1")
    action = reverse("purchase_state", args=[build.pk, door.pk])
    assert f'action="{action}"' in page
    assert ">D1</a>" in page
    assert "M1 is taken only in part" in page
    assert clients["owner"].post(action, {"state": "declined"}).status_code == 302
    door.refresh_from_db()
    assert door.state == "declined"
    assert ">D1</a>" not in clients["owner"].get(address(build)).content.decode()
    seen = clients["viewer"].get(address(build)).content.decode()
    assert "Decline it" not in seen
    assert "is taken only in part" not in seen


def test_empty_states_say_what_to_do(build, entries, clients):
    empty = page_text(clients["owner"], build)
    assert "No requirement is stated yet, so there is nothing to plan." in empty
    assert "Nothing is still needed" not in empty
    part = entries.component("Stud")
    assert "State on the components what the build requires" in page_text(clients["owner"], build)
    entries.change(part, required_text="3 pieces")
    entries.price(part, 2)
    text = page_text(clients["owner"], build)
    assert "No offer is open. Add the offers you have" in text
    assert "Money $6.48" in text
    entries.purchase("P1", line(part, "3 pieces", unit_price=1))
    assert "Nothing is still needed" in page_text(clients["owner"], build)


@pytest.mark.parametrize(
    "query",
    [
        "?aim=both&rate=",
        "?aim=both&rate=dear",
        "?aim=nothing",
        "?aim=",
        "?aim=money&most_money=-1",
        "?aim=money&most_hours=" + "9" * 60,
        "?aim=money&most_money=%00",
    ],
)
def test_a_question_that_cannot_be_read_stays_as_typed(build, yard, clients, query):
    answer = clients["owner"].get(address(build, query))
    assert answer.status_code == 422
    assert "Check these entries" in answer.content.decode()
    assert "saved" not in answer.content.decode()


@pytest.mark.parametrize("query", ["?aim=money&recipe=%00&recipe=1-2", "?recipe=7", "?aim=hours"])
def test_what_nobody_asked_for_is_no_fault(build, yard, clients, query):
    assert clients["owner"].get(address(build, query)).status_code == 200


def test_used_up_time_is_said(build, yard, clients, monkeypatch):
    monkeypatch.setattr(queries, "SECONDS", 0)
    assert "No plan was found in time" in page_text(clients["owner"], build)


def test_the_plan_changes_nothing(build, yard, clients):
    before = Change.objects.count()
    page_text(clients["owner"], build)
    assert Change.objects.count() == before


def test_terms_are_typed_shown_and_refused(build, yard, clients):
    offer = build.purchases.get(number="M1")
    edit = reverse("purchase_edit", args=[build.pk, offer.pk])
    form = clients["owner"].get(edit).context
    data = {"number": "M1", "bought_on": "2026-05-04", "supplier": "Mill", "state": "offer"}
    data |= {"version": form["version"], "expected_hours": "2"}
    rows = {"TOTAL_FORMS": "1", "INITIAL_FORMS": "1", "0-pk": str(offer.lines.get().pk)}
    rows |= {"0-component": str(offer.lines.get().component_id), "0-quantity_text": "25 pieces"}
    rows |= {"0-source": "salvage", "0-unit_price": "2", "0-price_breaks": "30 pieces: 1.50"}
    data |= {f"lines-{name}": value for name, value in rows.items()}
    charge = {"TOTAL_FORMS": "0", "INITIAL_FORMS": "0"}
    data |= {f"charges-{name}": value for name, value in charge.items()}
    answer = clients["owner"].post(edit, data)
    assert answer.status_code == 422
    assert "is never reached: there are 25 pieces" in html.unescape(answer.content.decode())
    data["lines-0-most_text"] = "60 pieces"
    assert clients["owner"].post(edit, data).status_code == 302
    page = clients["owner"].get(reverse("purchase", args=[build.pk, offer.pk])).content.decode()
    assert "Cheaper from 30 pieces: 1.50" in page
    assert "At most 60 pieces" in page


def test_quantities_at_the_ends_of_what_is_kept_are_no_error(build, yard, clients, monkeypatch):
    monkeypatch.setattr(queries, "SECONDS", 3)
    fine = yard.component("Dust", unit="lb", required_text="99999999.333333 lb")
    yard.price(fine, "0.000001", per_text="0.333333 lb")
    offer = {"state": "offer", "expected_hours": Decimal("0.0001")}
    yard.purchase("F1", line(fine, "0.000007 lb", unit_price=Decimal("0.000001")), **offer)
    yard.purchase("F2", line(fine, "77777777.7 lb", unit_price=Decimal("9.999999")), **offer)
    yard.purchase("F3", line(fine, "1 lb", unit_price=Decimal(1)))
    yard.conversion("C2", fine, "0.000003 lb", (build.components.get(name="Door"), "1 piece"))
    for query in ("", "?aim=both&rate=999999", "?aim=hours&most_money=999999999"):
        assert clients["owner"].get(address(build, query)).status_code == 200


def test_what_was_bought_new_can_be_bought_again_at_that(build, entries, clients):
    """4 for 43.20, 10.80 each; 6 more are needed, and nobody noted a new price."""
    bolt = entries.component("Bolt", required_text="10 pieces")
    entries.purchase(
        "P1", line(bolt, "4 pieces", line_price_amount=Decimal("43.20"), source="retail")
    )
    inputs = get_sourcing_inputs(build, LATER)
    (need,) = inputs.problem.needs
    assert (need.new.covers, need.new.price, need.new.unit) == (1, Fraction("10.80"), "piece")
    assert solve(inputs, Question(), ()).plan.money == Fraction("64.80")
    text = clients["owner"].get(reverse("sourcing", args=[build.pk])).content.decode()
    assert "At what you paid for it new, since no new price is known." in text
    entries.price(bolt, "5", priced_at="Lumber yard")
    (need,) = get_sourcing_inputs(build, LATER).problem.needs
    assert need.new.price == Fraction("5.40")
    text = clients["owner"].get(reverse("sourcing", args=[build.pk])).content.decode()
    assert "when bought new" not in text
    assert "Lumber yard" in text
