"""The page that settles up: balances in words, transfers with a button, and what is left out."""

import re
from decimal import Decimal as D

import pytest
from django.urls import reverse

from materials.models import Build, Change, HandOver, Person, Share
from materials.services.builds import save_build
from tests.answers import status
from tests.entries import line
from tests.views.screens import Screens
from tests.views.test_reports import words
from tests.views.test_trace import amount_of, parts_of


@pytest.fixture
def own(owner, build, entries) -> Screens:
    """The owner at a build that Ann paid 90 for, Ben 30 and nobody 7 and 2."""
    board = entries.component("Board")
    rows = (("P1", "Ann", 90, "received"), ("P2", "Ben", 30, "received"))
    rows += (("P3", "", 7, "received"), ("P4", "", 2, "received"), ("P5", "Ben", 5, "ordered"))
    for number, who, price, state in rows:
        entries.purchase(
            number,
            line(board, "1 piece", line_price_amount=D(price)),
            paid_by=who,
            state=state,
            supplier="Yard",
        )
    entries.purchase("P6", line(board, "1 piece", line_price_amount=D(0)))
    entries.labour("Ann", 2)
    entries.labour("Ben", 3, paid_amount=D(60))
    stud = entries.component("Stud")
    entries.conversion("C1", board, "1 piece", (stud, "1 piece"), hours=4, extra_cost_amount=D(3))
    return Screens(owner, build.pk)


def shown(own: Screens) -> str:
    return words(own.open("settling_up"))


def transfer(own: Screens) -> dict[str, str]:
    """What the first button of the page sends."""
    page = own.open("settling_up").html
    sent = dict(re.findall(r'<input type="hidden" name="(\w+)" value="([^"]*)">', page))
    assert set(sent) >= {"giver", "receiver", "amount"}
    return sent


def test_balances_and_transfers_in_words(own):
    result = shown(own)
    assert "1 payment and everybody is even." in result
    assert "Ann $90.00 $60.00 is owed $30.00 2 h Ben $30.00 $60.00 owes $30.00 3 h" in result
    assert "Ben pays $30.00 to Ann . Record this payment" in result.replace("Ann.", "Ann .")
    assert "These are the fewest payments possible." in result
    assert "Hours do not count as money here." in result
    assert "No shares are stated: everybody who paid for something shares equally." in result


def test_what_is_left_out_is_named_with_its_amount(own):
    page = own.open("settling_up")
    text = words(page)
    parts = [(part.label, part.text) for part in parts_of(page)]
    assert parts == [
        ("Paid out by those named: this is shared", "$120.00"),
        ("Purchases that name no payer", "$9.00"),
        ("Paid labour", "$60.00"),
        ("Extra cost of conversions", "$3.00"),
        ("Proceeds of sales", "$0.00"),
        ("Spent", "$192.00"),
    ]
    assert "P3 4 May 2026 Yard $7.00 P4 4 May 2026 Yard $2.00" in text
    assert "P6" not in text
    assert "$5.00 committed" in text


def test_each_part_opens_to_rows_that_come_to_it(own):
    named = parts_of(own.open("settling_up"))
    assert own.read(named[1].url).ledger["Landed cost of these lines"] == "$9.00"
    assert own.read(named[2].url).ledger["Paid for them"] == "$60.00"
    assert amount_of(own.read(named[0].url)) == "$120.00"
    assert amount_of(own.read(named[5].url)) == "$192.00"
    for part in parts_of(own.read(named[0].url)):
        assert own.read(part.url).ledger["Landed cost of these lines"] == part.text


def test_balance_and_share_of_a_person_are_explained(own, entries):
    entries.hand_over("Ben", "Ann", "12.50")
    ann = Person.objects.get(name="Ann")
    page = own.open("figure", f"balance_{ann.pk}")
    assert amount_of(page) == "$17.50"
    assert "The others owe Ann this." in page.text
    assert "Back to settling up" in page.text
    ben = Person.objects.get(name="Ben")
    assert "Ben owes the others this." in own.open("figure", f"balance_{ben.pk}").text
    parts = {part.label: part for part in parts_of(page)}
    assert [part.text for part in parts.values()] == ["$90.00", "$60.00", "$0.00", "$12.50"]
    assert own.read(parts["Paid out"].url).ledger["Landed cost of these lines"] == "$90.00"
    assert own.read(parts["Received from others"].url).ledger["Payments in these"] == "$12.50"
    assert own.read(parts["Paid to others"].url).ledger["Payments in these"] == "$0.00"
    share = own.read(parts["Share"].url)
    assert amount_of(share) == "$60.00"
    assert [part.text for part in parts_of(share)] == ["$120.00", "50%", "$60.00"]


