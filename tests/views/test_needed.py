"""The shopping list: whole things, at what they come to, and where nothing is stated."""

import html
import re
from datetime import date
from decimal import Decimal
from fractions import Fraction

import pytest
from django.urls import reverse

from materials.calc.money import round_money
from materials.queries.needed import NeededRow, get_shopping
from materials.queries.reports import get_cost_sheet
from tests.entries import line

LATER = date(2026, 6, 1)


def list_needed(build, on: date) -> list[NeededRow]:
    """The rows of all places together, and those that hardly cost anything."""
    shopping = get_shopping(build, on)
    return [row for place in (*shopping.lists, shopping.trifles) for row in place.rows]


def page_text(client, build) -> str:
    """The text of the page, tags out and spaces single."""
    page = client.get(reverse("needed", args=[build.pk])).content.decode()
    return " ".join(html.unescape(re.sub(r"<[^>]*>", " ", page)).split())


@pytest.fixture
def lime(entries):
    """38 bags with 5 % waste, 30 in hand and 4 ordered for 18.90 each: 5.9 are needed."""
    part = entries.component("Lime", unit="bag", required_text="38 bags", waste_percent=Decimal(5))
    paid = {"unit_price": Decimal("18.90")}
    entries.purchase("P1", line(part, "30 bags", **paid), supplier="Lime kiln")
    entries.purchase("P2", line(part, "4 bags", **paid), supplier="Lime kiln", state="ordered")
    return part


def test_counted_things_come_whole_and_at_the_cost_of_whole_ones(build, lime, clients):
    (row,) = list_needed(build, LATER)
    assert row.position.still_needed == Fraction("5.9")
    assert (row.get.quantity, row.get.unit) == (6, "bag")
    assert row.cost == Decimal("113.40")
    text = page_text(clients["owner"], build)
    assert "6 bags (5.9 needed)" in text
    assert "$113.40" in text
    assert "rounded up to whole ones here" in text


def test_the_cost_sheet_and_its_forecast_stay_exact(build, lime):
    sheet = get_cost_sheet(build, LATER)
    (row,) = sheet.components
    assert row.position.still_needed == Fraction("5.9")
    # 34 bags are spent or committed, and 5.9 more at 18.90.
    assert sheet.forecast.low == Fraction("39.9") * Fraction("18.90")


def test_boards_and_squares_come_whole_where_their_price_is_by_measure(build, entries, clients):
    """21.45 ft of slats of 8 ft at 0.50: three of them; 1.05 squares at 90 are two."""
    slat = entries.component("Slat", unit="ft", required_text="21.45 ft", contents="1 piece = 8 ft")
    entries.price(slat, "0.50", on=LATER)
    roof = entries.component("Ribbed roofing", unit="square", required_text="1.05 squares")
    entries.price(roof, 90, on=LATER)
    rows = {row.position.component.name: row for row in list_needed(build, LATER)}
    (tax,) = {1 + get_cost_sheet(build, LATER).build.retail_tax_share}
    assert (rows["Slat"].get.quantity, rows["Slat"].get.unit, rows["Slat"].ask) == (
        3, "piece", "3 pieces",
    )  # fmt: skip
    assert rows["Slat"].cost == round_money(24 * Fraction(1, 2) * tax, "USD")
    assert rows["Ribbed roofing"].cost == round_money(180 * tax, "USD")
    text = page_text(clients["owner"], build)
    assert "3 pieces (24 ft) (21.45 ft needed)" in text
    assert "2 squares (1.05 needed)" in text
    plan = clients["owner"].get(reverse("sourcing", args=[build.pk])).content.decode()
    bought = " ".join(html.unescape(re.sub(r"<[^>]*>", "", plan)).split())
    assert "Slat: 3 pieces" in bought
    assert "Ribbed roofing: 2 squares" in bought


def test_what_is_measured_is_asked_for_rounded_up_and_costs_what_is_needed(build, entries, clients):
    slat = entries.component("Slat", unit="ft", required_text="85.8 ft")
    entries.price(slat, "0.50")
    (row,) = list_needed(build, LATER)
    assert (row.get.quantity, row.get.unit, row.is_rounded) == (Fraction("85.8"), "ft", True)
    # 85.8 x 0.54 = 46.332.
    assert row.cost == Decimal("46.33")
    assert "86 ft (85.8 needed)" in page_text(clients["owner"], build)


