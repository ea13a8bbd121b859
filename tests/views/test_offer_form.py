"""A way in to an offer, one more like it, and what it costs new asked where it is missing."""

import html
import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.urls import reverse
from django.utils import timezone

from materials.calc.types import PercentOn
from materials.choices import ChargeKind
from materials.models import Purchase, RetailPrice
from materials.queries.reports import get_cost_sheet
from tests.entries import line

OFFER = {
    "what": "Board",
    "quantity_text": "10 pieces",
    "price": "20",
    "price_for": "line",
    "source": "salvage",
    "supplier": "House wrecker",
    "bought_on": "2026-05-04",
    "state": "offer",
    "premium_percent": "10",
    "tax_percent": "8",
    "distance_text": "10 mi",
    "expected_hours": "2",
    "usable_percent": "80",
    "obtained_by": "auction lot",
    "origin_year": "1962",
    "through_fire": "on",
}


@pytest.fixture
def owner(clients, build):
    """The owner's client with the address of the short form."""
    clients["owner"].log = reverse("log", args=[build.pk])
    return clients["owner"]


def words(content: bytes) -> str:
    """The words of a page."""
    text = html.unescape(re.sub(r"<[^>]*>", "", content.decode()))
    return " ".join(text.split()).replace(" ,", ",")


def looked_at(owner, url=None, **change) -> str:
    """What the short form says an offer comes to."""
    data = OFFER | change
    return words(owner.post(url or owner.log, data, headers={"HX-Request": "true"}).content)


def page_of(owner, purchase) -> str:
    return words(owner.get(reverse("purchase", args=[purchase.build_id, purchase.pk])).content)


def test_there_is_a_way_in(owner, clients, build):
    address = f"{owner.log}?state=offer"
    for client, expected in ((owner, 2), (clients["viewer"], 0)):
        listed = client.get(reverse("purchases", args=[build.pk])).content.decode()
        assert listed.count(f'href="{address}"') == expected
    answer = owner.get(address)
    form = answer.context["form"]
    assert "<h1>Judge offer</h1>" in answer.content.decode()
    assert form["state"].value() == "offer"
    needed = {"premium_percent", "tax_percent", "distance_text", "expected_hours", "new_price"}
    assert not needed & set(form.folded)
    assert needed <= set(owner.get(owner.log).context["form"].folded)


def test_an_offer_is_judged_before_it_is_saved(owner, entries):
    entries.price(entries.component("Board", required_text="4 pieces"), "4.50")
    text = looked_at(owner, usable_percent="")
    # New: 10 x 4.50 x 1.08 = 48.60. A bid of 35.02 with 3.50 premium, 3.08 tax and 7.00 for miles.
    assert "Walk-away bid$35.02" in text
    # Four of ten: 19.44; p x 1.188 + 7.00 <= 19.44 gives 10.47.
    assert "Walk-away bid for what is still needed$10.47" in text
    assert "$20.00 is asked for everything. That is more than $10.47" in text
    # 20.00 + 2.00 + 1.76 + 7.00 = 30.76 landed.
    assert "Spent$0.00$30.76" in re.sub(r"(?<=\w) (?=\$)|(?<=\d) (?=\$)", "", text)
    assert not Purchase.objects.exists()
    saved = owner.post(owner.log + "?state=offer", OFFER | {"usable_percent": ""})
    assert saved.status_code == 302
    page = page_of(owner, Purchase.objects.get())
    assert "Above what the needed part is worth" in page
    assert "$20.00 is asked for everything. That is more than $10.47" in page


def test_hours_are_taken_off_what_counts_only_the_needed_part(owner, entries, build):
    entries.price(entries.component("Board", required_text="9 pieces"), "4.50")
    text = looked_at(owner, usable_percent="", expected_hours="1")
    # Nine: 43.74, less an hour at 20.00: p x 1.188 + 7.00 <= 23.74 gives 14.09.
    assert "For what is still needed, after the hours$14.09" in text
    nothing = looked_at(owner, usable_percent="", expected_hours="3")
    assert "For what is still needed, after the hoursnone" in nothing


