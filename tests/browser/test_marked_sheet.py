"""A workbook with marks taken through a browser, and given back: with scripts and without."""

import io
from datetime import date

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from openpyxl import load_workbook

from materials.models import ImportJob
from tests.imports.marked_sheets import HEAD, marked_xlsx, struck_row

from .conftest import DESKTOP, PHONE
from .test_axe import ALL, UNFOLD, violations
from .test_import import press

pytestmark = pytest.mark.django_db(transaction=True)

DAY = date(2026, 5, 2)
BOOK = marked_xlsx(
    [
        HEAD,
        [DAY, "Hill farm", "Roof sheet", 10, 35, "bent"],
        [DAY, "Hill farm", "Broken door", 1, 20, None],
        [DAY, "Quarry", "Gravel", 3, 90, None],
        [DAY, "Quarry", "Sand", 2, 44, None],
        ["soon", "Mill", "Lime", 2, 24, None],
    ],
    formats={"D2": '0" pieces"', "D3": '0" piece"', "D4": '0" yards"', "D5": '0" yards"',
             "D6": '0" bags"', "E": "#,##0.00\\ [$€-407]"},
    struck=struck_row(3),
    hidden=(5,),
    comments={"C2": "Ida: four are bent"},
    links={"E6": "https://example.org/lime"},
)  # fmt: skip


def has_no_barrier(page) -> None:
    """The page as axe-core sees it, where scripts run; nothing is wider than the screen."""
    wide = "document.documentElement.scrollWidth - document.documentElement.clientWidth"
    assert page.evaluate(wide) <= 0
    page.evaluate(AXE_SCRIPT)
    page.evaluate(UNFOLD)
    assert violations(page, ALL) == []


@pytest.mark.parametrize(
    ("size", "scripts"),
    [
        (PHONE, True),
        pytest.param(PHONE, False, marks=pytest.mark.slow),
        pytest.param(DESKTOP, True, marks=pytest.mark.slow),
    ],
)
def test_marks_are_asked_about_and_the_workbook_comes_back(size, scripts, walk):
    steps = walk(size, java_script_enabled=scripts)
    page, build = steps.page, steps.build
    page.goto(f"/builds/{build.pk}/import/")
    file = {"name": "Our barn.xlsx", "mimeType": "application/zip", "buffer": BOOK}
    page.set_input_files("[name=table]", file)
    press(page, "Preview")
    press(page, "Match columns")
    page.get_by_label("Source if a row has none").select_option("salvage")
    press(page, "Check rows")
    assert page.get_by_text("Choose the currency of these amounts.").first.is_visible()
    if scripts:
        has_no_barrier(page)
    page.get_by_label("USD, with another sign").check()
    page.get_by_label("Take in 1 row hidden: row 5").check()
    press(page, "Check rows")
    assert page.get_by_text("Left out: 1 row struck out in the sheet, row 3.").is_visible()
    if scripts:
        has_no_barrier(page)
    press(page, "3 cu yd")
    page.get_by_role("link", name="All rows: 5").click()
    press(page, "Import 3 rows")
    page.get_by_role("heading", name="3 rows imported").wait_for()
    with page.expect_download() as got:
        page.get_by_role("link", name="Download marked copy").click()
    assert got.value.suggested_filename == "Our barn marked.xlsx"
    with open(got.value.path(), "rb") as stream:
        sheet = load_workbook(io.BytesIO(stream.read())).active
    words = [cell.value for cell in sheet["G"]]
    assert words[0] == "What became of it"
    assert [text.partition(":")[0].split()[0] for text in words[1:]] == [
        "Purchase", "Left", "Purchase", "Purchase", "Date",
    ]  # fmt: skip
    assert ImportJob.objects.latest("pk").done_count == 3
