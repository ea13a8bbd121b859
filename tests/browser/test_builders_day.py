"""A builder's day: the first purchase logged, and an auction lot from the offer to the building.

Each is one script of steps, done with scripts, without them, and by keyboard alone.
"""

import pytest
from django.urls import reverse

from materials.services.accounts import ensure_user

from .hands import BareHands, Hands, KeyHands, PhoneKeyHands

pytestmark = pytest.mark.django_db(transaction=True)

MOST_TAPS = 6


def first_purchase(hands: Hands) -> None:
    """From the first sign-in to the first logged purchase."""
    hands.page.goto("/")
    hands.type("Username", "ann")
    hands.type("Password", "sawdust-and-lime")
    hands.enter()
    hands.press("Begin a build")
    for label, text in {
        "Name": "Pump house",
        "Floor area": "200 sq ft",
        "Budget": "5000",
        "Retail tax, %": "8",
        "Distance rate": "0.70",
    }.items():
        hands.type(label, text)
    hands.press("Begin it")
    hands.press("Log what you got")
    hands.type("What", "Old 2x8")
    hands.type("How much", "12 @ 2x8x12")
    hands.type("Price", "2,25")
    hands.pick("Source", "Salvage")
    hands.type("Where", "House wrecker")
    # 12 x 2.25 = 27.00; 12 boards of 2 x 8 x 12 / 12 = 16 board feet are 192.
    hands.look("12 pieces of 2x8x12 (144 ft, 192 board feet)", "$27.00", "new component")
    assert hands.page.get_by_role("heading", name="Log a purchase").is_visible(), "not saved yet"
    hands.press("Save")


@pytest.mark.parametrize("way", [Hands, BareHands, PhoneKeyHands])
def test_the_first_purchase_is_six_taps_away(way, open_page, transactional_db):
    ensure_user(username="ann", password="sawdust-and-lime")
    hands = way(open_page(way.size, **way.options))
    first_purchase(hands)
    hands.page.get_by_role("heading", name="Purchase P001").wait_for()
    assert ledger(hands)["Landed cost of the purchase"] == "$27.00"
    if not isinstance(hands, KeyHands):
        # Putting the cursor into a field belongs to typing; all else is a tap.
        assert hands.taps <= MOST_TAPS, hands.taps


def ledger(hands: Hands) -> dict[str, str]:
    """The accounts of a page: what, and how much."""
    rows = hands.page.locator("main dl.ledger > div").all()
    pairs = [row.locator("dt, dd:not(.sentence)").all_inner_texts() for row in rows]
    return {told[0]: " ".join(told[1].split()) for told in pairs}


def row(hands: Hands, table: str, name: str) -> list[str]:
    """The cells of a table's row."""
    found = hands.page.get_by_role("table", name=table).locator(
        "tr", has=hands.page.get_by_role("rowheader", name=name)
    )
    return [" ".join(text.split()) for text in found.locator("td").all_inner_texts()]


@pytest.fixture
def wanted(entries, build):
    """A build of 200 sq ft that needs flashing, and what its material costs new."""
    entries.price(entries.component("Roof sheet", contents="1 piece = 4x8 ft"), "11.25")
    entries.price(
        entries.component("Flashing", contents="1 piece = 1x8 ft", required_text="80 pieces"),
        "5.00",
    )
    entries.price(entries.component("Door"), "30")
    return build


def offer(hands: Hands) -> None:
    """An auction lot of roof sheets and doors, typed as an offer.

    Sheets: 80 % of 20 are usable, 16 x 11.25 = 180.00 new; doors 2 x 30.00 = 60.00. So the lot
    and its charges are shared 3 : 1. Bid 100.00, premium 15.00, tax 8 % of 115.00 = 9.20, 50 mi
    x 0.70 = 35.00: 159.20 landed, of which 119.40 and 39.80.
    """
    hands.press("Log a purchase")
    hands.type("What", "Roof sheet")
    hands.type("How much", "20 @ 4x8 ft")
    hands.type("Price", "100")
    hands.pick("The price is for", "A whole lot of things")
    hands.pick("Source", "Salvage")
    hands.type("Where", "County auction")
    hands.unfold("Haulage, state, date, payer and more")
    hands.select("State", "Offer")
    hands.type("Usable, %", "80")
    hands.type("Miles there and back", "50 mi")
    hands.type("Buyer's premium, %", "15")
    hands.type("Sales tax, %", "8")
    hands.type("Hours it will take", "6")
    # As yet the sheets carry the whole lot: 159.20 / 16 = 9.95.
    hands.look("20 pieces of 4 ft x 8 ft", "$159.20", "$9.95")
    hands.press("Save")
    hands.press("Another line of it")
    hands.type("What", "Door")
    hands.type("How much", "2 pieces")
    hands.pick("The price is for", "It is in the lot's price")
    hands.pick("Source", "Salvage")
    hands.look("$39.80", "The whole purchase: $159.20")
    hands.press("Save")


