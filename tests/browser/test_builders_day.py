"""A builder's day: the first purchase logged, and an auction lot from the offer to the building.

Each is one script of steps, done with scripts, without them, and by keyboard alone.
"""

import pytest
from django.urls import reverse

from materials.services.accounts import ensure_user

from .visitors import KeyboardVisitor, PhoneKeyboardVisitor, ScriptlessVisitor, Visitor

pytestmark = pytest.mark.django_db(transaction=True)

MOST_TAPS, MOST_TAPS_NEXT = 6, 4


def first_purchase(visitor: Visitor) -> None:
    """From the first sign-in to the first logged purchase."""
    visitor.page.goto("/")
    visitor.type("Username", "ann")
    visitor.type("Password", "sawdust-and-lime")
    visitor.enter()
    visitor.press("Start a build")
    for label, text in {
        "Name": "Pump house",
        "Floor area": "200 sq ft",
        "Budget": "5000",
        "Retail tax, %": "8",
        "Distance rate": "0.70",
    }.items():
        visitor.type(label, text)
    visitor.press("Start build")
    visitor.press("Log what you got")
    visitor.type("What", "Old 2x8")
    visitor.type("How much", "12 @ 2x8x12")
    visitor.type("Price", "2,25")
    visitor.pick("Source", "Salvage")
    visitor.type("Where", "House wrecker")
    # 12 x 2.25 = 27.00; 12 boards of 2 x 8 x 12 / 12 = 16 board feet are 192.
    visitor.look("12 pieces of 2x8x12 (144 ft, 192 board feet)", "$27.00", "new component")
    assert visitor.page.get_by_role("heading", name="Log purchase").is_visible(), "not saved yet"
    visitor.press("Save")


def next_purchase_there(visitor: Visitor) -> None:
    """Something else from the same place; where, the source and the day stay."""
    visitor.page.get_by_role("status").get_by_text("Saved.").wait_for()
    visitor.press("Log another here")
    visitor.type("What", "Porch door")
    visitor.type("How much", "1 piece")
    visitor.type("Price", "40")
    visitor.press("Save")


@pytest.mark.parametrize("way", [Visitor, ScriptlessVisitor, PhoneKeyboardVisitor])
def test_the_first_purchase_is_six_taps_away(way, open_page, transactional_db):
    ensure_user(username="ann", password="sawdust-and-lime")
    visitor = way(open_page(way.size, **way.options))
    first_purchase(visitor)
    visitor.page.get_by_role("heading", name="Purchase P001").wait_for()
    assert ledger(visitor)["Landed cost of the purchase"] == "$27.00"
    if not isinstance(visitor, KeyboardVisitor):
        # Putting the cursor into a field belongs to typing; all else is a tap.
        assert visitor.taps <= MOST_TAPS, visitor.taps
    visitor.taps = 0
    next_purchase_there(visitor)
    visitor.page.get_by_role("heading", name="Purchase P002").wait_for()
    assert "House wrecker" in visitor.page.locator("main").inner_text()
    if not isinstance(visitor, KeyboardVisitor):
        assert visitor.taps <= MOST_TAPS_NEXT, visitor.taps
    visitor.press("Undo")
    visitor.page.get_by_text("Undone.").wait_for()
    assert visitor.page.get_by_role("link", name="P001").is_visible()
    assert not visitor.page.get_by_role("link", name="P002").is_visible()


def ledger(visitor: Visitor) -> dict[str, str]:
    """The accounts of a page: what, and how much."""
    rows = visitor.page.locator("main dl.ledger > div").all()
    pairs = [row.locator("dt, dd:not(.sentence)").all_inner_texts() for row in rows]
    return {result[0]: " ".join(result[1].split()) for result in pairs}


