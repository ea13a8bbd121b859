"""Every published value and requirement that is claimed stands in a test that asserts something.

Letters with a number are rows of published values: units, lumber, masonry, cost accounting, life
cycle, earned value, taxes, weights, geometry, cutting, escalation, settling, files. Numbers of
three parts: OWASP ASVS 5.0.0.
"""

import ast
import io
import re
import tokenize
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
NUMBERS = {
    "A": "01 02 03 04 05 06 07 08 09 11 21 23",
    "B": "01 02 03 04 06 07 08 10 11 12 13",
    "C": "01 02 04 05 06 07 08 09 10 11 13",
    "E": "01 02 03 04",
    "F": "01 02 03 04 05 06 07 08 09 10 12 13 14",
    "G": "01 02 03 04 06 07 08 10 11 12 13 15 16 17 18 19 30 31 32 33 34 35 36 37 40 41 42 43 44"
    " 45 46 47 48 49",
    "J": "01 02 04 05 06 07 08 11 13 14 15",
    "K": "01 02 05 06 07 08 09",
    "L": "01 02 03 04 05 06",
    "M": "01 03 04 05 06 07 08 10 11 12 15 16 17",
    "R": "01 02 03 04",
    "S": "01 02 04 05 07",
    "T": "01 02",
    "U": "01 02 04 05 06 07 08 09 10 11 12 13 14 15 16 17 18 19 20 21 22 23 25 26",
    "V": "01 03 04 05 06 10 11 12 13 14 15",
    "W": "01 02 03 04 06 07 08 09",
    "X": "01 04 05 06 07 08 09 10",
}
ROWS = [letter + number for letter, numbers in NUMBERS.items() for number in numbers.split()] + (
    "1.2.10 2.3.3 2.3.4 5.2.1 5.2.2 5.2.3 5.2.6 5.3.1 5.3.2 5.4.1 5.4.2"
    " 7.2.3 7.2.4 7.4.1 7.4.2 7.4.4 8.2.1 8.2.2 8.2.3 8.3.1 8.4.1 14.3.3"
).split()


def said_by_tests(source: str) -> str:
    """Names, docstrings, comments and parameters of those tests of a module that assert."""
    tree = ast.parse(source)
    comments = {
        token.start[0]: token.string
        for token in tokenize.generate_tokens(io.StringIO(source).readline)
        if token.type == tokenize.COMMENT
    }
    tables = {
        name.id: node
        for node in tree.body
        if isinstance(node, ast.Assign | ast.AnnAssign)
        for target in getattr(node, "targets", None) or [node.target]
        for name in ast.walk(target)
        if isinstance(name, ast.Name)
    }
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    helpers: set[str] = set()
    while more := {each.name for each in functions if asserts(each, helpers)} - helpers:
        helpers |= more
    lines: list[str] = []
    for test in functions:
        if test.name.startswith("test_") and asserts(test, helpers):
            lines += [test.name.upper().replace("_", " "), ast.get_docstring(test) or ""]
            lines += comments_of(test, comments)
            used = {node.id for node in ast.walk(test) if isinstance(node, ast.Name)}
            for table in [tables[name] for name in used & tables.keys()]:
                lines += [*texts_in(table), *comments_of(table, comments)]
            for decorator in test.decorator_list:
                lines += texts_in(decorator)
    return "\n".join(lines)


def asserts(function: ast.FunctionDef, helpers: set[str]) -> bool:
    """Whether it holds an assertion, or calls a function of its module that does."""
    return any(
        isinstance(node, ast.Assert)
        or (isinstance(node, ast.Call) and ast.unparse(node.func) in {*helpers, "pytest.raises"})
        for node in ast.walk(function)
    )


def texts_in(node: ast.AST) -> Iterator[str]:
    for each in ast.walk(node):
        if isinstance(each, ast.Constant) and isinstance(each.value, str):
            yield each.value


def comments_of(node: ast.stmt, comments: dict[int, str]) -> list[str]:
    """The comments inside a statement, and those on the lines right above it."""
    first = min([node.lineno, *(each.lineno for each in getattr(node, "decorator_list", []))])
    while first - 1 in comments:
        first -= 1
    return [text for line, text in comments.items() if first <= line <= (node.end_lineno or 0)]


def is_named(row: str, result: str) -> bool:
    return bool(re.search(rf"(?<![\w.]){re.escape(row)}(?![\d.]*\d|\w)", result))


@cache
def asserted_in_tests() -> str:
    paths = [path for path in TESTS.rglob("test_*.py") if path != Path(__file__)]
    return "\n".join(said_by_tests(path.read_text(encoding="utf-8")) for path in paths)


@pytest.mark.parametrize("row", ROWS)
def test_a_test_that_asserts_names_it(row):
    assert is_named(row, asserted_in_tests())


@pytest.mark.parametrize(
    "source",
    [
        "def test_it():\n    '''Z01.'''\n    assert 1 + 1 == 2",
        "# Z01: one and one.\n@mark\ndef test_it():\n    assert 1 + 1 == 2",
        "def test_z01_one_and_one():\n    assert 1 + 1 == 2",
        "def test_it():\n    with pytest.raises(KeyError):\n        {}[1]  # Z01",
        "@parametrize('row', ['Z01'])\ndef test_it(row):\n    assert row",
        "ROWS = [('Z01', 2)]\n@parametrize('row', ROWS)\ndef test_it(row):\n    assert row",
        "def is_so():\n    assert 1\ndef test_it():\n    '''Z01.'''\n    is_so()",
    ],
)
def test_an_assertion_that_names_a_row_is_found(source):
    assert is_named("Z01", said_by_tests(source))


@pytest.mark.parametrize(
    "source",
    [
        "'''Z01.'''\ndef test_it():\n    assert 1 + 1 == 2",
        "# Z01: one and one.\n\ndef test_it():\n    assert 1 + 1 == 2",
        "def test_it():\n    '''Z01.'''\n    1 + 1  # Z01",
        "ROWS = ['Z01']\ndef test_it():\n    assert 1 + 1 == 2",
        "def is_so():\n    '''Z01.'''\n    assert 1 + 1 == 2",
        "def test_it():\n    '''Z011 and 1.Z01.'''\n    assert 1 + 1 == 2",
    ],
)
def test_a_bare_comment_is_no_test(source):
    assert not is_named("Z01", said_by_tests(source))
