"""The lock: what requirements.txt pins to run in use, with hashes, and nothing of the checks."""

import re

from packaging.utils import canonicalize_name

from tests.lock import CHECKS, LOCK, PINNED, runtime

HASH = re.compile(r"--hash=sha256:[0-9a-f]{64}\b")


def pins(text: str) -> dict[str, str]:
    """Version by name, as requirements.txt has them."""
    found = re.findall(r"^([\w.-]+)(?:\[\w+\])?==([\w.]+)", text, re.MULTILINE)
    return {canonicalize_name(name): version for name, version in found}


def test_what_runs_is_locked_at_the_version_that_is_pinned():
    asked, locked = pins(runtime()), pins(LOCK.read_text(encoding="utf-8"))
    assert "django" in asked
    assert {name: locked.get(name) for name in asked} == asked


def test_nothing_of_the_checks_is_locked():
    checks = pins(PINNED.read_text(encoding="utf-8").partition(CHECKS)[2])
    assert "pytest" in checks
    assert not checks.keys() & pins(LOCK.read_text(encoding="utf-8")).keys()


def test_each_is_locked_by_hashes_and_no_index_is_named():
    text = LOCK.read_text(encoding="utf-8")
    entries = re.split(r"^(?=\w)", text, flags=re.MULTILINE)[1:]
    assert len(entries) == len(pins(text))
    for entry in entries:
        assert HASH.search(entry), entry
    assert not re.search(r"index|find-links|://", text)
