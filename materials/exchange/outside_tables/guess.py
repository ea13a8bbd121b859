"""Guesses that a person confirms: heading row, kind of table, and what each column is."""

import re
import unicodedata
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from ...calc.letters import letters
from ...calc.units import UnitError, find_unit, lookup
from ...models import TableKind
from .cells import Cell, cell_text, head_text, tag_of
from .dates import date_style
from .fields import FIELDS, NUMERIC, Field
from .numbers import find_currency, number_style, says_price
from .words import CHOICES

_BRACKETS = re.compile(r"[(\[{]([^)\]}]*)[)\]}]")
_PER = re.compile(r"(?:/|\bper\b)\s*([a-z][a-z .]{0,14})$", re.IGNORECASE)
_LEAST = 4
# A heading that its column contradicts is worth less than none.
_NEVER = -40
_UNIT_WORDS = 12
_BARE = re.compile(r"\d[\d.,'’ ]*")
_COUNTED = re.compile(r"\d[\d.,]*\s*(?P<unit>[^\W\d_][\w .²³]{0,20})")
# Beside “tax” in a heading: no amount of tax, but a price with it or without, or a rate.
_NO_TAX = frozenset(
    "with incl including included inc after plus before without excl excluding ex pre net exempt"
    " free rate percent % taxable gross".split()
)


@dataclass(frozen=True)
class Heading:
    """A heading taken apart: the plain words, and what it says of unit and currency."""

    text: str
    key: str
    unit: str = ""
    currency: str = ""


def split_heading(text: str) -> Heading:
    """“Qty (ft)” → qty, ft; “Price per sheet, $” → price per sheet, sheet, $."""
    text = " ".join(text.split())
    inside = " ".join(_BRACKETS.findall(text))
    key = heading_key(_BRACKETS.sub(" ", text)) or heading_key(text)
    unit = ""
    candidates = [inside]
    if match := _PER.search(_BRACKETS.sub("", text).strip(" ,:$€£")):
        candidates.append(match[1])
    if match := re.search(r"\bin ([a-z][a-z ]{0,12})$", key):
        candidates.append(match[1])
    for candidate in candidates:
        try:
            unit = find_unit(candidate.strip(" .,:")).symbol
            break
        except UnitError:
            continue
    return Heading(text, key, unit, find_currency(text))


def heading_key(text: str) -> str:
    """What makes two headings the same: case, marks and spaces do not count."""
    words = re.sub(r"[^\w$#@%/]+", " ", text.casefold().replace("_", " "))
    return " ".join(words.split())


def guess_heading_row(head: Sequence[Sequence[Any]]) -> int:
    """Number of the row that looks most like headings, 0 when none does.

    ``head``: ``[number, cells]`` of the first rows. Headings are several short texts that are
    unlike each other, over rows that fill the same columns, and often words one knows.
    """
    known = {word for fields in FIELDS.values() for f in fields for word in _words(f.words)}
    best, best_score = 0, 0
    for place, (number, cells) in enumerate(head[:30]):
        texts = [
            (index, cell_text(cell))
            for index, cell in enumerate(cells)
            if tag_of(cell) == "s" and len(cell) <= 60 and not _is_value(cell)
        ]
        filled = sum(cell is not None for cell in cells)
        if not texts or len(texts) * 2 < filled:
            continue
        keys = [split_heading(text).key for _, text in texts]
        below = [row for _, row in head[place + 1 : place + 6]]
        carried = sum(
            1
            for index, _ in texts
            if any(index < len(row) and row[index] is not None for row in below)
        )
        score = len(set(keys)) + carried + 4 * sum(plain_word(key) in known for key in keys)
        if len(texts) == 1 and plain_word(keys[0]) not in known:
            continue
        if score > best_score and (len(texts) > 1 or filled == 1):
            best, best_score = number, score
    return best


def _is_value(text: str) -> bool:
    return bool(date_style(text)) or number_style(text) in ("point", "comma", "either", "plain")


def column_values(rows: Sequence[Sequence[Any]], width: int) -> list[list[Cell]]:
    """Filled cells by column."""
    columns: list[list[Cell]] = [[] for _ in range(width)]
    for _, cells in rows:
        for index, cell in enumerate(cells):
            if cell is not None:
                columns[index].append(cell)
    return columns


