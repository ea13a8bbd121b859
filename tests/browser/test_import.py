"""A table imported by a browser: with scripts it goes on by itself, without by a button."""

import pytest

from materials.models import ImportJob, PurchaseLine
from materials.queries.checks import find_differences
from materials.views import import_rows

from .conftest import DESKTOP, PHONE

pytestmark = pytest.mark.django_db(transaction=True)

ROWS = 1200
TABLE = "Date,Where from,What,How many,Price each\n" + "".join(
    f"2026-03-{n % 28 + 1:02},Yard {n % 7},Board {n % 20},{n + 1} ft,0.50\n" for n in range(ROWS)
)


def press(page, label: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=label).locator("visible=true").first.click()


@pytest.mark.parametrize(
    ("size", "scripts"), [(PHONE, False), pytest.param(DESKTOP, True, marks=pytest.mark.slow)]
)
def test_a_table_is_brought_in(size, scripts, walk, monkeypatch):
    # A chunk for each request, so that there is progress to be seen.
    monkeypatch.setattr(import_rows, "STEP_SECONDS", 0)
    steps = walk(size, java_script_enabled=scripts)
    page, build = steps.page, steps.build
    before = PurchaseLine.objects.filter(purchase__build=build).count()
    page.goto(f"/builds/{build.pk}/import/")
    file = {"name": "march.csv", "mimeType": "text/csv", "buffer": TABLE.encode()}
    page.set_input_files("[name=table]", file)
    press(page, "Preview")
    press(page, "Match columns")
    page.get_by_label("Source if a row has none").select_option("salvage")
    press(page, "Check rows")
    press(page, f"Import {ROWS:,} rows")
    assert page.get_by_role("progressbar").is_visible()
    if scripts:
        page.get_by_role("heading", name=f"{ROWS:,} rows imported").wait_for()
    else:
        for _ in range(6):
            if page.get_by_role("progressbar").count():
                press(page, "Go on")
        assert page.get_by_role("heading", name=f"{ROWS:,} rows imported").is_visible()
    assert PurchaseLine.objects.filter(purchase__build=build).count() == before + ROWS
    assert ImportJob.objects.latest("pk").done_count == ROWS
    assert list(find_differences(build)) == []
    press(page, "Undo import")
    assert PurchaseLine.objects.filter(purchase__build=build).count() == before