def row(visitor: Visitor, table: str, name: str) -> list[str]:
    """The cells of a table's row."""
    found = visitor.page.get_by_role("table", name=table).locator(
        "tr", has=visitor.page.get_by_role("rowheader", name=name)
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


def offer(visitor: Visitor) -> None:
    """An auction lot of roof sheets and doors, typed as an offer.

    Sheets: 80 % of 20 are usable, 16 x 11.25 = 180.00 new; doors 2 x 30.00 = 60.00. So the lot
    and its charges are shared 3 : 1. Bid 100.00, premium 15.00, tax 8 % of 115.00 = 9.20, 50 mi
    x 0.70 = 35.00: 159.20 landed, of which 119.40 and 39.80.
    """
    visitor.log_purchase()
    visitor.type("What", "Roof sheet")
    visitor.type("How much", "20 @ 4x8 ft")
    visitor.type("Price", "100")
    visitor.pick("The price is for", "Mixed lot")
    visitor.pick("Source", "Salvage")
    visitor.type("Where", "County auction")
    visitor.unfold("Haulage, state, date, payer and more")
    visitor.select("State", "Offer")
    visitor.type("Usable, %", "80")
    visitor.type("Miles there and back", "50 mi")
    visitor.type("Buyer's premium, %", "15")
    visitor.type("Sales tax, %", "8")
    visitor.type("Hours it will take", "6")
    # As yet the sheets carry the whole lot: 159.20 / 16 = 9.95.
    visitor.look("20 pieces of 4 ft x 8 ft", "$159.20", "$9.95")
    visitor.press("Save")
    visitor.press("Add line")
    visitor.type("What", "Door")
    visitor.type("How much", "2 pieces")
    visitor.pick("The price is for", "It is in the lot's price")
    visitor.pick("Source", "Salvage")
    visitor.look("$39.80", "The whole purchase: $159.20")
    visitor.press("Save")


def judge_and_take(visitor: Visitor) -> None:
    """Read what the offer is worth, and take it.

    New with 8 % tax: 240.00 x 1.08 = 259.20; it saves 259.20 - 159.20 = 100.00. Walking away at
    p: p x 1.15 x 1.08 + 35.00 <= 259.20, so p <= 224.20 / 1.242 = 180.515: to the cent 180.51
    (27.08 premium, 16.61 tax, 35.00: just 259.20). With 6 hours at 20.00 = 120.00 less:
    104.20 / 1.242 = 83.897, so 83.89.
    """
    visitor.unfold_all()
    worth = ledger(visitor)
    assert worth["New, with tax, for the usable part"] == "$259.20"
    assert worth["Walk-away bid"] == "$180.51"
    assert worth["For everything, after the hours"] == "$83.89"
    assert "Saves $100.00" in visitor.page.inner_text("section.judgement")
    beside = "Each line beside new and beside what was paid so far"
    # 119.40 / 16 = 7.4625, new 11.25 x 1.08 = 12.15; 39.80 / 2 = 19.90, new 32.40.
    # By the square foot, of 4 x 8 = 32: 0.23320 and 0.37969.
    by_area = ["$0.2332", "$0.3797", "not known"]
    sheet = ["$7.46 per piece", "$12.15", "not known"]
    assert row(visitor, beside, "Roof sheet") == [*sheet, *by_area]
    assert row(visitor, beside, "Door") == ["$19.90 per piece", "$32.40", "not known"]
    # Budget 5000.00 less 159.20.
    effects = "If you take it"
    assert row(visitor, effects, "Remaining") == ["$5,000.00", "$4,840.80"]
    visitor.press("Take it: received")
    text = visitor.page.inner_text("main")
    assert "P001 is now: received." in text
    assert "Is it worth it?" not in text
    assert "$119.40" in text
    assert "$39.80" in text


def work_up(visitor: Visitor) -> None:
    """Cut the sheets into flashing: 119.40 + 4.60 for shears = 124.00, 2.00 for each of 62."""
    visitor.turn_to("Conversions")
    visitor.press("Log conversion")
    visitor.select("From", "Roof sheet")
    visitor.type("Quantity used", "16 pieces")
    visitor.type("Extra cost", "4.60")
    visitor.type("Hours", "2:00")
    visitor.select("To", "Flashing")
    visitor.type("Quantity made", "62 pieces")
    visitor.press("Preview")
    visitor.sees("$119.40", "$124.00", "$2.00")
    visitor.press("Save")


def count_and_rest(visitor: Visitor) -> None:
    """Count stock: 12 flashings and a door; log four hours at one touch."""
    visitor.turn_to("Leftovers")
    visitor.press("Count stock")
    visitor.type("Flashing", "12 pieces")
    visitor.type("Door", "1 piece")
    visitor.press("Save")
    assert "Counts changed: 2." in visitor.page.inner_text("main")
    visitor.turn_to("Hours")
    visitor.press("Log hours")
    visitor.type("Person", "Ann")
    visitor.select("Kind", "Sourcing")
    visitor.press("Log 4 h")
    visitor.turn_to("Cost sheet")


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
    "Savings, %": "60%",  # 182.50 / 302.40 = 0.60350
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


@pytest.mark.parametrize(
    "way",
    [
        Visitor,
        pytest.param(ScriptlessVisitor, marks=pytest.mark.slow),
        pytest.param(KeyboardVisitor, marks=pytest.mark.slow),
    ],
)
def test_an_auction_lot_from_the_offer_to_the_building(way, open_page, enter, wanted, cast):
    visitor = way(open_page(way.size, **way.options))
    enter(visitor.page, cast["owner"])
    visitor.page.goto(reverse("cost_sheet", args=[wanted.pk]))
    offer(visitor)
    judge_and_take(visitor)
    work_up(visitor)
    count_and_rest(visitor)
    visitor.unfold_all()
    result = ledger(visitor)
    assert {name: result.get(name) for name in SHEET} == SHEET
    # 119.90 / 200; with 120.00 for own hours 239.90 / 200; new 302.40 / 200, for all of it.
    area = ["$0.60 per sq ft", "$1.20 per sq ft", "$1.51 per sq ft", "$0.60 per sq ft"]
    assert row(visitor, "Cost per area", "Floor area") == area
    # In the building, average, cost, new, saved, still needed.
    assert row(visitor, "By component", "Flashing") == [
        "50 pieces",
        "$2.00 per piece",
        "$100.00",
        "$270.00",
        "$170.00",
        "18 pieces",
    ]
    assert row(visitor, "By component", "Roof sheet")[0] == "0 pieces"
