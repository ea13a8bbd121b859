"""Logging in one short form, and what it shows before anything is saved."""

import html
import io
import re
from datetime import date, timedelta
from decimal import Decimal

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone
from PIL import Image

from materials.models import Change, Component, Purchase
from materials.queries.components import find_component
from tests.entries import Entries, line


@pytest.fixture
def owner(clients, build):
    """The owner's client with the address of the short form."""
    clients["owner"].log = reverse("log", args=[build.pk])
    return clients["owner"]


TYPED = {
    "what": "Board",
    "quantity_text": "25 @ 2x8x12",
    "price": "1.20",
    "price_for": "each",
    "source": "salvage",
    "supplier": "House wrecker",
    "bought_on": "2026-05-04",
    "state": "received",
    "paid_by": "Ann",
    "distance_text": "48 mi",
    "usable_percent": "100",
}


def logged() -> Purchase:
    """The one purchase there is."""
    return Purchase.objects.get()


def test_one_line_is_logged_with_what_it_needs(owner, build):
    answer = owner.post(owner.log, TYPED)
    assert answer.status_code == 302
    purchase = logged()
    line = purchase.lines.get()
    # 25 x 1.20 = 30.00; 48 mi x 0.70 = 33.60.
    assert (line.price_amount, line.charges_amount) == (Decimal("30.00"), Decimal("33.60"))
    assert line.component.unit == "piece"
    assert purchase.supplier.name == "House wrecker"
    assert purchase.paid_by.name == "Ann"


def test_what_was_understood_is_shown_before_saving(owner, build):
    answer = owner.post(owner.log, TYPED, headers={"HX-Request": "true"})
    text = answer.content.decode()
    assert answer.status_code == 200
    assert "25 pieces of 2x8x12 (300 ft, 400 board feet)" in text
    # (30.00 + 33.60) / 25 = 2.544 a piece.
    for figure in ("$30.00", "$33.60", "$63.60", "$2.54", "new component"):
        assert figure in text, figure
    assert not Purchase.objects.exists()
    assert not Component.objects.exists()


def test_the_same_without_scripts(owner, build):
    answer = owner.post(owner.log, {**TYPED, "look": "1"})
    text = answer.content.decode()
    assert "$63.60" in text
    assert 'value="25 @ 2x8x12"' in text
    assert not Purchase.objects.exists()


def test_it_is_compared_with_new_and_with_what_was_paid(owner, build, cast):
    entries = Entries(cast["owner"], build)
    board = entries.component("Board", contents="1 piece = 2x8x12")
    entries.price(board, "4.50")
    owner.post(owner.log, TYPED)
    answer = owner.post(
        owner.log, {**TYPED, "price": "6", "distance_text": ""}, headers={"HX-Request": "true"}
    )
    text = answer.content.decode()
    # New with 8 % tax: 4.86; 25 x 4.86 = 121.50, and 150.00 is 28.50 more.
    assert "$4.86" in text
    assert "Costs $28.50 more than new, delivered." in words(text)
    assert "$2.54" in text


@pytest.mark.parametrize(
    ("price", "result"),
    [
        # 25 x 4.86 = 121.50 new with tax; 71.69 is 41 % below, 121.50 the same.
        ("71.69", "25 pieces at $2.87 each, $71.69; $2.87 a usable piece; 41% below new."),
        (
            "121.20",
            "25 pieces at $4.85 each, $121.20; $4.85 a usable piece; about what new costs.",
        ),
        ("150", "25 pieces at $6.00 each, $150.00; $6.00 a usable piece; 23% above new."),
        ("", "25 pieces, price not known; nothing to compare with."),
    ],
)
def test_it_is_told_in_one_line(price, result, owner, build, cast):
    entries = Entries(cast["owner"], build)
    entries.price(entries.component("Board", contents="1 piece = 2x8x12"), "4.50")
    typed = {**TYPED, "price": price, "price_for": "line", "distance_text": ""}
    answer = owner.post(owner.log, typed, headers={"HX-Request": "true"}).content.decode()
    (line,) = re.findall(r'<div hx-swap-oob="innerHTML:#verdict">(.*?)</div>', answer, re.DOTALL)
    assert words(line) == result
    page = owner.post(owner.log, {**typed, "look": "1"}).content.decode()
    (line,) = re.findall(r'<p id="verdict"[^>]*>(.*?)</p>', page, re.DOTALL)
    assert words(line) == result