def judge_and_take(hands: Hands) -> None:
    """Read what the offer is worth, and take it.

    New with 8 % tax: 240.00 x 1.08 = 259.20; it saves 259.20 - 159.20 = 100.00. Walking away at
    p: p x 1.15 x 1.08 + 35.00 <= 259.20, so p <= 224.20 / 1.242 = 180.515: to the cent 180.51
    (27.08 premium, 16.61 tax, 35.00: just 259.20). With 6 hours at 20.00 = 120.00 less:
    104.20 / 1.242 = 83.897, so 83.89.
    """
    worth = ledger(hands)
    assert worth["What the usable part would cost new, with tax"] == "$259.20"
    assert worth["Walk-away bid"] == "$180.51"
    assert worth["For everything, after the hours it takes"] == "$83.89"
    assert "Saves $100.00" in hands.page.inner_text("section.judgement")
    beside = "Each line beside new and beside what was paid so far"
    # 119.40 / 16 = 7.4625, new 11.25 x 1.08 = 12.15; 39.80 / 2 = 19.90, new 32.40.
    assert row(hands, beside, "Roof sheet") == ["$7.4625 per piece", "$12.15", "not known"]
    assert row(hands, beside, "Door") == ["$19.90 per piece", "$32.40", "not known"]
    # Budget 5000.00 less 159.20.
    effects = "What taking it would do"
    assert row(hands, effects, "Remaining") == ["$5,000.00", "$4,840.80"]
    hands.press("Take it: it is here")
    told = hands.page.inner_text("main")
    assert "P001 is now: received." in told
    assert "Is it worth it?" not in told
    assert "$119.40" in told
    assert "$39.80" in told


def work_up(hands: Hands) -> None:
    """Cut the sheets into flashing: 119.40 + 4.60 for shears = 124.00, 2.00 for each of 62."""
    hands.turn_to("Conversions")
    hands.press("Log a conversion")
    hands.select("From", "Roof sheet")
    hands.type("Quantity used", "16 pieces")
    hands.type("Extra cost", "4.60")
    hands.type("Hours", "2:00")
    hands.select("To", "Flashing")
    hands.type("Quantity made", "62 pieces")
    hands.press("Show what it comes to")
    hands.told("$119.40", "$124.00", "$2.00")
    hands.press("Save")


def count_and_rest(hands: Hands) -> None:
    """Count what is there: 12 flashings and a door; log four hours at one touch."""
    hands.turn_to("Left over")
    hands.press("Count what is there")
    hands.type("Flashing", "12 pieces")
    hands.type("Door", "1 piece")
    hands.press("Save")
    assert "Counts changed: 2." in hands.page.inner_text("main")
    hands.turn_to("Hours")
    hands.press("Log hours")
    hands.type("Person", "Ann")
    hands.select("Kind", "Sourcing")
    hands.press("Log 4 h")
    hands.turn_to("Cost sheet")


# In the building: 62 - 12 = 50 flashings at 2.00 = 100.00 and one door at 19.90: 119.90.
# New with tax: 50 x 5.40 = 270.00 and 32.40: 302.40. Extra hours: 2 preparing, 4 sourcing.
SHEET = {
    "Budget": "$5,000.00",
    "Spent": "$163.80",  # 159.20 + 4.60
    "Committed": "$0.00",
    "Remaining": "$4,836.20",
    "Contingency": "$500.00",  # 10 %
    # 80 - 62 = 18 flashings are needed: 163.80 + 18 x 2.00, and 163.80 + 18 x 5.40.
    "Forecast, low end": "$199.80",
    "Forecast, high end": "$261.00",
    "Retail equivalent": "$302.40",
    "Cost of the same components": "$119.90",
    "Savings": "$182.50",
    "Savings in per cent": "60.35 %",  # 182.50 / 302.40 = 0.60350
    "Savings after own labour": "$62.50",  # 182.50 - 6 x 20.00
    "Saved per extra hour": "$30.42",  # 182.50 / 6
    "Material cost": "$119.90",
    "Sourcing": "4 h",
    "Preparing": "2 h",
    "Installing": "0 h",
    "Hours": "6 h",
    "Extra hours: sourcing and preparing": "6 h",
    "Paid labour": "$0.00",
    "Value of own labour": "$120.00",  # 6 x 20.00
}


@pytest.mark.parametrize("way", [Hands, BareHands, KeyHands])
def test_an_auction_lot_from_the_offer_to_the_building(way, open_page, enter, wanted, cast):
    hands = way(open_page(way.size, **way.options))
    enter(hands.page, cast["owner"])
    hands.page.goto(reverse("cost_sheet", args=[wanted.pk]))
    offer(hands)
    judge_and_take(hands)
    work_up(hands)
    count_and_rest(hands)
    told = ledger(hands)
    assert {name: told.get(name) for name in SHEET} == SHEET
    # 119.90 / 200; with 120.00 for own hours 239.90 / 200; new 302.40 / 200.
    area = ["$0.60 per sq ft", "$1.20 per sq ft", "$1.51 per sq ft"]
    assert row(hands, "Cost per area", "Floor area") == area
    # In the building, average, cost, new, saved, still needed.
    assert row(hands, "By component", "Flashing") == [
        "50 pieces",
        "$2.00 per piece",
        "$100.00",
        "$270.00",
        "$170.00",
        "18 pieces",
    ]
    assert row(hands, "By component", "Roof sheet")[0] == "0 pieces"