def build_profile(headings: Sequence[Cell], rows: Sequence[Sequence[Any]]) -> list[dict[str, Any]]:
    """What was seen in each column below its heading: samples, dates, numbers, and evidence."""
    width = max([len(headings), *(len(cells) for _, cells in rows)], default=0)
    seen: dict[str, int] = {}
    profile = []
    for index, values in enumerate(column_values(rows, width)):
        heading = split_heading(head_text(headings[index]) if index < len(headings) else "")
        key = heading.key or f"column {letters(index + 1)}".lower()
        seen[key] = seen.get(key, 0) + 1
        profile.append(
            {
                "heading": heading.text or f"Column {letters(index + 1)}",
                # Of two columns with one heading the second has a key of its own.
                "key": key if seen[key] == 1 else f"{key} {seen[key]}",
                "unit": heading.unit,
                "currency": heading.currency,
                **_content(values),
            }
        )
    return profile


def _content(values: list[Cell]) -> dict[str, Any]:
    dates = {"day": 0, "month": 0, "either": 0, "clear": 0, "no year": 0}
    numbers = {"point": 0, "comma": 0, "either": 0, "plain": 0}
    examples: dict[str, str] = {}
    samples: list[str] = []
    styles: dict[str, tuple[str, str]] = {}
    for cell in values:
        cell = cell[1] if tag_of(cell) == "m" else cell
        tag = tag_of(cell)
        if tag == "d":
            dates["clear"] += 1
        elif tag == "n":
            numbers["plain"] += 1
        elif tag == "s":
            found = styles.get(cell)
            if found is None:
                text = cell_text(cell)
                # Long texts are no dates and no prices, and might be many.
                short = len(text) <= 60
                number = _leading_number(text) if short else ""
                found = styles[cell] = (date_style(text) if short else "", number)
            date, number = found
            if date:
                dates[date] += 1
                examples.setdefault(f"date {date}", head_text(cell))
            if number and date in ("", "no year"):
                numbers[number] += 1
                examples.setdefault(f"number {number}", head_text(cell))
        if len(samples) < 3 and tag != "e":
            text = head_text(cell, 40)
            if text and text not in samples:
                samples.append(text)
    return {
        "filled": len(values),
        "samples": samples,
        "dates": {style: count for style, count in dates.items() if count},
        "numbers": {style: count for style, count in numbers.items() if count},
        "examples": examples,
        **_readings(values),
    }


def _readings(values: list[Cell]) -> dict[str, Any]:
    """How many cells could be read as what, and the words that stand where a unit would."""
    kinds: Counter[str] = Counter()
    money: Counter[str] = Counter()
    strange: dict[str, None] = {}
    for cell in values:
        cell = cell[1] if tag_of(cell) == "m" else cell
        tag = tag_of(cell)
        found = ["unreadable"] if tag == "e" else _kinds(cell_text(cell), tag)
        kinds.update(found)
        if tag == "s" and "price" in found and (sign := find_currency(cell)):
            money[sign] += 1
        if tag == "s" and len(strange) < _UNIT_WORDS and (word := _strange_unit(cell_text(cell))):
            strange[word] = None
    if len(values) > 2 and all(cell_text(c) == str(n) for n, c in enumerate(values, start=1)):
        # Rows that are numbered: 1, 2, 3 … count nothing.
        kinds["running"] = 1
    return {"kinds": dict(kinds), "units": list(strange), "money": dict(money)}


@cache
def _words(words: str) -> tuple[str, ...]:
    return tuple(plain_word(word) for word in words.split("|"))


def plain_word(text: str) -> str:
    """A word without accents, so that “Stückpreis” and “quantité” are found however written."""
    bare = unicodedata.normalize("NFKD", text.casefold())
    return "".join(sign for sign in bare if not unicodedata.combining(sign))


def _kinds(text: str, tag: str) -> list[str]:
    """What a cell could be read as: price, bare number, unit, an answer of a choice."""
    if tag == "n":
        return ["price", "bare"]
    if not text or len(text) > 60 or tag not in ("s", "b"):
        return []
    word = text.casefold().strip(" .!")
    found = [how for how, (words, _) in CHOICES.items() if word in words]
    if says_price(text):
        found.append("price")
    if number_style(text) and _BARE.fullmatch(text):
        found.append("bare")
    if lookup(word.removeprefix("per ")) is not None:
        found.append("unit")
    return found


def _strange_unit(text: str) -> str:
    """The word of a cell that stands where a unit would, when it is none known here."""
    match = _COUNTED.fullmatch(text)
    word = match["unit"].strip(" .") if match else text.strip(" .")
    if not word or len(word) > 21 or any(sign.isdigit() for sign in word):
        return ""
    return "" if lookup(word) is not None else plain_word(word)


def _leading_number(text: str) -> str:
    """The style of a number that a text is, or begins with (“1,250 ft”)."""
    if style := number_style(text):
        return style
    match = re.match(r"\d[\d.,]*(?=\s*[a-z\"'])", text, re.IGNORECASE)
    return number_style(match[0]) if match else ""