def test_an_offer_of_what_is_not_needed_says_so_first(owner, entries):
    board = entries.component("Board", required_text="4 pieces")
    entries.price(board, "4.50")
    entries.purchase("P1", line(board, "4 pieces"))
    owner.post(owner.log, OFFER)
    page = page_of(owner, Purchase.objects.latest("pk"))
    assert "Not needed: the build needs none of it." in page
    assert "Saves" not in page
    assert "$20.00 is asked for everything. None of it is needed." in page


def test_what_is_all_needed_is_not_said_to_be_above_its_need(owner, entries):
    entries.price(entries.component("Board", required_text="40 pieces"), "4.50")
    text = looked_at(owner)
    assert "is asked for everything" not in text
    assert "For what is still needed, after the hours" not in text


def test_what_it_costs_new_is_asked_where_it_is_missing(owner, entries, build):
    text = looked_at(owner)
    assert "Missing: what Board costs new." in text
    assert "it still does not pass buying new" not in text
    assert "For everything" not in text
    priced = looked_at(owner, new_price="4.50")
    assert "Missing" not in priced
    # Eight usable x 4.86 = 38.88: 26.84 with 2.68 premium, 2.36 tax and 7.00 for miles.
    assert "Walk-away bid$26.84" in priced
    assert "$4.50 per piece saved as its new price of that day" in priced
    assert not RetailPrice.objects.exists()
    owner.post(owner.log, OFFER | {"new_price": "4.50"})
    price = RetailPrice.objects.get()
    assert (price.price, price.priced_on) == (Decimal("4.50"), date(2026, 5, 4))
    assert "Walk-away bid$26.84" in page_of(owner, Purchase.objects.get())


def test_a_new_price_of_a_day_to_come_is_of_today(owner, entries):
    entries.component("Board")
    later = timezone.localdate() + timedelta(days=9)
    data = OFFER | {"new_price": "4.50", "state": "ordered", "bought_on": later.isoformat()}
    assert owner.post(owner.log, data).status_code == 302
    assert RetailPrice.objects.get().priced_on == timezone.localdate()


def test_a_new_price_of_an_earlier_day_stands_behind_a_newer_one(owner, entries, build):
    entries.price(entries.component("Board"), "6", on=date(2026, 9, 1))
    typed = OFFER | {"new_price": "4.50", "state": "received"}
    assert owner.post(owner.log, typed).status_code == 302
    days = RetailPrice.objects.order_by("priced_on").values_list("priced_on", flat=True)
    assert list(days) == [date(2026, 5, 4), date(2026, 9, 1)]
    (row,) = get_cost_sheet(build, timezone.localdate()).components
    assert row.position.component.retail_price == 6


def test_a_new_price_is_for_what_is_said(owner, entries):
    entries.component("Board", contents="1 piece = 16 ft")
    typed = {"new_price": "2", "new_per_text": "8 ft", "state": "received"}
    text = looked_at(owner, **typed)
    # Two halves of 2.00 and 8 % tax are 4.32 a piece.
    assert "New, with tax, per piece$4.32" in text
    assert "$2.00 per 8 ft saved as its new price of that day" in text
    assert owner.post(owner.log, OFFER | typed).status_code == 302
    assert RetailPrice.objects.get().per_qty == Decimal("0.5")