def test_what_is_sold_new_by_the_pack_comes_in_packs(build, entries, clients):
    bar = entries.component("Bar", unit="ft", required_text="441 ft", contents="1 piece = 20 ft")
    entries.price(bar, "12.80", per_text="piece", priced_at="Steel yard")
    (row,) = list_needed(build, LATER)
    assert (row.get.quantity, row.get.unit, row.get.base) == (23, "piece", 460)
    # 23 x 12.80 x 1.08 = 317.952.
    assert row.cost == Decimal("317.95")
    text = page_text(clients["owner"], build)
    assert "23 pieces (460 ft) (441 ft needed)" in text
    page = clients["owner"].get(reverse("needed", args=[build.pk])).content.decode()
    assert "?what=Bar&amp;much=23%20pieces" in page


def test_a_price_for_a_hundred_feet_sells_no_packs(build, entries):
    slat = entries.component("Slat", unit="ft", required_text="85.8 ft")
    entries.price(slat, "50", per_text="100 ft")
    (row,) = list_needed(build, LATER)
    assert row.get.quantity == Fraction("85.8")


def test_a_price_for_two_rolls_is_one_of_single_rolls(build, entries):
    pipe = entries.component("Pipe", unit="ft", required_text="90 ft", contents="1 roll = 50 ft")
    entries.price(pipe, "100", per_text="4 rolls")
    (row,) = list_needed(build, LATER)
    assert (row.get.quantity, row.get.unit) == (2, "roll")
    # Two rolls of 25.00, with 8 % tax.
    assert row.cost == Decimal("54.00")


def test_the_best_place_is_the_cheapest_for_what_is_to_be_got(build, entries):
    cable = entries.component("Cable", unit="ft", required_text="40 ft", contents="1 roll = 250 ft")
    # New 0.50 a foot, but a whole roll is 135.00 with tax; ten feet from the van cost 1.00 each.
    entries.price(cable, "125", per_text="roll", priced_at="Wire shop")
    entries.purchase("P1", line(cable, "10 ft", unit_price=Decimal(1)), supplier="Van")
    (row,) = list_needed(build, LATER)
    assert (row.best.name, row.get.quantity, row.cost) == ("Van", 30, Decimal("30.00"))


def test_the_total_is_that_of_the_rows_to_the_cent(build, entries, lime):
    bar = entries.component("Bar", unit="ft", required_text="1 ft")
    entries.price(bar, "0.305")
    entries.component("Odd brick", required_text="40 pieces")
    shopping = get_shopping(build, LATER)
    # 113.40, and 0.305 x 1.08 = 0.3294.
    assert shopping.total == Decimal("113.73")
    assert shopping.without_price == 1


def test_required_received_and_ordered_stand_in_the_row(build, lime, clients):
    text = page_text(clients["viewer"], build)
    assert "Required Received Ordered Lime kiln Lime 6 bags" in text
    # With 5 % waste; received, ordered.
    assert "39.9 bags 30 4" in text


def test_what_hardly_costs_anything_stands_in_one_line(build, entries, lime, clients):
    """Less than one hundredth of the list: 0.33 beside 113.40 is, 1.19 is not."""
    for name, much in (("Twine", "1 ft"), ("Wire", "3.6 ft")):
        part = entries.component(name, unit="ft", required_text=much)
        entries.price(part, "0.305", priced_at="Corner shop, late")
    shopping = get_shopping(build, LATER)
    (trifle,) = shopping.trifles.rows
    assert (trifle.position.component.name, trifle.cost) == ("Twine", Decimal("0.33"))
    # 113.40 + 0.33 + 3.6 x 0.305 x 1.08 = 1.18584.
    assert shopping.total == Decimal("114.92")
    assert [place.cost for place in shopping.lists] == [Decimal("1.19"), Decimal("113.40")]
    text = page_text(clients["owner"], build)
    assert "Trifles $0.33 Twine Log 1 ft , Corner shop, late" in text
    assert "?what=Twine&amp;much=1%20ft" in clients["owner"].get(
        reverse("needed", args=[build.pk])
    ).content.decode()  # fmt: skip
    assert "Twine 1 ft, Corner shop, late" in page_text(clients["viewer"], build)


