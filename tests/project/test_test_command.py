"""The README's test command: installs what is missing, or says what to type and leaves it out."""

import subprocess
import sys

import pytest

from tests import __main__ as command
from tests.__main__ import ROOT, Need, main, prepare


@pytest.fixture
def have() -> set[str]:
    """Packages that are there."""
    return {"one"}


@pytest.fixture
def needs(have) -> tuple[Need, ...]:
    marks = {"one": "browser", "two": "office", "three": "browser"}
    return tuple(Need(name, lambda name=name: name in have, mark) for name, mark in marks.items())


def test_what_is_missing_is_installed_where_it_may_be(needs, have, capsys):
    assert prepare(needs, have.update) == []
    assert have == {"one", "two", "three"}
    assert "Type this" not in capsys.readouterr().err


def test_what_another_package_brings_is_asked_for_where_the_first_is_not_known(needs, have):
    """A name that is not known keeps all that are asked for with it from being installed."""
    last = Need("two", lambda: have & {"two", "other"}, "office", instead="other")
    asked = []

    def fetch(wanted):
        asked.append(wanted)
        if "two" not in wanted:
            have.update(wanted)

    assert prepare((needs[0], last, needs[2]), fetch) == []
    assert asked == [["two", "three"], ["other", "three"]]


def test_else_one_line_is_said_to_type(needs, capsys):
    assert [need.package for need in prepare(needs, lambda wanted: None)] == ["two", "three"]
    result = capsys.readouterr().err
    assert "  sudo apt-get install -y --no-install-recommends two three\n" in result


@pytest.mark.parametrize(("left", "code", "expected"), [((), 0, 0), ((), 5, 5), ((1, 2), 0, 1)])
def test_without_it_the_rest_runs_and_it_ends_badly(left, code, expected, needs, monkeypatch):
    ran = []

    def run(words, **_):
        ran.append(words)
        return subprocess.CompletedProcess(words, code)

    monkeypatch.setattr(command, "prepare", lambda: [needs[at] for at in left])
    monkeypatch.setattr(subprocess, "run", run)
    assert main(["tests/calc", "-m", "slow"]) == expected
    (words,) = ran
    assert [word for word in words if word.startswith("--without")] == (
        ["--without=browser", "--without=office"] if left else []
    )
    assert words[-3:] == ["tests/calc", "-m", "slow"]


def test_a_mark_that_is_left_out_is_not_run():
    """Also where the mark follows from a fixture; what is slow is not run either."""
    options = ["--without=browser", "--without=office", "tests/browser", "tests/exchange"]
    printed = subprocess.run(
        [sys.executable, "-m", "pytest", "--collect-only", "-q", *options],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    assert "by_the_python_engine[0]" in printed
    for part in ("test_no_violation", "by_libreoffice", "by_the_python_engine[1]"):
        assert part not in printed
