"""Templates: no number written raw, nothing inline, nothing from another host."""

import re
from collections.abc import Iterable
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent.parent
TEMPLATES = sorted((ROOT / "templates").rglob("*.html"))
STYLES = sorted((ROOT / "static").rglob("*.css"))

# Names that hold a number somewhere in the contexts of this app.
NUMBERS = (
    r"(amount|cost|price|qty|quantity|hours|percent|rate|budget|spent|committed|remaining|"
    r"contingency|savings|total|landed|average|usable|received|planned|low|high|share|"
    r"balance|paid_out|number_of|count|counter0?|num_pages|length|area|in_building|still_needed)"
)
FIGURE_FILTERS = {
    "percent",
    "stated_percent",
    "hours",
    "count",
    "pluralize",
    "date",
    "yesno",
    "length_is",
}
# Texts that merely sound like numbers, each looked at: they are typed or formatted texts.
TEXTS = {
    "purchase.number",
    "amount",
    "row.share.person.name",
    "row.line.quantity_text",
}


VARIABLE = re.compile(r"\{\{\s*(.*?)\s*\}\}")


def raw_numbers(source: str) -> list[str]:
    """Variables that look like numbers and pass no filter that writes them."""
    faults = []
    for inner in VARIABLE.findall(source):
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
INLINE = re.compile(
    r"<style|\sstyle=|<script(?![^>]*\ssrc=)|\son[a-z]+="  # nothing inline
    r"|(?:src|href)=\"(?:https?:)?//"  # nothing from another host
    r"|\|safe|autoescape off"
)
FETCHED = re.compile(r"http(?!://www\.w3\.org/2000/svg)|@import")


def faults(pattern: re.Pattern[str], paths: Iterable[Path], is_fault=bool) -> list[str]:
    """Every fault of some files, as ``file:line: what``."""
    return [
        f"{path.relative_to(ROOT)}:{source.count(chr(10), 0, found.start()) + 1}: {found.group()}"
        for path in paths
        for source in [path.read_text(encoding="utf-8")]
        for found in pattern.finditer(source)
        if is_fault(found.group())
    ]


def test_no_number_is_written_raw():
    assert faults(VARIABLE, OWN, raw_numbers) == []


def test_a_raw_number_would_be_seen():
    assert raw_numbers("{{ row.cost }}") == ["row.cost"]
    assert raw_numbers("{{ sheet.hours.total }}") == ["sheet.hours.total"]
    assert raw_numbers("{{ rows|length }}") == []
    assert raw_numbers("{{ row.hours|hours }}") == []


def test_nothing_inline_and_no_other_host():
    assert faults(INLINE, TEMPLATES) == []


def test_what_is_inline_or_from_elsewhere_would_be_seen():
    for text in (
        "<style>",
        '<p style="x">',
        "<script>",
        '<p onclick="x">',
        '<img src="//a.example/x">',
        '<a href="https://a.example/">',
        "{{ x|safe }}",
        "{% autoescape off %}",
    ):
        assert INLINE.findall(text), text
    assert not INLINE.findall('<script defer src="/static/x.js"></script><a href="/builds/">')


def test_styles_fetch_nothing():
    assert faults(FETCHED, STYLES) == []


def test_what_a_style_fetches_would_be_seen():
    assert FETCHED.findall('@import "x.css";')
    assert FETCHED.findall("background: url(http://a.example/x.png)")
    assert not FETCHED.findall("xmlns='http://www.w3.org/2000/svg'")


def test_every_pattern_that_a_style_fills_with_is_drawn():
    """A missing one is drawn as nothing at all: two kinds would look alike."""
    drawn = set(
        re.findall(r'id="([^"]+)"', (ROOT / "templates/pictures/_patterns.html").read_text())
    )
    asked = {
        found for path in STYLES for found in re.findall(r'url\("?#([^")]+)"?\)', path.read_text())
    }
    assert asked == drawn