def test_own_hours_that_count_are_said_and_open_to_their_hours(own, entries):
    entries.share(hours_count=True, Ann="2", Ben="1")
    result = shown(own)
    assert "Ann $90.00 $40.00 $106.67 is owed $23.33" in result
    assert "Ben $30.00 none $53.33 owes $23.33" in result
    assert (
        "Own hours count here at the stated rate of $20.00 an hour, as if the person who worked"
        " them had paid that much. Paid hours do not count, nor do 4 h of"
        " conversions , which name nobody." in result
    )
    assert "Ann 2 of 3: 67% Ben 1 of 3: 33%" in result
    ann = Person.objects.get(name="Ann")
    parts = {part.label: part for part in parts_of(own.open("figure", f"balance_{ann.pk}"))}
    shared = own.open("figure", "shared")
    assert amount_of(shared) == "$160.00"
    assert [(part.label, part.text) for part in parts_of(shared)] == [
        ("Paid out by those named", "$120.00"),
        ("Own hours of Ann at the stated rate", "$40.00"),
    ]
    for part in parts_of(own.open("settling_up")) + parts_of(shared):
        if "/figures/" in part.url:
            assert amount_of(own.read(part.url)) == part.text
    counted = parts["Own hours at the stated rate"]
    assert counted.text == "$40.00"
    assert own.read(counted.url).ledger["Hours of these entries"] == "2 h"
    assert "Own hours count here at the stated rate" in words(own.open("cost_sheet"))


def test_the_button_notes_the_transfer_and_everybody_is_even(own):
    answer = own.send(own.url("payment_record"), transfer(own))
    assert answer.status_code == 302
    result = shown(own)
    assert "Recorded: Ben paid $30.00 to Ann today." in result
    assert "Everybody is even ." in result
    row = HandOver.objects.get()
    assert own.read(own.url("hand_over_edit", row.pk)).form.fields["amount"] == "30"


def test_a_button_pressed_twice_notes_it_once_and_says_so(own):
    sent = transfer(own)
    own.send(own.url("payment_record"), sent)
    own.send(own.url("payment_record"), sent)
    assert "This payment is no longer needed" in shown(own)
    assert HandOver.objects.count() == 1


@pytest.mark.parametrize(
    "sent",
    [
        {},
        {"giver": "x"},
        {"giver": "²", "receiver": "9" * 40},
        *({"amount": text} for text in ("", "x", "NaN", "Infinity", "sNaN", "9" * 60, "1e9", "\0")),
    ],
)
def test_nonsense_sent_to_the_button_changes_nothing(sent, own):
    right = transfer(own) | sent if sent else {}
    changes = Change.objects.count()
    assert own.send(own.url("payment_record"), right).status_code == 302
    assert "This payment is no longer needed" in shown(own)
    assert Change.objects.count() == changes


def test_a_viewer_reads_and_is_offered_nothing_to_change(own, clients):
    page = Screens(clients["viewer"], own.build_id).open("settling_up")
    assert "Ben pays $30.00 to Ann" in words(page)
    assert "Record payment" not in page.html
    assert "Record this payment" not in page.html
    assert not [url for url, _ in page.links if re.search(r"/add/|/shares/|/delete/", url)]


def test_hand_overs_are_listed_changed_and_deleted(own):
    own.save("hand_over_add", {"giver": "Ben", "receiver": "Dora", "amount": "1,250.50"})
    result = shown(own)
    assert "Ben Dora $1,250.50" in result
    assert "All payments (1)" in result
    row = HandOver.objects.get()
    page = own.open("settling_up")
    urls = [url for url, text in page.links if text.startswith(("Change what", "Delete what"))]
    assert urls == [
        own.url("hand_over_edit", row.pk),
        own.url("record_delete", "hand-over", row.pk),
    ]
    own.save("hand_over_edit", {"amount": "12", "receiver": "ann"}, row.pk)
    row.refresh_from_db()
    assert (row.receiver.name, row.amount) == ("Ann", D(12))
    assert own.send(urls[1], {}).headers["location"] == own.url("settling_up")
    assert not HandOver.objects.exists()


def test_more_than_the_page_names_are_in_the_list(own, entries):
    for n in range(13):
        entries.hand_over("Ann", "Ben", n + 1)
        number = f"N{n:02}"
        board = entries.build.components.get(name="Board")
        entries.purchase(number, line(board, "1 piece", line_price_amount=D(100 + n)))
    page = own.open("settling_up")
    page_text = words(page)
    assert "All payments (13)" in page_text
    assert "The dearest are listed here. See all of them" in page_text
    assert "N12" in page_text
    assert "P3" not in page_text
    (url,) = {url for url, text in page.links if text == "See all of them"}
    listed = words(own.read(url.replace("&amp;", "&")))
    assert "P3" in listed
    assert "P1 " not in listed


def test_thirteen_are_said_to_be_unproved(own, entries):
    for n in range(12):
        entries.hand_over(f"Person {n:02}", "Ann", n + 40)
    result = shown(own)
    assert "More than 12 people have a balance." in result
    assert "Fewer may be possible" in result
    assert "Fewer transfers cannot settle it" not in result


def boxes(**typed: str) -> dict[str, str]:
    """Boxes of the form by the person's name."""
    return {
        f"share_{Person.objects.get(name=name).pk}" if name[0].isupper() else name: value
        for name, value in typed.items()
    }