def words(part: str) -> str:
    """The words of a part of a page."""
    return " ".join(html.unescape(re.sub(r"<[^>]+>", "", part)).split())


def test_one_line_about_what_would_not_be_bought_new(owner, build, cast):
    Entries(cast["owner"], build).component("Board", would_buy_new=False)
    typed = {**TYPED, "quantity_text": "25 pieces", "usable_percent": "80"}
    answer = owner.post(owner.log, typed, headers={"HX-Request": "true"}).content.decode()
    # 30.00 and 33.60 for miles; 20 of 25 are usable: 3.18.
    assert (
        "25 pieces at $1.20 each, $63.60 delivered; $3.18 a usable piece; would not buy new."
        in (words(answer))
    )


@pytest.mark.parametrize(
    ("what", "unit", "typed", "result"),
    [
        ("Board", "piece", "12", "“12” has no unit. Did you mean 12 pieces?"),
        ("Board", "piece", "1", "“1” has no unit. Did you mean 1 piece?"),
        ("Paint", "gal", "2 1/2", "“2 1/2” has no unit. Did you mean 2 1/2 gal?"),
        ("Board", "piece", "12 bords", "'bords' is not a unit known here"),
        ("New thing", "", "12", "“12” has no unit. Did you mean 12 pieces?"),
    ],
)
def test_a_number_alone_is_asked_about(what, unit, typed, result, owner, build, cast):
    if unit:
        Entries(cast["owner"], build).component(what, unit)
    data = {**TYPED, "what": what, "quantity_text": typed}
    for options in ({"headers": {"HX-Request": "true"}}, {}):
        text = words(owner.post(owner.log, data, **options).content.decode())
        assert result in text
    assert not Purchase.objects.exists()


@pytest.mark.parametrize(
    ("price", "price_for", "stored"),
    [
        ("30", "line", Decimal("30.00")),
        ("", "free", Decimal("0.00")),
        ("", "each", None),
        ("0", "each", Decimal("0.00")),
    ],
)
def test_prices_of_all_kinds(price, price_for, stored, owner, build):
    owner.post(owner.log, {**TYPED, "price": price, "price_for": price_for})
    assert logged().lines.get().price_amount == stored


MORE = {
    "what": "Door",
    "quantity_text": "2 pieces",
    "price": "",
    "price_for": "lot",
    "source": "salvage",
    "usable_percent": "100",
}


def test_a_lot_takes_another_line(owner, build):
    owner.post(owner.log, {**TYPED, "price": "100", "price_for": "lot", "distance_text": ""})
    purchase = logged()
    assert purchase.lot_price_amount == Decimal(100)
    answer = owner.post(f"{owner.log}?into={purchase.pk}", MORE)
    assert answer.status_code == 302
    lines = list(logged().lines.all())
    # No new prices are known, so the lot is split equally.
    assert [line.price_amount for line in lines] == [Decimal("50.00"), Decimal("50.00")]


LOT = {**TYPED, "price": "100", "price_for": "lot", "distance_text": ""}


