"""Templates: no number written raw, nothing inline, nothing from another host."""

import re
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent.parent
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
STYLES = sorted((ROOT / "static").rglob("*.css"))

# Names that hold a number somewhere in the contexts of this app.
NUMBERS = (
    r"(amount|cost|price|qty|quantity|hours|percent|rate|budget|spent|committed|remaining|"
    r"contingency|savings|total|landed|average|usable|received|planned|low|high|share|"
    r"balance|paid_out|number_of|count|counter0?|num_pages|length|area|in_building|still_needed)"
)
FIGURE_FILTERS = {"percent", "hours", "count", "pluralize", "date", "yesno", "length_is"}
# Texts that merely sound like numbers, each looked at: they are typed or formatted texts.
TEXTS = {
    "purchase.number",
    "amount",
    "row.share.person.name",
    "row.line.quantity_text",
    "line_word",
}


def raw_numbers(source: str) -> list[str]:
    """Variables that look like numbers and pass no filter that writes them."""
    faults = []
    for inner in re.findall(r"\{\{\s*(.*?)\s*\}\}", source):
        name, *filters = [piece.strip() for piece in inner.split("|")]
        used = {f.split(":")[0] for f in filters}
        last = name.rsplit(".", 1)[-1]
        if name in TEXTS or used & FIGURE_FILTERS:
            continue
        if re.fullmatch(NUMBERS, last):
            faults.append(inner)
    return faults


# Widgets write what was typed, as it was typed.
OWN = [path for path in TEMPLATES if "django/forms" not in path.as_posix()]


@pytest.mark.parametrize("path", OWN, ids=lambda p: str(p.relative_to(ROOT)))
def test_no_number_is_written_raw(path):
    assert raw_numbers(path.read_text()) == []


def test_a_raw_number_would_be_seen():
    assert raw_numbers("{{ row.cost }}") == ["row.cost"]
    assert raw_numbers("{{ sheet.hours.total }}") == ["sheet.hours.total"]
    assert raw_numbers("{{ rows|length }}") == []
    assert raw_numbers("{{ row.hours|hours }}") == []


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda p: str(p.relative_to(ROOT)))
def test_nothing_inline_and_no_other_host(path):
    source = path.read_text()
    assert not re.search(r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+=", source)
    assert not re.search(r"(src|href)=\"(https?:)?//", source)
    assert "|safe" not in source
    assert "autoescape off" not in source


@pytest.mark.parametrize("path", STYLES, ids=lambda p: str(p.relative_to(ROOT)))
def test_styles_fetch_nothing(path):
    source = path.read_text()
    assert "http" not in source.replace("http://www.w3.org/2000/svg", "")
    assert "@import" not in source