def test_shares_are_stated_on_their_page(own):
    typed = boxes(Ann="60 %", Ben="30%", new_person="Dora", new_share="10 %")
    own.save("shares_edit", typed | {"own_hours_count": True})
    assert {row.person.name: row.weight for row in Share.objects.all()} == {
        "Ann": 60,
        "Ben": 30,
        "Dora": 10,
    }
    page = own.open("shares_edit")
    assert [page.form.fields[name] for name in boxes(Ann="", Ben="", Dora="")] == ["60", "30", "10"]
    assert page.form.fields["own_hours_count"] == "on"
    own.save("shares_edit", boxes(Ann="", Ben="", Dora="") | {"own_hours_count": False})
    assert not Share.objects.exists()
    assert not Build.objects.get(pk=own.build_id).own_hours_count


@pytest.mark.parametrize(
    ("typed", "result"),
    [
        ({"Ann": "half"}, "“half” is no share: enter a number above zero"),
        ({"Ann": "0"}, "“0” is no share"),
        ({"Ann": "free"}, "“free” is no share"),
        ({"Ann": "-1"}, "“-1” is no share"),
        ({"Ann": "1/3"}, "“1/3” is no share"),
        ({"Ann": "NaN"}, "“NaN” is no share"),
        ({"Ann": "0.0000001"}, "at most six decimals"),
        ({"Ann": "9" * 40}, "is no share"),
        ({"Ann": "60 %", "Ben": "30 %"}, "The shares come to 90%. Make them 100%"),
        ({"Ann": "60 %", "Ben": "40"}, "Some shares are in per cent and some are not"),
        ({"new_share": "1"}, "Enter whose share this is."),
        ({"new_person": "Dora"}, "Enter this person's share."),
        ({"new_person": "ann", "new_share": "1"}, "ann has a box above"),
        ({"new_person": "a\x07b", "new_share": "1"}, "invisible character"),
    ],
)
def test_shares_are_refused_in_a_sentence_and_stay_typed(typed, result, own):
    sent = boxes(**typed)
    page = own.refused("shares_edit", sent)
    assert any(result in fault for fault in page.faults), page.faults
    assert {name: page.form.fields[name] for name in sent} == sent
    assert not Share.objects.exists()


def test_thirds_in_per_cent_are_taken(own):
    own.save("shares_edit", boxes(Ann="33.3 %", Ben="33.3 %", new_person="Dora", new_share="33.3%"))
    assert "33%" in shown(own)


def test_a_share_of_somebody_added_meanwhile_is_kept(own, entries):
    """The page was opened before somebody else stated a share for Dora."""
    page = own.open("shares_edit")
    entries.share(Dora="3")
    own.send(own.url("shares_edit"), page.form.fields | boxes(Ann="1"))
    assert {row.person.name: row.weight for row in Share.objects.all()} == {"Ann": 1, "Dora": 3}


def test_hours_without_a_rate_are_refused_on_the_page(own, entries):
    save_build(**entries.by, values={"own_labour_rate": None})
    assert "The build states no own labour rate yet." in words(own.open("shares_edit"))
    page = own.refused("shares_edit", {"own_hours_count": True})
    assert any("rate under Build details first, then tick this." in f for f in page.faults)


def test_taking_the_rate_away_is_refused_on_the_page(own, entries):
    entries.share(hours_count=True)
    page = own.refused("build_edit", {"own_labour_rate": ""})
    assert any("Untick that there first" in fault for fault in page.faults)


def test_a_build_with_nobody_and_one_with_only_free_things(owner, build, entries):
    page = Screens(owner, build.pk).open("settling_up")
    assert "Nothing to settle yet" in page.text
    entries.purchase(
        "P1", line(entries.component("Board"), "1 piece", line_price_amount=D(0)), paid_by="Ann"
    )
    assert "Nothing to settle yet" in Screens(owner, build.pk).open("settling_up").text


def test_a_currency_without_cents(own, entries):
    save_build(**entries.by, values={"currency": "JPY"})
    assert "Ben pays 30 JPY to Ann" in shown(own)
    page = own.refused("hand_over_add", {"giver": "Ben", "receiver": "Ann", "amount": "0.5"})
    assert any("must be a whole number" in fault for fault in page.faults)
    assert own.send(own.url("payment_record"), transfer(own)).status_code == 302
    assert HandOver.objects.get().amount == 30


def test_every_link_of_the_page_opens(own, entries):
    entries.hand_over("Ben", "Ann", 3)
    entries.share(hours_count=True, Ann="1", Ben="2")
    links = {url.replace("&amp;", "&") for url, _ in own.open("settling_up").links}
    links -= {"#content"}
    assert len(links) > 35
    for url in sorted(links):
        assert status(own.client.get(url)) == 200, url


def test_the_cost_sheet_leads_there(own):
    page = own.open("cost_sheet")
    assert (own.url("settling_up"), "Settling up: who owes whom, in the fewest payments") in (
        page.links
    )
    assert "Ann $90.00 $60.00 is owed $30.00 2 h" in words(page)


def test_a_stranger_cannot_note_a_transfer_through_a_build_of_their_own(own, clients, other_build):
    sent = transfer(own)
    url = reverse("payment_record", args=[other_build.pk])
    assert clients["stranger"].post(url, sent).status_code == 302
    assert not HandOver.objects.exists()
