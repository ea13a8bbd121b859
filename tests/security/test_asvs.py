"""The table of OWASP ASVS 5.0.0 beside this file: each requirement up to level 2 once, no more.

Which there are, and of which level, was read in the standard's own list of May 2025: repository
OWASP/ASVS at 5cf9b03, 5.0/docs_en, the CSV file. By section, one digit for each requirement.
"""

import ast
import re
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).resolve().parents[1]
LEVELS = {
    "1.1": "22", "1.2": "1111122223", "1.3": "112222222223", "1.4": "222", "1.5": "123",
    "2.1": "122", "2.2": "112", "2.3": "12223", "2.4": "23",
    "3.1": "3", "3.2": "113", "3.3": "12223", "3.4": "11222233", "3.5": "11122333", "3.6": "3",
    "3.7": "22333",
    "4.1": "12233", "4.2": "23333", "4.3": "22", "4.4": "1222",
    "5.1": "2", "5.2": "112333", "5.3": "113", "5.4": "222",
    "6.1": "122", "6.2": "111111112222", "6.3": "11223333", "6.4": "112233", "6.5": "22222333",
    "6.6": "2223", "6.7": "33", "6.8": "2222",
    "7.1": "222", "7.2": "1111", "7.3": "22", "7.4": "11222", "7.5": "223", "7.6": "22",
    "8.1": "1233", "8.2": "1123", "8.3": "133", "8.4": "23",
    "9.1": "111", "9.2": "1222",
    "10.1": "22", "10.2": "223", "10.3": "22223", "10.4": "1111122222233333", "10.5": "22222",
    "10.6": "22", "10.7": "222",
    "11.1": "2233", "11.2": "22233", "11.3": "11233", "11.4": "1222", "11.5": "23", "11.6": "23",
    "11.7": "33",
    "12.1": "12233", "12.2": "11", "12.3": "22223",
    "13.1": "2333", "13.2": "222223", "13.3": "2233", "13.4": "1222233",
    "14.1": "22", "14.2": "12223333", "14.3": "122",
    "15.1": "12233", "15.2": "12233", "15.3": "1222222", "15.4": "3333",
    "16.1": "2", "16.2": "22222", "16.3": "2222", "16.4": "222", "16.5": "2223",
    "17.1": "23", "17.2": "22223333", "17.3": "22",
}  # fmt: skip
MUST = {
    f"{section}.{place}"
    for section, levels in LEVELS.items()
    for place, level in enumerate(levels, 1)
    if level in "12"
}
ANSWERS = {"met", "not met", "does not apply"}
OTHERS = re.compile(r"F\d\d|1\.2\.10|5\.2\.6")


@cache
def rows() -> list[list[str]]:
    """Cells of every row: id, answer, how or why, tests."""
    text = (TESTS / "security" / "asvs.md").read_text(encoding="utf-8")
    lines = re.findall(r"^\| ((?:\d+\.\d+\.\d+|F\d\d) \|.*) \|$", text, re.MULTILINE)
    return [[cell.strip() for cell in line.split("|")] for line in lines]


@cache
def functions(name: str) -> set[str]:
    tree = ast.parse((TESTS / f"{name}.py").read_text(encoding="utf-8"))
    return {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)}


def test_every_requirement_up_to_level_two_stands_there_once():
    counts = "".join(LEVELS.values())
    # How many of each level: from memory of the standard's summary; the ids themselves were read.
    assert (counts.count("1"), counts.count("2"), counts.count("3")) == (70, 183, 92)
    found = [row[0] for row in rows()]
    assert len(found) == len(set(found))
    assert {name for name in found if not OTHERS.fullmatch(name)} == MUST


@pytest.mark.parametrize("row", rows(), ids=lambda row: row[0])
def test_every_row_has_an_answer_and_tests_that_there_are(row):
    _, answer, why, tests = row
    assert answer in ANSWERS
    named = [name.strip("` ") for name in tests.split(";") if name.strip()]
    if answer == "met":
        assert named, "by what test?"
    else:
        assert why, "why not?"
    for name in named:
        file, _, function = name.partition("::")
        assert function in functions(file), name
