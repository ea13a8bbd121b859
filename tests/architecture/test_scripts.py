"""Scripts: what comes from outside becomes neither markup, nor code, nor the name of a part."""

import re
from pathlib import Path

import pytest

FOLDER = Path(__file__).resolve().parents[2] / "static" / "js"
SCRIPTS = sorted(FOLDER.glob("*.js"))
# Parts of objects by a name that is worked out: each takes its names from a list beside it.
BY_LISTED_NAME = {("passkeys.js", "parts[name]"), ("worker.js", "headers[name]")}
_WRITTEN = re.compile(r"(?<!const )(?<!let )(?<![\w.,] )\b([\w.]+\[[a-zA-Z_][^\]]*\])\s*=(?![=>])")
_PROTOTYPE = re.compile(r"__proto__|\.prototype\b|constructor\[")
_MADE = re.compile(
    r"innerHTML|outerHTML|insertAdjacentHTML|document\.write|\beval\(|new Function\b|srcdoc"
)
_LISTENS = re.compile(r"""(\S*)addEventListener\(\s*["']message["']|(\S+)\.onmessage""")


def found(pattern: re.Pattern[str]) -> set[tuple[str, str]]:
    """What a pattern finds in which script."""
    texts = [(path.name, path.read_text(encoding="utf-8")) for path in SCRIPTS]
    return {
        (name, "".join(hit) if isinstance(hit, tuple) else hit)
        for name, text in texts
        for hit in pattern.findall(text)
    }


def test_no_name_from_outside_becomes_a_part_of_an_object():
    """ASVS 15.3.6: nothing can reach the prototype of all objects."""
    assert found(_WRITTEN) == BY_LISTED_NAME
    assert found(_PROTOTYPE) == set()


def test_no_text_becomes_markup_or_code():
    assert found(_MADE) == set()


def test_messages_are_taken_from_own_workers_alone():
    """ASVS 3.5.5: no page listens to other windows, and a worker is of this origin by itself."""
    assert found(_LISTENS) == {
        ("copies.js", "workers?."),
        ("worker.js", ""),
        ("yard.js", "port1"),
    }
    assert "workers = navigator.serviceWorker" in (FOLDER / "outbox.js").read_text()


@pytest.mark.parametrize(
    ("pattern", "text"),
    [
        (_WRITTEN, "held[key] = value;"),
        (_WRITTEN, "a.b[c.d] = 1"),
        (_PROTOTYPE, "x.__proto__ = y"),
        (_MADE, "part.innerHTML = text"),
        (_LISTENS, 'window.addEventListener("message", take)'),
        (_LISTENS, "self.onmessage = take"),
    ],
)
def test_what_is_not_allowed_would_be_seen(pattern, text):
    assert pattern.search(text)