def test_a_lot_split_equally_for_want_of_new_prices_says_so_before_it_is_saved(
    owner, build, entries
):
    owner.post(owner.log, LOT)
    purchase = logged()
    address = f"{owner.log}?into={purchase.pk}"
    said = "The lot is split equally between its lines."
    text = owner.post(address, MORE, headers={"HX-Request": "true"}).content.decode()
    assert said in text
    assert f"give these a new price: {TYPED['what']}, Door." in text
    # One new price is missing still; when both are known the lot is split by them.
    for name in (TYPED["what"], "Door"):
        assert said in owner.post(address, MORE, headers={"HX-Request": "true"}).content.decode()
        part = find_component(build, name) or entries.component(name)
        entries.price(part, 4, on=purchase.bought_on)
    text = owner.post(address, MORE, headers={"HX-Request": "true"}).content.decode()
    assert "What this costs" not in text
    assert said not in text


@pytest.mark.parametrize("price_for", ["each", "line"])
def test_a_line_without_a_price_does_not_slip_into_a_lot(price_for, owner, build):
    owner.post(owner.log, LOT)
    address = f"{owner.log}?into={logged().pk}"
    answer = owner.post(address, MORE | {"price_for": price_for})
    assert answer.status_code == 422
    assert "This purchase has one price for its lot." in answer.content.decode()
    assert logged().lines.count() == 1
    assert owner.post(address, MORE | {"price_for": price_for, "price": "5"}).status_code == 302


def test_the_long_form_asks_how_to_split_a_lot_without_new_prices(owner, build, entries):
    url = reverse("purchase_add", args=[build.pk])
    parts = [entries.component(name) for name in ("Door", "Sash")]
    rows = {"lines-TOTAL_FORMS": "2", "lines-INITIAL_FORMS": "0"}
    rows |= {"charges-TOTAL_FORMS": "0", "charges-INITIAL_FORMS": "0"}
    for at, part in enumerate(parts):
        rows |= {
            f"lines-{at}-component": str(part.pk),
            f"lines-{at}-quantity_text": "2 pieces",
            f"lines-{at}-source": "salvage",
            f"lines-{at}-usable_percent": "100",
        }
    head = {"number": "P9", "bought_on": "2026-05-04", "state": "received"}
    typed = head | rows | {"lot_price_amount": "60"}
    entries.price(parts[0], 4, on=date(2026, 5, 1))
    answer = owner.post(url, typed)
    assert answer.status_code == 422
    assert "These have no new price yet: Sash. So choose how" in answer.content.decode()
    assert not Purchase.objects.exists()
    assert owner.post(url, typed | {"lot_split": "equal"}).status_code == 302
    assert [line.price_amount for line in logged().lines.all()] == [Decimal(30), Decimal(30)]


def test_the_next_entry_begins_like_the_last(owner, build):
    owner.post(owner.log, TYPED)
    text = owner.get(owner.log).content.decode()
    assert 'value="House wrecker"' in text
    assert 'value="2026-05-04"' in text
    assert 'value="Ann"' in text
    assert 'value="25 @ 2x8x12"' not in text
    like = owner.get(f"{owner.log}?like={logged().pk}").content.decode()
    assert 'value="25 @ 2x8x12"' in like


def test_premium_and_tax_stand_before_haulage(owner, build):
    typed = {**TYPED, "price": "100", "price_for": "line", "premium_percent": "10"}
    owner.post(owner.log, {**typed, "tax_percent": "8"})
    amounts = [charge.charged_amount for charge in logged().charges.all()]
    # 10 % of 100.00; 8 % of 110.00; 48 mi x 0.70.
    assert amounts == [Decimal("10.00"), Decimal("8.80"), Decimal("33.60")]


# As a builder would enter it with gloves on: (typed fields, what the page must say).
UNCLEAR = [
    ({"quantity_text": "25"}, "has no unit"),
    ({"quantity_text": "a few"}, "few"),
    ({"quantity_text": "-3 pieces"}, "negative"),
    ({"quantity_text": "3 wheelbarrows"}, "wheelbarrows"),
    ({"price": "cheap"}, "is not a number"),
    ({"price": "5", "price_for": "free"}, "keep one of the two"),
    ({"usable_percent": "120"}, "cannot be over 100"),
    ({"bought_on": "yesterday"}, "Enter a date"),
    ({"distance_text": "12 gal"}, "is not a distance"),
    ({"origin_year": "62"}, "four digits"),
    ({"what": ""}, "Fill this in."),
    ({"source": ""}, "Choose one of these."),
]