def test_an_empty_build_has_no_requirement_stated(build, clients):
    url = reverse("component_add", args=[build.pk])
    text = page_text(clients["owner"], build)
    assert "No requirement is stated yet" in text
    assert "Nothing is still needed" not in text
    assert f'href="{url}"' in clients["owner"].get(
        reverse("needed", args=[build.pk])
    ).content.decode()  # fmt: skip
    seen = clients["viewer"].get(reverse("needed", args=[build.pk])).content.decode()
    assert "No requirement is stated yet" in seen
    assert url not in seen


def test_components_without_a_requirement_are_told_of(build, entries, clients):
    slate = entries.component("Slate", unit="sq ft")
    text = page_text(clients["owner"], build)
    assert "No requirement is stated yet" in text
    assert "or state it on one of the components" in text
    door = entries.component("Door", required_text="1 piece")
    entries.purchase("P1", line(door, "1 piece"), line(slate, "3 sq ft"))
    text = page_text(clients["owner"], build)
    assert "Nothing is still needed: what is required is received, made or ordered" in text
    assert "1 component states no requirement, so it serves only to make other things" in text


def test_a_place_whose_sale_is_over_is_not_offered(build, entries, clients, cast):
    """The dearer place that is still there is; of a closed shop the new price stays, unnamed."""
    part = entries.component("Post", required_text="10 pieces")
    entries.purchase("P1", line(part, "2 pieces", unit_price=Decimal(1)), supplier="Estate sale")
    entries.purchase("P2", line(part, "2 pieces", unit_price=Decimal(3)), supplier="Yard")
    (row,) = list_needed(build, LATER)
    assert (row.best.name, row.cost) == ("Estate sale", Decimal("6.00"))
    sale = build.suppliers.get(name="Estate sale")
    address = reverse("supplier_edit", args=[build.pk, sale.pk])
    answer = clients["owner"].post(address, {"name": "Estate sale", "is_gone": "on"})
    assert answer.status_code == 302
    assert (
        "no longer there"
        in clients["owner"].get(reverse("suppliers", args=[build.pk])).content.decode()
    )
    (row,) = list_needed(build, LATER)
    assert (row.best.name, row.cost) == ("Yard", Decimal("18.00"))
    # What was paid there stays in the average: 8.00 for 4.
    assert row.position.average == Fraction(2)
    build.suppliers.filter(name="Yard").update(is_gone=True)
    assert [row.best for row in list_needed(build, LATER)] == [None]
    price = entries.price(part, "5.00")
    price.priced_at = "estate  SALE"
    price.save()
    (row,) = list_needed(build, LATER)
    assert (row.best.name, row.best.is_new) == ("New, anywhere", True)
    build.suppliers.update(is_gone=False)
    assert list_needed(build, LATER)[0].best.name == "Estate sale"


@pytest.mark.parametrize("supplier", ["", "Lumber yard"])
def test_what_was_bought_new_is_its_own_price_and_says_so(supplier, build, entries, clients):
    """Bought new for 40.00 with 3.20 tax, so 10.80 each; nobody noted a new price. 6 are needed."""
    bolt = entries.component("Bolt", required_text="10 pieces")
    named = {"supplier": supplier} if supplier else {}
    entries.purchase(
        "P1",
        line(bolt, "4 pieces", line_price_amount=Decimal(40), source="retail"),
        charges=[{"kind": "sales tax", "percent": Decimal(8)}],
        **named,
    )
    (row,) = list_needed(build, LATER)
    assert (row.new_price, row.cost) == (Fraction("10.80"), Decimal("64.80"))
    assert row.best.name == (supplier or "New, as bought before")
    text = page_text(clients["owner"], build)
    assert "$10.80 as you paid" in text
    # A new price that is noted stands instead.
    entries.price(bolt, "5")
    (row,) = list_needed(build, LATER)
    assert (row.new_price, row.cost) == (Fraction("5.40"), Decimal("32.40"))
    assert "as bought new" not in page_text(clients["owner"], build)