def guess_kind(profile: Sequence[dict[str, Any]]) -> str:
    """What the table holds, by its headings; purchases when nothing tells."""
    best, best_score = TableKind.PURCHASES.value, 0
    for kind, fields in FIELDS.items():
        matched = guess_columns(kind, profile)
        found = set(matched.values())
        score = 2 * len(found) + sum(field.key in found for field in fields if field.needed)
        if any(f.needed and f.key not in found and f.key != "quantity" for f in fields):
            score -= 4
        if kind == TableKind.HOURS:
            score += 5 if "hours" in found and "person" in found else -20
        if kind == TableKind.PRICES:
            counted = "quantity" in guess_columns(TableKind.PURCHASES, profile).values()
            priced = any(w in c["key"] for c in profile for w in ("price", "retail", "quote"))
            score += 4 if priced and not counted else -4
        if kind == TableKind.COMPONENTS:
            says = any(w in c["key"] for c in profile for w in ("need", "requir", "waste", "plan"))
            score += 6 if says else -4
        if score > best_score:
            best, best_score = str(kind), score
    return best


def guess_columns(kind: str, profile: Sequence[dict[str, Any]]) -> dict[int, str]:
    """Field by column index, from headings and content; a column nobody knows is left out."""
    scored = [
        (score, -index, field.key)
        for index, column in enumerate(profile)
        for field in FIELDS[kind]
        if (score := _score(column, field, index)) >= _LEAST
    ]
    found: dict[int, str] = {}
    for _, index, key in sorted(scored, reverse=True):
        if -index not in found and (key == "note" or key not in found.values()):
            found[-index] = key
    if kind == TableKind.PURCHASES:
        _distinguish_prices(found, profile)
    return found


def _score(column: dict[str, Any], field: Field, index: int) -> int:
    if not column["filled"]:
        return 0
    words = _words(field.words)
    whole = plain_word(column["key"])
    key = whole if whole in words else re.sub(r" \d+$", "", whole)
    have = set(key.split())
    if field.key == "tax" and have & _NO_TAX:
        return 0
    score = 0
    if key in words:
        score = 20 - min(words.index(key), 9)
    else:
        for word in words:
            wanted = set(word.split())
            if wanted <= have and len(word) > 1:
                score = max(score, 6 + 2 * len(wanted) - min(len(have), 5))
    return score + _fit(column, field, score)


def _fit(column: dict[str, Any], field: Field, by_words: int) -> int:
    """What the cells say for a field, or against it, whatever the heading says."""
    kinds = Counter(column["kinds"])
    filled = column["filled"] - kinds["unreadable"]
    dates, numbers = sum(column["dates"].values()), sum(column["numbers"].values())
    if not filled:
        return 0
    if field.how in CHOICES:
        if kinds[field.how] * 2 < filled:
            return _NEVER
        return 8 if field.how == "source" and kinds["source"] * 10 >= filled * 7 else 0
    if field.how == "unit":
        return -12 if (numbers + dates) * 2 > filled else 2
    if field.how == "date":
        return 6 if dates * 10 >= filled * 7 else -8 if dates * 4 < filled else 0
    if field.how in NUMERIC:
        return _fit_of_numbers(
            field, by_words, dates, kinds, Fraction(max(numbers, kinds["price"]), filled)
        )
    if field.key in ("supplier", "paid_by", "person") and (kinds["price"] + dates) * 2 > filled:
        return _NEVER
    may_be_numbers = field.key == "receipt" or field.how == "contents"
    return -8 if (numbers + dates) * 10 >= filled * 9 and not may_be_numbers else 0


def _fit_of_numbers(
    field: Field, by_words: int, dates: int, kinds: Counter[str], share: Fraction
) -> int:
    counts = field.how == "quantity"
    if kinds["running"] if counts else dates > kinds["price"]:
        return -12
    if share >= Fraction(6, 10):
        return 3 if by_words else 0
    if share >= Fraction(1, 4):
        return 0
    return _NEVER if field.how in ("price", "total", "charge") else -5


def _distinguish_prices(found: dict[int, str], profile: Sequence[dict[str, Any]]) -> None:
    """“Price” alone beside no total is a guess; one that says per something is the price of one."""
    by_field = {key: index for index, key in found.items()}
    each, total = by_field.get("unit_price"), by_field.get("total")
    if total is not None and each is None and profile[total]["unit"]:
        found[total] = "unit_price"
    if each is not None and total is None and "quantity" not in by_field:
        found[each] = "total"