@pytest.mark.parametrize(("change", "result"), UNCLEAR, ids=lambda value: str(value)[:40])
def test_an_unclear_entry_says_what_to_do_and_keeps_the_rest(change, result, owner, build):
    answer = owner.post(owner.log, {**TYPED, **change})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert result in text
    for name, value in {**TYPED, **change}.items():
        if name in ("what", "quantity_text", "price", "supplier") and value:
            assert f'value="{value}"' in text, name
    assert not Purchase.objects.exists()


def test_a_line_goes_into_no_purchase_of_another_build(owner, clients, other_build):
    url = reverse("log", args=[other_build.pk])
    owner.post(owner.log, TYPED)
    assert clients["stranger"].get(f"{url}?into={logged().pk}").status_code == 404


def test_a_photo_comes_with_the_entry_or_nothing_does(owner, build, settings, tmp_path):
    settings.MEDIA_ROOT = str(tmp_path)
    stream = io.BytesIO()
    Image.new("RGB", (60, 40), "brown").save(stream, "JPEG")
    photo = SimpleUploadedFile("pile.jpg", stream.getvalue())
    assert owner.post(owner.log, {**TYPED, "photo": photo}).status_code == 302
    assert logged().photos.count() == 1
    broken = SimpleUploadedFile("pile.jpg", b"no picture")
    answer = owner.post(owner.log, {**TYPED, "photo": broken})
    assert answer.status_code == 422
    assert 'value="25 @ 2x8x12"' in answer.content.decode()
    assert Purchase.objects.count() == 1


def test_an_empty_build_leads_to_the_first_steps(owner, build, clients):
    url = reverse("cost_sheet", args=[build.pk])
    text = owner.get(url).content.decode()
    for name in ("component_add", "price_add", "log", "upload"):
        assert reverse(name, args=[build.pk]) in text
    assert "Three steps" not in clients["viewer"].get(url).content.decode()
    owner.post(owner.log, TYPED)
    assert "Three steps" not in owner.get(url).content.decode()


def test_what_is_folded_away_is_not_remembered_where_it_would_mislead(owner, build):
    owner.post(owner.log, {**TYPED, "state": "offer", "obtained_by": "auction lot"})
    Change.objects.update(at=timezone.now() - timedelta(days=3))
    form = owner.get(owner.log).context["form"].initial
    assert form["state"] == "received"
    assert form["bought_on"] == timezone.localdate()
    assert "obtained_by" not in form
    assert "supplier" not in form


def test_where_it_was_got_is_carried_through_one_day_and_told(owner, build):
    told = "At House wrecker, like the last one"
    owner.post(owner.log, TYPED)
    page = owner.get(owner.log)
    assert page.context["form"].initial["supplier"] == "House wrecker"
    assert told in page.content.decode()
    assert '<a href="#id_supplier">change</a>' in page.content.decode()
    # Never into an offer, never to another day, and not told of what the address names.
    offer = owner.get(f"{owner.log}?state=offer")
    assert "supplier" not in offer.context["form"].initial
    assert told not in offer.content.decode()
    assert "like the last one" not in owner.get(f"{owner.log}?where=Yard").content.decode()
    Change.objects.update(at=timezone.now() - timedelta(days=1))
    later = owner.get(owner.log)
    assert "supplier" not in later.context["form"].initial
    assert told not in later.content.decode()


def test_a_copy_names_where_the_other_was_got(owner, build):
    owner.post(owner.log, TYPED)
    Change.objects.update(at=timezone.now() - timedelta(days=3))
    page = owner.get(f"{owner.log}?like={logged().pk}")
    assert page.context["form"].initial["supplier"] == "House wrecker"
    assert "At House wrecker, like the last one" in page.content.decode()


