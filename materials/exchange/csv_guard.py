"""Texts in CSV files that no spreadsheet program may take for a formula.

A text that begins like a formula gets an apostrophe in front (OWASP ASVS 5.0.0 requirement
1.2.10: = + - @ tab and NUL), and so does one that begins with apostrophes before such a sign,
so that taking one away when the file is read gives the text back.
"""

import re

# Full-width signs are taken for formulas too where such signs are typed.
_FORMULA = re.compile("'*[=+\\-@\t\r\n\0＝＋－＠]")


def guarded(text: str) -> str:
    """A text as it is written."""
    return f"'{text}" if _FORMULA.match(text) else text


def unguarded(text: str) -> str:
    """The text that ``guarded`` was given."""
    return text[1:] if text.startswith("'") and _FORMULA.match(text[1:]) else text
