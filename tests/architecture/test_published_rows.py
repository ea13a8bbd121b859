"""Every published requirement on files, links, sessions and access has a test that names it.

F01 to F14: CSV, limits of sheets, and WCAG 2.2. Numbers of three parts: OWASP ASVS 5.0.0.
"""

import re
from pathlib import Path

import pytest

TESTS = Path(__file__).parent.parent
REQUIREMENTS = (
    "F01 F02 F03 F04 F05 F06 F07 F08 F09 F10 F12 F13 F14".split()
    + (
        "1.2.10 2.3.3 2.3.4 5.2.1 5.2.2 5.2.3 5.2.6 5.3.1 5.3.2 5.4.1 5.4.2"
        " 7.2.3 7.2.4 7.4.1 7.4.2 7.4.4 8.2.1 8.2.2 8.2.3 8.3.1 8.4.1 14.3.3"
    ).split()
)


def told_in_tests() -> str:
    """Docstrings and comments of all modules that hold tests, but for this one."""
    modules = [path for path in TESTS.rglob("test_*.py") if path != Path(__file__)]
    texts = [path.read_text(encoding="utf-8") for path in modules]
    return "\n".join(
        part for text in texts for part in re.findall(r'""".*?"""|#[^\n]*', text, re.DOTALL)
    )


TOLD = told_in_tests()


@pytest.mark.parametrize("number", REQUIREMENTS)
def test_a_test_names_it(number):
    assert re.search(rf"(?<![\d.]){re.escape(number)}(?![\d.]*\d)", TOLD), number