def test_what_a_quantity_teaches_is_kept_when_it_is_accepted(owner, build):
    keep = 'name="use_contents" value="1 piece = 2x8x12"'
    assert keep in owner.post(owner.log, {**TYPED, "look": "1"}).content.decode()
    # Tapping only looks at it, with the contents in their box; saving keeps them.
    seen = owner.post(owner.log, {**TYPED, "use_contents": "1 piece = 2x8x12"}).content.decode()
    assert keep not in seen
    assert 'name="contents" value="1 piece = 2x8x12"' in seen
    assert not Component.objects.exists()
    owner.post(owner.log, {**TYPED, "contents": "1 piece = 2x8x12"})
    assert Component.objects.get().contents == "1 piece = 2x8x12"
    # 180 ft are 15 pieces of 12 ft, 160 board feet are 10 of 16.
    assert "that is 15 pieces" in looked_at(owner, quantity_text="180 ft", price="")
    priced = looked_at(owner, quantity_text="10 pieces", price="1 per bf", distance_text="")
    assert "Price $160.00" in priced


def test_nothing_is_kept_that_was_not_accepted(owner, build):
    owner.post(owner.log, TYPED)
    assert Component.objects.get().contents == ""
    asked = {**TYPED, "quantity_text": "180 ft", "price": "", "look": "1"}
    assert "say in the component" in looked_at(owner, quantity_text="180 ft")
    # What was typed before is offered at the box it belongs in, and taken by a tap.
    page = owner.post(owner.log, asked).content.decode()
    assert "Earlier it was 1 piece = 2x8x12. If each is like that, keep it here." in page
    assert 'name="use_contents" value="1 piece = 2x8x12"' in page
    kept = owner.post(owner.log, {**asked, "use_contents": "1 piece = 2x8x12"}).content.decode()
    assert "that is 15 pieces" in words(kept)
    # Two sizes say nothing of each.
    owner.post(owner.log, {**TYPED, "quantity_text": "3 @ 2x8x10"})
    assert "Earlier it was" not in owner.post(owner.log, asked).content.decode()


def test_state_day_and_payer_are_named_before_saving(owner, build):
    answer = owner.post(owner.log, {**TYPED, "state": "ordered"}, headers={"HX-Request": "true"})
    assert "Ordered, 4 May 2026, at House wrecker, paid by Ann." in answer.content.decode()


def looked_at(owner, url=None, **change) -> str:
    """What the form says it comes to, tags out."""
    answer = owner.post(url or owner.log, {**TYPED, **change}, headers={"HX-Request": "true"})
    return " ".join(re.sub(r"<[^>]*>", " ", answer.content.decode().replace("&nbsp;", " ")).split())


def test_it_says_what_is_more_than_the_build_still_needs(owner, entries):
    entries.component("Board", required_text="6 pieces")
    entries.component("Slate", unit="sq ft")
    text = looked_at(owner, quantity_text="10 pieces")
    assert "The build still needs 6 pieces" in text
    assert "4 of 10 pieces are more than the build still needs." in text
    assert "more than the build" not in looked_at(owner, quantity_text="6 pieces")
    assert "1 of 7 pieces is more than" in looked_at(owner, quantity_text="7 pieces")
    half = looked_at(owner, quantity_text="14 pieces", usable_percent="50")
    assert "Of what is usable, 1 of 7 pieces is more than" in half
    unstated = looked_at(owner, what="Slate", quantity_text="20 sq ft")
    assert "The build still needs no requirement stated" in unstated
    assert "more than the build" not in unstated


def test_another_line_of_what_is_here_finds_the_need_met_already(owner, entries):
    board = entries.component("Board", required_text="6 pieces")
    here = entries.purchase("P1", line(board, "6 pieces"))
    text = looked_at(owner, f"{owner.log}?into={here.pk}", quantity_text="6 pieces")
    assert "All 6 pieces are more than the build still needs." in text


