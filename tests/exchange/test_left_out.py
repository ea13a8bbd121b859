"""What a figure leaves out is named alike on the page, in JSON, in text and in the workbook."""

import io
import re
from datetime import date
from decimal import Decimal as D
from fractions import Fraction as F

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from materials.exchange.cost_json import as_data
from materials.exchange.cost_text import sheet_lines
from materials.exchange.writer import write_workbook
from materials.queries.reports import get_cost_sheet
from tests.entries import line
from tests.searches import TIMES
from tests.world import once

from .small import bring_in
from .varied import varied_sheets

pytestmark = once()
DAY = date(2026, 6, 1)
LABEL = "Still needed without any price, left out of the forecast"


def cost_sheet_of(build) -> dict[str, object]:
    """The figures of the workbook's cost sheet as they stand in it, by label."""
    stream = io.BytesIO()
    write_workbook(build, stream, DAY)
    page = load_workbook(stream, data_only=True)["Cost sheet"]
    return {row[0]: row[1] for row in page.iter_rows(values_only=True)}


def test_a_component_needed_and_without_any_price_is_named(build, entries, clients):
    entries.component("Slate", required_text="40 pieces")
    entries.price(entries.component("Lath", required_text="10 pieces"), 2, on=DAY)
    sheet = get_cost_sheet(build, DAY)
    assert as_data(sheet)["forecast"]["left_out"] == ["Slate"]
    wanted = "Still needed but without any price, left out of the forecast: Slate."
    assert wanted in "\n".join(sheet_lines(sheet))
    assert cost_sheet_of(build)[LABEL] == 1
    page = clients["owner"].get(reverse("cost_sheet", args=[build.pk])).content.decode()
    assert "still needed but without any price" in page


def test_where_all_have_a_price_nothing_is_said(build, entries):
    entries.price(entries.component("Lath", required_text="10 pieces"), 2, on=DAY)
    sheet = get_cost_sheet(build, DAY)
    assert set(as_data(sheet)["forecast"]) == {"low", "high"}
    assert "without any price" not in "\n".join(sheet_lines(sheet))
    assert cost_sheet_of(build)[LABEL] == 0


def test_what_was_bought_new_is_its_own_new_price_until_one_is_noted(build, entries, clients):
    """Ten at 3.00 with 5 % tax: 31.50 landed, so 3.15 for one; nothing is saved on them."""
    screw = entries.component("Screw box", required_text="12 pieces")
    tax = [{"kind": "sales tax", "percent": D(5), "percent_on": "price"}]
    bought = line(screw, "10 pieces", unit_price=D(3), source="retail")
    entries.purchase("P1", bought, charges=tax)
    entries.purchase("P2", line(screw, "2 pieces", line_price_amount=D(1), source="salvage"))
    sheet = get_cost_sheet(build, DAY)
    data = as_data(sheet)
    # Twelve at 3.15 new, beside 31.50 and 1.00.
    assert data["retail_equivalent"] == "37.80"
    assert data["savings"] == "5.30"
    assert data["unpriced"]["components"] == 0
    shown = cost_sheet_of(build)
    assert (shown["Retail equivalent"], shown["Savings"]) == (37.8, 5.3)
    wanted = "Without a new price, counted at what you paid for it new: Screw box."
    assert wanted in "\n".join(sheet_lines(sheet))
    page = clients["owner"].get(reverse("cost_sheet", args=[build.pk])).content.decode()
    assert "counted at what you paid for it new" in page
    # One that is noted stands before it; tax comes on top (the build's 8 %).
    entries.price(screw, 4, on=DAY)
    sheet = get_cost_sheet(build, DAY)
    assert sheet.total.retail_equivalent == 12 * 4 * (1 + sheet.build.retail_tax_share)
    assert not sheet.priced_as_bought


