"""Prices as they are written on a pile: a number, and perhaps what it is for.

“1.20 each”, “8/sheet”, “$1.80/lb”, “20 bucks”, “45 obo”. The number itself is read by ``money``;
here the words around it are. What is not understood is named beside what is.
"""

import re
from dataclasses import dataclass
from typing import Final

from .money import MoneyError
from .quantities import QuantityError, parse_quantity
from .units import quote

EACH: Final = "each"
BEST_OFFER: Final = "or best offer"

# Currencies whose money is called dollars (ISO 4217).
DOLLARS: Final = frozenset(
    "USD CAD AUD NZD SGD HKD TWD BBD BSD BZD BMD KYD FJD GYD JMD LRD NAD SBD SRD TTD XCD".split()
)

_NUMBER: Final = re.compile(r"(?P<number>[-−+]?[$€£¥]?\s?[-−+]?[0-9.,\u00a0\u202f]*[0-9][.,]?)")
_ROUND: Final = re.compile(r"[.,]?\s?[-–—]+(?=\s|$)")
_BARGAIN: Final = re.compile(
    r"[\s,(](?:o\.?b\.?o\.?|o\.?n\.?o\.?|or (?:best|nearest) offer)\)?$", re.IGNORECASE
)
_LONGEST_BARGAIN: Final = len("(or nearest offer)")
_DOLLAR_WORD: Final = re.compile(r"(?:bucks?|dollars?)(?![^\W\d_])", re.IGNORECASE)
_EACH_WORD: Final = re.compile(
    r"(?:each|ea\.?|apiece|a piece|per piece|per each|/\s?(?:each|ea\.?|piece|pcs?\.?))",
    re.IGNORECASE,
)
_PER: Final = re.compile(r"(?:/\s?|per\s|an?\s)\s?(?P<unit>.+)", re.IGNORECASE)


@dataclass(frozen=True)
class PriceWords:
    """A price taken apart: its number as typed, and what the words say.

    ``per``: ``EACH``, a quantity such as “sheet” or “100 sq ft”, or empty where nothing is said.
    """

    number: str
    per: str = ""
    in_dollars: bool = False
    note: str = ""


def read_price_words(text: str) -> PriceWords:
    """Take a typed price apart. Raises MoneyError with a sentence about what is not understood.

    A text without words comes back as it is, and so does one that begins with no number.
    """
    typed = text.strip()
    plain = _without_bargain(typed)
    note = BEST_OFFER if plain != typed else ""
    match = _NUMBER.match(plain)
    if match is None:
        return PriceWords(plain, note=note)
    number, rest = match["number"], plain[match.end() :]
    if round_sum := _ROUND.match(number[-1] + rest if number[-1] in ".," else rest):
        # "40.-" is forty and nothing; at most white space is cut off with it.
        number, rest = number.rstrip(".,"), rest[round_sum.end() :]
    rest = rest.strip()
    if not rest:
        return PriceWords(number, note=note)
    in_dollars = bool(dollars := _DOLLAR_WORD.match(rest))
    left = rest[dollars.end() :].strip() if dollars else rest
    if not left:
        return PriceWords(number, in_dollars=in_dollars, note=note)
    if _EACH_WORD.fullmatch(left):
        return PriceWords(number, EACH, in_dollars, note)
    per = _PER.fullmatch(left)
    if per is not None:
        return PriceWords(number, _unit_text(typed, number, per["unit"]), in_dollars, note)
    if left[0].isalpha():
        raise MoneyError(
            f"“{_short(typed)}” is understood as {_short(number.strip())}, but not"
            f" {quote(left, 20)}: write the number and what it is for, like 1.20 each,"
            " 8/sheet or 50 per cu yd."
        )
    return PriceWords(typed)


def _without_bargain(typed: str) -> str:
    """The text before “obo” and the like, and before what sets that apart."""
    # Only the end is searched: a long text would be tried from each of its signs.
    tail = typed[-_LONGEST_BARGAIN:]
    found = _BARGAIN.search(tail)
    if found is None:
        return typed
    end = len(typed) - len(tail) + found.start()
    while end and (typed[end - 1].isspace() or typed[end - 1] in ",("):
        end -= 1
    return typed[:end]


def _unit_text(typed: str, number: str, unit: str) -> str:
    """What a price is per. Raises MoneyError when it is no unit."""
    counted = unit if unit[:1].isdigit() else f"1 {unit}"
    try:
        parse_quantity(counted)
    except QuantityError:
        raise MoneyError(
            f"“{_short(typed)}” is understood as {_short(number.strip())}, but not what it is for,"
            f" {quote(unit, 20)}: write a unit after the stroke, like 8/sheet or 50 per cu yd."
        ) from None
    return unit


def _short(text: str) -> str:
    return text if len(text) <= 30 else f"{text[:30]}…"