def test_another_line_of_an_offer_meets_the_need_with_its_other_lines(owner, entries):
    board = entries.component("Board", required_text="6 pieces")
    entries.purchase("P1", line(board, "9 pieces"), state="offer")
    offer = entries.purchase("P2", line(board, "2 pieces"), state="offer")
    text = looked_at(owner, f"{owner.log}?into={offer.pk}", quantity_text="6 pieces")
    assert "2 of 8 pieces are more than the build still needs." in text


@pytest.mark.parametrize("typed", ["5 pieces", "5 ea", "5 @ 2x8x12"])
def test_the_same_is_not_said_twice(typed, owner, entries):
    entries.component("Board")
    assert "that is" not in looked_at(owner, quantity_text=typed)


def test_another_count_than_typed_is_said(owner, entries):
    entries.component("Board", contents="1 piece = 12 ft")
    assert "that is 6 pieces" in looked_at(owner, quantity_text="12 @ 2x8x6")


def test_the_caution_about_reuse_stands_short_below_the_others(owner, entries):
    entries.component("Board", traits=["painted"])
    answer = owner.post(owner.log, TYPED, headers={"HX-Request": "true"}).content.decode()
    short, paint = (answer.index(f"<summary>{t}") for t in ("Reused material", "Paint that may"))
    assert paint < short
    assert answer.count("Reused material in permitted work") == 1
    assert '<details class="caution-short"><summary>Reused material' in answer
    assert '<details class="caution"><summary>Paint' in answer


@pytest.mark.parametrize(
    ("typed", "unit", "price", "result"),
    [
        ("2 doz", "piece", "1.50", "; at $1.50 per dozen . The price is read as per dozen."),
        ("3 qt", "gal", "3", "; at $3.00 per qt . "),
        ("2 bundles", "bundle", "9", "; at $9.00 per bundle . "),
        ("25 @ 2x8x12", "piece", "1.20", "; at $1.20 each . "),
        ("25 pieces", "piece", "0", "; free . "),
        ("30 @ 2x10x14", "bf", "1.50", "; at $1.50 per piece . "),
    ],
)
def test_the_price_is_said_with_what_it_is_for(typed, unit, price, result, owner, entries):
    entries.component("Board", unit=unit)
    shown = looked_at(owner, quantity_text=typed, price=price, distance_text="")
    assert result in shown
    assert ("The price is read as per dozen" in shown) == ("doz" in typed)


def test_a_price_of_all_is_said_by_what_was_typed(owner, entries):
    entries.component("Board")
    typed = {"quantity_text": "2 doz", "price": "3", "price_for": "line", "distance_text": ""}
    assert "24 pieces at $1.50 per dozen, $3.00; $0.125 a usable piece" in looked_at(owner, **typed)
    owner.post(owner.log, {**TYPED, **typed})
    page = owner.get(reverse("purchase", args=[logged().build_id, logged().pk])).content.decode()
    assert '$3.00<span class="per"> at $1.50 per dozen</span>' in page


def test_what_is_not_needed_is_said_before_any_praise(owner, entries):
    board = entries.component("Board", required_text="20 pieces")
    entries.price(board, "4.50")
    entries.purchase("P1", line(board, "18 pieces"))
    typed = {"quantity_text": "16 pieces", "price_for": "line", "distance_text": ""}
    # Two of 16 are needed: 2 x 4.86 = 9.72 new.
    text = looked_at(owner, price="9", **typed)
    assert "Not needed: 14 of 16 pieces; 16 pieces at" in text
    assert "88% below new" in text
    assert "against new, delivered, if all of it is used" in text
    dear = looked_at(owner, price="10", **typed)
    assert "Not needed: 14 of 16 pieces; 16 pieces at" in dear
    assert "above what the needed part is worth" in dear
    assert "below new" not in dear
    entries.purchase("P2", line(board, "2 pieces"))
    none = looked_at(owner, price="9", **typed)
    assert "Not needed: all 16 pieces; 16 pieces at" in none
    assert "$0.5625 a usable piece." in none
    assert "below new" not in none
    assert "Saves" not in none


