"""What a figure leaves out is named alike on the page, in JSON, in text and in the workbook."""

import io
from datetime import date

from django.urls import reverse
from openpyxl import load_workbook

from materials.exchange.cost_json import as_data
from materials.exchange.cost_text import sheet_lines
from materials.exchange.writer import write_workbook
from materials.queries.reports import get_cost_sheet
from tests.world import once

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
    wanted = "Still needed but without any price, out of the forecast: Slate."
    assert wanted in "\n".join(sheet_lines(sheet))
    assert cost_sheet_of(build)[LABEL] == 1
    page = clients["owner"].get(reverse("cost_sheet", args=[build.pk])).content.decode()
    assert "still needed but with no price at all" in page


def test_where_all_have_a_price_nothing_is_said(build, entries):
    entries.price(entries.component("Lath", required_text="10 pieces"), 2, on=DAY)
    sheet = get_cost_sheet(build, DAY)
    assert set(as_data(sheet)["forecast"]) == {"low", "high"}
    assert "without any price" not in "\n".join(sheet_lines(sheet))
    assert cost_sheet_of(build)[LABEL] == 0
