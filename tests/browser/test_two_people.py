"""Two people in two browsers at one build, from the invitation to the last page of a link.

One is the owner at a desk, one a co-builder with a phone, and a third reads by a link.
"""

import re

import pytest

from materials.models import Build

from .conftest import DESKTOP, PHONE
from .test_builders_day import ledger, row
from .visitors import ScriptlessVisitor, Visitor

pytestmark = pytest.mark.django_db(transaction=True)

WORD = "green-oak-and-lime"


def begin(ann: Visitor, name: str = "Pump house") -> str:
    """The owner begins a build; the address of its cost sheet."""
    ann.press("Start a build")
    ann.type("Name", name)
    ann.type("Floor area", "200 sq ft")
    ann.type("Budget", "5000")
    ann.press("Start build")
    return f"/builds/{Build.objects.get(name=name).pk}/"


def call_oneself(ann: Visitor, base: str) -> None:
    """The owner says who she is in the build's records."""
    ann.page.goto(base + "members/me/")
    ann.select("Your name in this build's records", "Somebody new")
    ann.type("Your name there", "Ann")
    ann.press("Save")


def invite(ann: Visitor, base: str) -> str:
    """The link of an invitation as co-builder."""
    ann.page.goto(base + "members/")
    ann.press("Invite somebody")
    ann.type("For whom", "Ben, who has the truck")
    ann.press("Make link")
    return ann.page.locator("#link").input_value()


def join(ben: Visitor, link: str) -> None:
    """Come in by the link, with an account made on the way."""
    ben.page.goto(link)
    ben.press("Create account")
    ben.type("Username", "ben")
    ben.type("Your name", "Ben Hollis")
    ben.page.get_by_label("Password").fill(WORD)
    ben.press("Create account")
    ben.select("Your name in this build's records", "Somebody new")
    ben.type("Your name there", "Ben")
    ben.press("Join as co-builder")
    ben.page.get_by_text("Welcome: you have joined").wait_for()


def log(visitor: Visitor, base: str, payer: str, price_for: str, **typed: str) -> None:
    """Log purchase by the short form."""
    visitor.page.goto(base)
    visitor.log_purchase()
    visitor.type("What", typed["what"])
    visitor.type("How much", typed["quantity"])
    visitor.type("Price", typed["price"])
    visitor.pick("The price is for", price_for)
    visitor.pick("Source", "Salvage")
    visitor.type("Where", typed["where"])
    visitor.unfold("Haulage, state, date, payer and more")
    visitor.type("Paid by", payer)
    visitor.press("Save")


def record(ann: Visitor, ben: Visitor, base: str) -> None:
    """Both record a purchase, and each sees the other's: who paid, where, and how much.

    12 boards at 7.55 are 90.60; three doors were 30.14 together.
    """
    board = {"what": "Old 2x8", "quantity": "12 @ 2x8x12", "price": "7.55"}
    door = {"what": "Door", "quantity": "3 pieces", "price": "30.14"}
    log(ann, base, "Ann", "One of them", where="House wrecker", **board)
    log(ben, base, "Ben", "All of it", where="County auction", **door)
    for visitor, number, result in (
        (ann, "P002", ("County auction", "Ben", "$30.14", "3 pieces", "Door")),
        (ben, "P001", ("House wrecker", "Ann", "$90.60", "12 @ 2x8x12", "Old 2x8")),
    ):
        visitor.page.goto(base + "purchases/")
        visitor.press(number)
        seen = visitor.page.inner_text("main")
        assert [text for text in result if text not in seen] == []
    ann.page.goto(base + "history/")
    assert re.search(r"ben\s+added\s+purchase\s+P002", ann.page.inner_text("main"))


def edit_both(ann: Visitor, ben: Visitor, base: str) -> None:
    """Both have the purchase of the boards open; the second is told and loses nothing.

    Ann mends the price of a board: 12 x 7.60 = 91.20. Ben notes that two are split and adds a
    door that came with them for 8.85: with both, 91.20 + 8.85 = 100.05.
    """
    for visitor in (ann, ben):
        visitor.page.goto(base + "purchases/")
        visitor.press("P001")
        visitor.press("Change purchase")
    price = "[name=lines-0-unit_price]"
    ann.page.fill(price, "7.60")
    ann.press("Save")
    assert ledger(ann)["Landed cost of the purchase"] == "$91.20"

    typed = {
        "[name=note]": "two are split",
        "[name=lines-1-quantity_text]": "1 piece",
        "[name=lines-1-line_price_amount]": "8.85",
    }
    page = ben.page
    for field, text in typed.items():
        page.fill(field, text)
    page.select_option("[name=lines-1-component]", label="Door")
    page.select_option("[name=lines-1-source]", label="Salvage")
    assert page.input_value(price) == "7.55", "he has not seen what she did"
    ben.press("Save")
    found = page.locator("#faults").inner_text()
    assert "changed while you had it open" in found
    assert "ann saved it on" in found
    assert re.search(r"7\.55\s+7\.6\b", found), "from what to what"
    assert {field: page.input_value(field) for field in typed} == typed
    assert page.input_value(price) == "7.6", "hers stands in the field he left alone"
    assert Build.objects.get().purchases.get(number="P001").note == "", "not saved by it"

    ben.press("Save")
    assert ledger(ben)["Landed cost of the purchase"] == "$100.05"
    ann.page.reload()
    assert ledger(ann)["Landed cost of the purchase"] == "$100.05"
    for text in ("two are split", "$91.20", "$8.85"):
        assert text in ann.page.inner_text("main"), text


