"""Names and headings of one very wide word keep the page as narrow as a phone."""

import pytest
from django.urls import reverse

from tests.imports.steps import as_text, choose, upload

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


def test_pages_with_wide_words_fit_320_px(wide, open_page, enter, build, cast):
    page = open_page(NARROW)
    enter(page, cast["owner"])
    places = [(name, ()) for name in ("settling_up", "hand_overs", "shares_edit", "members")]
    places += [(name, ()) for name in ("share_links", "suppliers", "history", "imports")]
    places += [(name, (wide.pk,)) for name in ("import_table", "import_columns", "import_drop")]
    found = {}
    for name, keys in places:
        answer = page.goto(reverse(name, args=[build.pk, *keys]))
        assert answer.status == 200, name
        found[name] = page.evaluate("document.documentElement.scrollWidth")
    assert {name: width for name, width in found.items() if width > NARROW["width"]} == {}
