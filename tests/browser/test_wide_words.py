"""Names and headings of one very wide word keep the page as narrow as a phone."""

import pytest
from django.urls import reverse

from tests.imports.steps import answer, as_text, choose, upload

NARROW = {"width": 320, "height": 640}

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def wide(entries, settings, tmp_path):
    """People, a link, an import and a supplier with names as long as names can be."""
    settings.MEDIA_ROOT = tmp_path
    entries.hand_over("G" * 80, "R" * 80, "1.50")
    entries.share_link("L" * 80)
    entries.supplier("S" * 120)
    rows = [
        ["Date", "H" * 300, "What", "How many", "Cost"],
        ["2026-03-07", "x" * 300, "Q" * 120, "14 pieces", "84"],
        ["soon", "x" * 50, "Q" * 119, "some", "dear"],
    ]
    return choose(entries, upload(entries, as_text(rows), "N" * 90 + ".csv"))


def widths(page, build, places) -> dict[str, int]:
    """Width of each page, by the name of its address; those that are too wide."""
    found = {}
    for name, keys in places:
        result = page.goto(reverse(name, args=[build.pk, *keys]))
        assert result.status == 200, name
        assert page.url.endswith(result.request.url), "not sent elsewhere"
        found[name] = page.evaluate("document.documentElement.scrollWidth")
    return {name: width for name, width in found.items() if width > NARROW["width"]}


def test_pages_with_wide_words_fit_320_px(wide, open_page, enter, build, cast):
    page = open_page(NARROW)
    enter(page, cast["owner"])
    places = [(name, ()) for name in ("settling_up", "hand_overs", "shares_edit", "members")]
    places += [(name, ()) for name in ("share_links", "suppliers", "history", "imports")]
    places += [(name, (wide.pk,)) for name in ("import_table", "import_columns", "import_drop")]
    assert widths(page, build, places) == {}


def test_rows_with_wide_words_fit_320_px(wide, entries, open_page, enter, build, cast):
    columns = {"What": "item", "How many": "quantity", "Cost": "total"}
    job = answer(entries, wide, columns, source="salvage")
    page = open_page(NARROW)
    enter(page, cast["owner"])
    steps = [(name, (job.pk,)) for name in ("import_rows", "import_names", "import_run")]
    steps += [("import_row", (job.pk, number)) for number in (2, 3)]
    assert widths(page, build, steps) == {}