@pytest.mark.parametrize(
    ("unit", "contents", "typed", "per", "base"),
    [
        ("piece", "", "10 pieces", "", "1"),
        ("piece", "", "2 doz", "dozen", "12"),
        ("gal", "", "3 qt", "qt", "0.25"),
        ("bf", "", "30 @ 2x10x14", "1 @ 2x10x14", "23.333333"),
        ("piece", "1 piece = 2x8x12", "12 @ 2x8x6", "1 @ 2x8x6", "0.5"),
        ("sq ft", "", "16 @ 4x8 sheets", "1 @ 4x8 sheets", "32"),
        ("sq ft", "", "2 bundles @ 33.3 sq ft", "bundle @ 33.3 sq ft", "33.3"),
    ],
)
def test_a_new_price_is_for_one_of_what_was_typed(unit, contents, typed, per, base, owner, entries):
    entries.component("Board", unit=unit, contents=contents)
    data = OFFER | {"quantity_text": typed, "new_price": "6"}
    answer = owner.post(owner.log, data)
    assert answer.status_code == 302, words(answer.content)
    price = RetailPrice.objects.get()
    assert (price.per_text, price.per_qty) == (per, Decimal(base))


@pytest.mark.parametrize(
    ("typed", "result"),
    [
        ({"new_per_text": "8 ft"}, "Enter what it costs new per 8 ft, or leave both empty."),
        ({"new_price": "2", "new_per_text": "gal"}, "cannot be turned into"),
        ({"new_price": "2", "new_per_text": "0 ft"}, "above zero|more than zero"),
        ({"new_price": "cheap"}, "is not a number"),
    ],
)
def test_an_unclear_new_price_is_refused_and_kept(typed, result, owner, entries):
    entries.component("Board", contents="1 piece = 16 ft")
    answer = owner.post(owner.log, OFFER | typed)
    assert answer.status_code == 422
    assert re.search(result, words(answer.content))
    assert all(f'value="{text}"' in answer.content.decode() for text in typed.values())
    assert not Purchase.objects.exists()


def test_the_offers_page_leads_to_the_price_and_back(owner, entries, build, clients):
    slate = entries.component("Slate", unit="sq ft")
    offer = entries.purchase("O1", line(slate, "20 sq ft", unit_price=Decimal(1)), state="offer")
    page = reverse("purchase", args=[build.pk, offer.pk])
    text = owner.get(page).content.decode()
    assert "Missing: what Slate costs new." in words(text.encode())
    (address,) = re.findall(r'href="([^"]*offer=\d+)"', text)
    address = html.unescape(address)
    data = {"component": slate.pk, "price": "9", "priced_on": "2026-05-04"}
    assert owner.post(address, data).headers["Location"].partition("?")[0] == page
    assert "Missing" not in words(owner.get(page).content)
    assert "offer=" not in clients["viewer"].get(page).content.decode()
    # An offer of nobody's leads nowhere.
    bad = reverse("price_add", args=[build.pk]) + "?offer=999999"
    assert owner.get(bad).status_code == 404


def test_one_more_like_an_offer_is_an_offer_with_all_it_had(owner):
    owner.post(owner.log, OFFER)
    offer = Purchase.objects.get()
    page = owner.get(reverse("purchase", args=[offer.build_id, offer.pk])).content.decode()
    (address,) = re.findall(r'href="([^"]*like=\d+)"', page)
    answer = owner.get(address)
    text = words(answer.content)
    for part in (
        "80% of it usable",
        "buyer's premium 10%",
        "sales tax 8%",
        "10 mi of haulage",
        "2 h expected",
        "obtained by: auction lot",
        "taken from something built in 1962",
        "been through a fire",
    ):
        assert part in text
        assert part in looked_at(owner)
    form = answer.context["form"]
    kept = {name: form[name].value() for name in OFFER}
    typed = {name: "" if value is None else str(value) for name, value in kept.items()}
    copy = owner.post(address, typed | {"bought_on": OFFER["bought_on"]})
    assert copy.status_code == 302
    first, second = Purchase.objects.order_by("pk")
    for name in ("state", "expected_hours", "landed_amount", "bought_on"):
        assert getattr(first, name) == getattr(second, name), name
    names = ("quantity_text", "line_price_amount", "origin_year", "through_fire", "obtained_by")
    assert first.lines.values_list(*names).get() == second.lines.values_list(*names).get()
    names = ("kind", "amount", "percent", "percent_on", "distance_text", "charged_amount")
    assert list(first.charges.values_list(*names)) == list(second.charges.values_list(*names))