def test_what_stands_beside_new_on_an_area_is_of_the_same_components(build, entries, clients):
    """200 sq ft: 12.00 of laths worth 40 x 1.08 new, and 60.00 of slate without a new price."""
    lath = entries.component("Lath")
    entries.price(lath, 4, on=DAY)
    entries.purchase("P1", line(lath, "10 pieces", line_price_amount=D(12)))
    entries.purchase("P2", line(entries.component("Slate"), "5 pieces", line_price_amount=D(60)))
    sheet = get_cost_sheet(build, DAY)
    row = next(row for row in sheet.areas if row.area.area)
    assert row.area.area == 200
    assert (row.cost, row.compared_cost) == (72 / F(200), 12 / F(200))
    assert row.retail_equivalent == 40 * (1 + sheet.build.retail_tax_share) / 200
    page = clients["owner"].get(reverse("cost_sheet", args=[build.pk])).content.decode()
    assert 'data-label="Cost of the same">$0.06 per sq ft' in re.sub(r"<(?!td)[^>]+>", "", page)


def test_a_line_bought_new_without_a_price_tells_no_new_price(build, entries):
    screw = entries.component("Screw box")
    entries.purchase("P1", line(screw, "10 pieces", unit_price=D(3), source="retail"))
    entries.purchase("P2", line(screw, "10 pieces", source="retail"))
    sheet = get_cost_sheet(build, DAY)
    assert sheet.total.retail_equivalent is None
    assert [row.position.component.name for row in sheet.unpriced] == ["Screw box"]


def rows_of(build) -> tuple[dict[str, object], list[tuple]]:
    """The workbook's cost sheet: figures by label, and its rows by component."""
    stream = io.BytesIO()
    write_workbook(build, stream, DAY)
    rows = list(load_workbook(stream, data_only=True)["Cost sheet"].iter_rows(values_only=True))
    at = next(n for n, row in enumerate(rows) if row[0] == "By component")
    assert rows[at][7] == "Known part of the cost"
    *components, total = rows[at + 1 :]
    assert total[0] == "Total"
    return {row[0]: row[1] for row in rows[:at]}, components


def test_each_known_charge_is_on_a_row(build, entries, clients):
    """Ten slates without a price, fetched for 30.00, and laths for 12.00."""
    slate, lath = entries.component("Slate"), entries.component("Lath")
    haulage = [{"kind": "haulage", "amount": D(30)}]
    entries.purchase("P1", line(slate, "10 pieces"), charges=haulage)
    entries.purchase("P2", line(lath, "4 pieces", unit_price=D(3)))
    figures, rows = rows_of(build)
    assert [(row[0], row[1], row[7]) for row in rows] == [
        ("Lath", 12, 12),
        ("Slate", "not known", 30),
    ]
    assert figures["Material cost"] == 42
    page = clients["owner"].get(reverse("cost_sheet", args=[build.pk])).content.decode()
    assert "not known ($30.00 of it is)" in " ".join(re.sub(r"<[^>]*>", "", page).split())


@pytest.mark.parametrize(
    "seeds", [range(6), pytest.param(range(6, 10 + 9 * TIMES), marks=pytest.mark.slow)]
)
def test_the_rows_of_components_sum_to_the_material_cost(seeds, cast):
    """In made-up builds, with lines and moves whose price nobody knows."""
    unknown = 0
    for seed in seeds:
        made = bring_in(varied_sheets(seed), name=f"Build {seed}")
        sheet = get_cost_sheet(made, DAY)
        assert sum(row.position.known_money for row in sheet.components) == sheet.total.cost
        figures, rows = rows_of(made)
        places = sheet.build.places
        parts = [D(str(row[7])).quantize(D(1).scaleb(-places)) for row in rows]
        # Each row is rounded by itself, by half of the smallest coin at most.
        most = len(parts) * D("0.5").scaleb(-places)
        assert abs(sum(parts) - D(str(figures["Material cost"]))) <= most
        unknown += sum(row[1] == "not known" and bool(row[7]) for row in rows)
    assert unknown