@pytest.mark.parametrize(("field", "limit"), [("what", 120), ("supplier", 120), ("paid_by", 80)])
def test_a_name_that_is_too_long_is_refused_and_not_cut(field, limit, owner, build):
    form = owner.get(owner.log).content.decode()
    assert "maxlength" not in form
    long = "x" * (limit + 3)
    answer = owner.post(owner.log, {**TYPED, field: long})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert f"{limit + 3} characters, where {limit} fit. Shorten it." in text
    assert f'value="{long}"' in text
    assert not Purchase.objects.exists()


def test_no_box_is_kept_from_coming_back_filled(owner, build):
    for name in ("log", "purchase_add", "labour_add", "conversion_add"):
        page = owner.get(reverse(name, args=[build.pk])).content.decode()
        assert 'autocomplete="off"' not in page, name
        assert "maxlength" not in page, name


def test_the_price_of_shorter_pieces_is_not_said_to_be_that_of_whole_ones(owner, entries):
    entries.component("Board", contents="1 piece = 12 ft")
    text = looked_at(owner, quantity_text="12 @ 2x8x6", distance_text="")
    assert "6 pieces at $1.20 per piece of 2x8x6, $14.40; $2.40 a usable piece" in text


def test_what_it_is_can_be_ticked_and_is_kept_with_the_component(owner, build):
    """The cautions come up before it is saved, and stay with the component after."""
    typed = {**TYPED, "what": "Thing", "quantity_text": "3 pieces", "origin_year": "1950"}
    plain = owner.post(owner.log, {**typed, "look": "1"}).content.decode()
    assert "Paint that may hold lead" not in plain
    ticked = {**typed, "traits": ["painted", "load-bearing"]}
    text = owner.post(owner.log, {**ticked, "look": "1"}).content.decode()
    assert "Paint that may hold lead" in text
    assert not Component.objects.exists()
    assert owner.post(owner.log, ticked).status_code == 302
    assert sorted(Component.objects.get().traits) == ["load-bearing", "painted"]
    # Nothing is taken away by a form in which nothing is ticked; a new tick is added.
    assert owner.post(owner.log, typed).status_code == 302
    assert owner.post(owner.log, {**typed, "traits": ["unpainted"]}).status_code == 302
    assert sorted(Component.objects.get().traits) == ["load-bearing", "painted", "unpainted"]
    assert Change.objects.filter(record_type="component").count() == 2
    refused = owner.post(owner.log, {**typed, "traits": ["bent"]})
    assert "Tick what is true of it" in refused.content.decode()


@pytest.mark.parametrize(
    ("what", "year", "title"),
    [
        ("Old 2x4 studs", "1940", "Lumber without a grade"),
        ("2x8, 10 ft", "", "Lumber without a grade"),
        ("2x8 plank, 30 in", "", "Lumber without a grade"),
        ("Transite siding", "1952", "may hold asbestos"),
        ("Popcorn ceiling tile", "1970", "may hold asbestos"),
        ("gas for cleaning brushes", "", "Gasoline is never a thinner"),
        ("Lead flashing", "", "Lead sheet, pipe or flashing"),
        ("Barn siding", "1940", "Is there old paint on it?"),
    ],
)
def test_cautions_come_up_while_it_is_logged(what, year, title, owner):
    typed = {**TYPED, "what": what, "quantity_text": "3 pieces", "origin_year": year}
    text = owner.post(owner.log, typed, headers={"HX-Request": "true"}).content.decode()
    assert title in text
    quiet = {**typed, "what": "Gas stove"}
    text = owner.post(owner.log, quiet, headers={"HX-Request": "true"}).content.decode()
    assert title not in text