def settle(ann: Visitor, ben: Visitor, base: str) -> None:
    """One transfer and both are even.

    Ann paid 100.05, Ben 30.14: 130.19. Half of it is 65.095 each; of the two half cents left
    over one is given to the first, Ann: 65.10 and 65.09. Ann is owed 100.05 - 65.10 = 34.95,
    and Ben owes 65.09 - 30.14 = 34.95.
    """
    ben.page.goto(base + "settling/")
    assert row(ben, "By person", "Ann")[:3] == ["$100.05", "$65.10", "is owed $34.95"]
    assert row(ben, "By person", "Ben")[:3] == ["$30.14", "$65.09", "owes $34.95"]
    assert "1 payment and everybody is even." in ben.page.inner_text("main")
    assert "Ben pays $34.95 to Ann." in ben.page.inner_text("main")
    ann.page.goto(base + "settling/")
    ben.press("Record this payment")
    assert "Recorded: Ben paid $34.95 to Ann today." in ben.page.inner_text("main")
    # She has the page from before: what is noted twice is refused.
    ann.press("Record this payment")
    assert Build.objects.get().hand_overs.count() == 1
    assert "Everybody is even." in ann.page.inner_text("main")
    # Paid out, share, handed over, got, balance.
    assert row(ann, "By person", "Ann")[:5] == ["$100.05", "$65.10", "$0.00", "$34.95", "even"]
    assert row(ann, "By person", "Ben")[:5] == ["$30.14", "$65.09", "$34.95", "$0.00", "even"]


def share(ann: Visitor, base: str) -> str:
    """A link that shows prices and people, and no suppliers."""
    ann.page.goto(base + "share/")
    ann.press("Make share link")
    ann.type("For whom", "Aunt Ida")
    assert ann.field("Show prices").is_checked()
    assert not ann.field("Show suppliers").is_checked()
    ann.field("Show people").check()
    ann.press("Make link")
    return ann.page.get_by_label("The link for").input_value()


def read(ida: Visitor, address: str) -> None:
    """What is ticked is there, and what is not is nowhere in the page."""
    answer = ida.page.goto(address)
    assert answer.status == 200
    assert "Sign in" not in ida.page.inner_text("body")
    ida.unfold_all()
    # Spent: 100.05 + 30.14; remaining of 5000.00 is 4869.81.
    for text in ("Pump house", "$130.19", "$4,869.81", "Old 2x8", "Door", "Ann", "Ben", "$65.10"):
        assert text in ida.page.inner_text("main"), text
    for text in ("House wrecker", "County auction", "Aunt Ida", "two are split", "Hollis"):
        assert text not in answer.text(), text
    assert ida.page.context.cookies() == []


def revoke(ann: Visitor, base: str) -> None:
    """The owner closes the link."""
    ann.page.goto(base + "share/")
    ann.page.locator("tbody tr", has_text="Aunt Ida").get_by_role("link", name="Revoke").click()
    ann.press("Revoke it")


def take_out(ann: Visitor, base: str) -> None:
    """The owner takes the co-builder out."""
    ann.page.goto(base + "members/")
    ann.page.get_by_role("row", name=re.compile("Ben Hollis")).get_by_role(
        "link", name=re.compile("^Remove")
    ).click()
    ann.press("Remove ben")
    ann.page.get_by_text("is no longer a member").wait_for()


def refused(visitor: Visitor, address: str) -> None:
    """The address gives a page that says there is no such page."""
    answer = visitor.page.request.get(address)
    assert answer.status == 404
    assert "Page not found" in answer.text()


def stays(ann: Visitor, base: str) -> None:
    """What the co-builder did is there as he left it, with his name."""
    for number, result in (("P002", ("Ben", "$30.14")), ("P001", ("two are split", "$100.05"))):
        ann.page.goto(base + "purchases/")
        ann.press(number)
        assert [text for text in result if text not in ann.page.inner_text("main")] == []
    ann.page.goto(base + "settling/")
    assert row(ann, "By person", "Ben")[:5] == ["$30.14", "$65.09", "$34.95", "$0.00", "even"]


@pytest.mark.parametrize("way", [Visitor, pytest.param(ScriptlessVisitor, marks=pytest.mark.slow)])
def test_from_the_invitation_to_the_revoked_link(way, open_page, sign_in, db):
    ann = way(open_page(DESKTOP, **way.options))
    ben = way(open_page(PHONE, **way.options))
    ida = way(open_page(PHONE, **way.options))
    sign_in(ann.page)
    base = begin(ann)
    call_oneself(ann, base)
    join(ben, invite(ann, base))
    record(ann, ben, base)
    edit_both(ann, ben, base)
    settle(ann, ben, base)
    address = share(ann, base)
    read(ida, address)
    revoke(ann, base)
    refused(ida, address)
    take_out(ann, base)
    refused(ben, base)
    refused(ben, base + "purchases/")
    stays(ann, base)