@pytest.mark.parametrize("typed", [{"price": "", "price_for": "free"}, {"price": "0"}])
def test_one_more_like_what_was_free_is_free(typed, owner):
    owner.post(owner.log, OFFER | typed)
    form = owner.get(f"{owner.log}?like={Purchase.objects.get().pk}").context["form"]
    assert (form["price_for"].value(), form["price"].value()) == ("free", None)


def test_one_more_like_what_was_declined_is_an_offer(owner):
    owner.post(owner.log, OFFER | {"state": "declined"})
    form = owner.get(f"{owner.log}?like={Purchase.objects.get().pk}").context["form"]
    assert form["state"].value() == "offer"


@pytest.mark.parametrize(
    "charges",
    [
        [{"kind": ChargeKind.DISCOUNT, "amount": Decimal(2)}],
        [{"kind": ChargeKind.HAULAGE, "amount": Decimal(2), "spread_by": "quantity"}],
        [
            {"kind": ChargeKind.HAULAGE, "amount": Decimal(2)},
            {
                "kind": ChargeKind.SALES_TAX,
                "percent": Decimal(8),
                "percent_on": PercentOn.PRICE_AND_CHARGES,
            },
        ],
    ],
)
def test_what_the_short_form_cannot_hold_is_copied_by_the_long_one(charges, owner, entries, build):
    board = entries.component("Board")
    values = {"state": "offer", "expected_hours": Decimal(3)}
    offer = entries.purchase("O1", line(board, "2 pieces"), charges=charges, **values)
    page = owner.get(reverse("purchase", args=[build.pk, offer.pk])).content.decode()
    (address,) = re.findall(r'href="([^"]*like=\d+)"', page)
    assert address.startswith(reverse("purchase_add", args=[build.pk]))
    answer = owner.get(address)
    assert answer.context["form"]["state"].value() == "offer"
    assert answer.context["form"]["expected_hours"].value() == "3"
    copied = answer.context["formsets"][1]["formset"].initial
    assert [row["kind"] for row in copied] == [charge["kind"] for charge in charges]


def test_several_lines_at_once_takes_over_what_was_typed(owner, entries, build):
    board = entries.component("Board")
    add = reverse("purchase_add", args=[build.pk])
    answer = owner.post(add, OFFER | {"from_short": "1", "note": "from the loft"})
    assert answer.status_code == 200
    assert not Purchase.objects.exists()
    head = answer.context["form"]
    lines, charges = (part["formset"] for part in answer.context["formsets"])
    assert head["supplier"].value() == "House wrecker"
    assert (head["state"].value(), head["expected_hours"].value()) == ("offer", "2")
    row = lines.forms[0]
    assert row["component"].value() == board.pk
    assert row["quantity_text"].value() == "10 pieces"
    assert row["line_price_amount"].value() == "20"
    assert row["through_fire"].value() is True
    assert row["note"].value() == "from the loft"
    kept = [(form["kind"].value(), form["percent"].value()) for form in charges.forms[:2]]
    assert kept == [("buyer's premium", "10"), ("sales tax", "8")]
    assert charges.forms[2]["distance_text"].value() == "10 mi"


def test_what_is_no_component_yet_is_not_lost_on_the_way_to_several_lines(owner, build):
    add = reverse("purchase_add", args=[build.pk])
    typed = {"from_short": "1", "quantity_text": "a few", "price": "cheap", "new_price": "9"}
    answer = owner.post(add, OFFER | typed)
    row = answer.context["formsets"][0]["formset"].forms[0]
    assert row["note"].value() == "New: 9."
    assert row["new_name"].value() == "Board"
    assert row["quantity_text"].value() == "a few"
    assert row["line_price_amount"].value() == "cheap"
    assert owner.post(add, {"from_short": "1"}).status_code == 200
