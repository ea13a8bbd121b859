"""The audit of pinned packages: a fault fails, silence is told and is no all-clear."""

import json
from subprocess import CompletedProcess

import pytest

from tests.audit import PINNED, main, read

SOUND = {"name": "alpha", "version": "1.0", "vulns": []}
FAULTY = {
    "name": "beta",
    "version": "2.1",
    "vulns": [{"id": "GHSA-0000", "fix_versions": ["2.2"], "aliases": [], "description": "x"}],
}
UNKNOWN = {"name": "gamma", "skip_reason": "Dependency not found and could not be audited"}


def answer(*packages: dict) -> str:
    return json.dumps({"dependencies": packages, "fixes": []})


def audit(**by_service: str) -> tuple[int, str]:
    lines: list[str] = []
    code = main(
        run=lambda service: CompletedProcess([], 0, by_service.get(service, ""), ""),
        write=lines.append,
    )
    return code, "".join(lines)


def test_no_known_fault():
    assert audit(pypi=answer(SOUND, SOUND)) == (
        0,
        "Audit: 2 pinned packages, no known fault (pypi).\n",
    )


@pytest.mark.parametrize("service", ["pypi", "osv"])
def test_a_fault_fails_and_says_where_it_is_mended(service):
    code, result = audit(**{service: answer(SOUND, FAULTY, UNKNOWN)})
    assert code == 1
    assert "beta 2.1: GHSA-0000, mended in 2.2" in result


def test_no_service_is_no_fault_and_no_all_clear():
    code, result = audit()
    assert code == 0
    assert "cannot be reached" in result
    assert "NOT DONE" in result
    assert "no known fault" not in result


def test_a_service_that_knows_no_package_gives_no_all_clear():
    """A registry that has only some pages answers so, and the tool itself calls that fine."""
    code, text = audit(pypi=answer(UNKNOWN, UNKNOWN), osv="<html>")
    assert (code, "no known fault" in text, "NOT DONE" in text) == (0, False, True)


def test_the_other_service_is_asked_for_what_one_does_not_know():
    code, result = audit(pypi=answer(SOUND, UNKNOWN), osv=answer(SOUND, SOUND))
    assert code == 0
    assert result.endswith("Audit: 2 pinned packages, no known fault (osv).\n")


@pytest.mark.parametrize("text", ["", "null", "[]", "{}", "Traceback (most recent call last)"])
def test_what_is_no_answer(text):
    assert read(text) is None


def test_every_pinned_package_is_pinned_to_one_version():
    lines = [line for line in PINNED.read_text().splitlines() if line and not line.startswith("#")]
    assert lines
    assert all("==" in line for line in lines)
