"""Every string of the app that a person can read, with where it stands.

Python: what is written between quotes and holds a space, f-strings with “x” for what is put in; and
docstrings of tables, which are their captions. Templates: text between tags, attributes that are
read, and texts given to a tag or a filter. Scripts, and the README without what is typed.
"""

import ast
import re
from collections.abc import Iterator
from dataclasses import dataclass
from html import unescape
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]

# Not for people: tables of the database, lists of words that are looked for, names of units.
NOT_READ = {
    "migrations", "phrases.py", "past.py", "conditions.py", "trade_words.py", "guess.py",
    "kinds.py", "measures.py", "money.py", "units.py", "uniformat.py", "price_text.py",
}  # fmt: skip
LISTS_OF_WORDS = ("calc/safety/words.py", "outside_tables/words.py", "outside_tables/dates.py")
# SQL, formulas, patterns, and words with strokes between them.
NOT_TEXT = re.compile(
    r"^\s*(SELECT|UPDATE|INSERT|SET|PRAGMA)\b|^=|\\[bsdWw]|[\w?]\|[\w?]|\(\?|default-src"
)
# Documents have the names that they have, and it is not shown how a source was read.
NAMES = {"source", "read", "dated"}
NOT_SHOWN = ("safety/types.py", "sheets/loads.py")

READ_ATTRIBUTES = ("title", "placeholder", "aria-label", "alt", "data-label", "content", "value")

INLINE = re.compile(
    r"</?(a|abbr|b|bdi|code|em|i|kbd|samp|small|span|strong|time|var|wbr)\b[^>]*>", re.I
)
DROPPED = re.compile(
    r"<!--.*?-->|{#.*?#}|{% comment %}.*?{% endcomment %}|<(script|style)\b.*?</\1>", re.S
)
QUIET = re.compile(r"{%-?\s*(end|if\b|for\b|with\b|blocktranslate|spaceless|load\b)[^%]*%}")
PUT_IN = re.compile(r"{{.*?}}|{%\s*(number|money|figure|include|url|percent|quantity)\b.*?%}", re.S)

# Texts that a tag or a filter is given.
GIVEN = re.compile(r'(?<=[{%|])[^{}%]*?(?:default(?:_if_none)?:|_title=|heading=|text=)"([^"]*)"')


@dataclass(frozen=True)
class Text:
    """One string and where it stands."""

    where: str
    text: str

    @property
    def sentences(self) -> list[str]:
        """Its sentences, without what ends them."""
        parts = re.split(r"(?<=[.!?:;…])[”\"’)]*\s+|\n", self.text)
        return [part.strip() for part in parts if part.strip()]


def of_app() -> Iterator[Text]:
    """All of them."""
    for path in sorted((ROOT / "materials").rglob("*.py")):
        name = _name(path)
        if not NOT_READ & set(path.parts) and not name.endswith((*LISTS_OF_WORDS, *NOT_SHOWN)):
            yield from of_python(path.read_text(encoding="utf-8"), name)
    for path in sorted((ROOT / "buildledger").rglob("*.py")):
        yield from of_python(path.read_text(encoding="utf-8"), _name(path))
    for path in sorted((ROOT / "templates").rglob("*")):
        if path.suffix in {".html", ".txt"}:
            yield from of_template(path.read_text(encoding="utf-8"), _name(path))
    for path in sorted((ROOT / "static").rglob("*.js")):
        if "vendor" not in path.parts and ".min." not in path.name:
            yield from of_script(path.read_text(encoding="utf-8"), _name(path))
    yield from of_readme((ROOT / "README.md").read_text(encoding="utf-8"))


def of_python(source: str, where: str) -> Iterator[Text]:
    """What stands between quotes, and docstrings that are shown."""
    tree = ast.parse(source)
    silent = _silent(tree)
    for node in ast.walk(tree):
        if id(node) in silent:
            continue
        if isinstance(node, ast.ClassDef) and where.endswith("tables.py") | ("/tables/" in where):
            text = (ast.get_docstring(node) or "").partition("\n\n")[0]
        elif isinstance(node, ast.JoinedStr):
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "x" for part in node.values
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = node.value
        else:
            continue
        if " " in text.strip() and not NOT_TEXT.search(text):
            yield Text(f"{where}:{node.lineno}", _tidy(text))


def _silent(tree: ast.Module) -> set[int]:
    """Docstrings, names of documents, and the parts of f-strings."""
    silent = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            silent |= {id(part) for part in node.values}
        if isinstance(node, ast.FormattedValue) and node.format_spec:
            silent.add(id(node.format_spec))
        if isinstance(node, ast.Expr) or (isinstance(node, ast.keyword) and node.arg in NAMES):
            silent.add(id(node.value))
    return silent


def of_template(source: str, where: str) -> Iterator[Text]:
    """Text between tags that break a line, and attributes that are read."""
    source = DROPPED.sub(lambda found: "\n" * found[0].count("\n"), source)
    for name in READ_ATTRIBUTES:
        for found in re.finditer(rf'\s{name}="([^"]*)"', source):
            text = _tidy(PUT_IN.sub("x", found[1]))
            if " " in re.sub(r"{%.*?%}", "", text).strip():
                yield Text(_line(source, found.start(), where), re.sub(r"{%.*?%}", "", text))
    for found in GIVEN.finditer(source):
        if " " in found[1]:
            yield Text(_line(source, found.start(), where), _tidy(found[1]))
    source = INLINE.sub("", PUT_IN.sub("x", source))
    source = QUIET.sub("", source)
    at = 0
    for found in re.finditer(r"<[^>]*>|{%.*?%}|$(?![\r\n])", source, re.S):
        text = _tidy(unescape(source[at : found.start()]))
        if re.search(r"[A-Za-z]{2}", text):
            start = at + len(source[at : found.start()]) - len(source[at : found.start()].lstrip())
            yield Text(_line(source, start, where), text)
        at = found.end()


def of_script(source: str, where: str) -> Iterator[Text]:
    """What scripts write between quotes that holds a space and begins as a sentence does."""
    source = re.sub(r"/\*.*?\*/|^\s*//.*?$", "", source, flags=re.S | re.M)
    for found in re.finditer(r'"([A-Z][^"\n]* [^"\n]*)"|`([A-Z][^`\n]* [^`\n]*)`', source):
        yield Text(where, _tidy(re.sub(r"\$\{.*?\}", "x", found[1] or found[2])))


def of_readme(source: str) -> Iterator[Text]:
    """Its prose, without what is typed."""
    source = re.sub(r"```.*?```", lambda found: "\n" * found[0].count("\n"), source, flags=re.S)
    for number, line in enumerate(source.splitlines(), 1):
        plain = re.sub(r"\[([^]]*)\]\([^)]*\)", r"\1", re.sub(r"`[^`]*`", "x", line))
        for cell in plain.strip("|").split("|"):
            if re.search(r"[A-Za-z]{2}", cell):
                yield Text(f"README.md:{number}", _tidy(cell.replace("**", "").lstrip("-# ")))


def _tidy(text: str) -> str:
    return re.sub(r"\s+", " ", text).strip()


def _line(source: str, at: int, where: str) -> str:
    return f"{where}:{source.count(chr(10), 0, at) + 1}"


def _name(path: Path) -> str:
    return str(path.relative_to(ROOT))
