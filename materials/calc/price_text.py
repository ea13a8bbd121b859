"""Prices as they are written on a pile: a number, and perhaps what it is for.

“1.20 each”, “8/sheet”, “$1.80/lb”, “20 bucks”, “45 obo”, “6¢/ft”, “70 total”, “3 for $10”,
“about a dollar each”. The number itself is read by ``money``;
here the words around it are. What is not understood is named beside what is.
"""

import re
from dataclasses import dataclass, replace
from typing import Final

from .money import MoneyError
from .quantities import QuantityError, parse_quantity
from .units import quote

EACH: Final = "each"
BEST_OFFER: Final = "or best offer"
ESTIMATE: Final = "an estimate"

# Currencies whose money is called dollars (ISO 4217).
DOLLARS: Final = frozenset(
    "USD CAD AUD NZD SGD HKD TWD BBD BSD BZD BMD KYD FJD GYD JMD LRD NAD SBD SRD TTD XCD".split()
)

# Currencies of which a hundredth is a cent (ISO 4217).
CENTS: Final = DOLLARS | {"EUR", "ZAR", "MUR", "LKR"}

_NUMBER: Final = re.compile(r"(?P<number>[-−+]?[$€£¥]?\s?[-−+]?[0-9.,\u00a0\u202f]*[0-9][.,]?)")
_ROUND: Final = re.compile(r"[.,]?\s?[-–—]+(?=\s|$)")
_BARGAIN: Final = re.compile(
    r"[\s,(](?:o\.?b\.?o\.?|o\.?n\.?o\.?|or (?:best|nearest) offer)\)?$", re.IGNORECASE
)
_LONGEST_BARGAIN: Final = len("(or nearest offer)")
# Said of the bargain, and not of the amount.
_SAID: Final = re.compile(r"(?<=[\w$.])[\s,(]+(?:firm|cash)\)?$", re.IGNORECASE)
# Short words of price lists.
_PER_FOOT: Final = {"psf": "sq ft", "plf": "ft", "pbf": "bf"}
_DOLLAR_WORD: Final = re.compile(r"(?:bucks?|dollars?)(?![^\W\d_])", re.IGNORECASE)
_CENT_WORD: Final = re.compile(r"(?:¢|cents?(?![^\W\d_]))", re.IGNORECASE)
_WORD_NUMBERS: Final = dict(zip(
    "a an one two three four five six seven eight nine ten eleven twelve fifteen twenty thirty"
    " forty fifty sixty seventy eighty ninety".split(),
    "1 1 1 2 3 4 5 6 7 8 9 10 11 12 15 20 30 40 50 60 70 80 90".split(), strict=True,
))  # fmt: skip
_IN_WORDS: Final = re.compile(
    rf"(?P<word>{'|'.join(_WORD_NUMBERS)})\s(?P<rest>\s?(?:bucks?|dollars?|cents?)(?![^\W\d_]).*)",
    re.IGNORECASE | re.DOTALL,
)
_ABOUT: Final = re.compile(
    r"(?:[~≈]\s?|(?:about|around|approx(?:imately|\.)?|roughly|circa|ca\.|maybe|est(?:imated|\.))\s)"
    r"\s?(?=[$€£¥0-9.,a-z])",
    re.IGNORECASE,
)
_SO: Final = re.compile(
    r"(?:(?<=[0-9])\s?ish|\sor so"
    r"|[\s,(]\(?(?:approx(?:imately|\.)?|est(?:imated|imate|\.)?|roughly)\)?|(?<=[0-9])\s?\?)$",
    re.IGNORECASE,
)
_LONGEST_SO: Final = len(", (approximately)")
_TOTAL: Final = re.compile(
    r"(?:(?:in )?total|in all|all told|all ?together|altogether|(?:for )?all(?: of (?:it|them))?"
    r"|(?:for )?(?:the|whole|the whole) lot|for (?:everything|it all|both))",
    re.IGNORECASE,
)
_FOR: Final = re.compile(r"for\s\s?(?P<other>[$€£¥]?\s?[0-9][0-9.,]*)", re.IGNORECASE)
_SIGNS: Final = "$€£¥"
_EACH_WORD: Final = re.compile(
    r"(?:each|ea\.?|apiece|a piece|per piece|per each|/\s?(?:each|ea\.?|piece|pcs?\.?))",
    re.IGNORECASE,
)
_PER: Final = re.compile(r"(?:/\s?|per\s|an?\s)\s?(?P<unit>.+)", re.IGNORECASE)


@dataclass(frozen=True)
class PriceWords:
    """A price taken apart: its number as typed, and what the words say.

    ``per``: ``EACH``, a quantity such as “sheet” or “100 sq ft”, a bare number of what was typed
    (“3 for $10”), or empty where nothing is said.
    """

    number: str
    per: str = ""
    in_dollars: bool = False
    note: str = ""
    in_cents: bool = False
    is_total: bool = False
    is_estimate: bool = False


class PriceWordsError(MoneyError):
    """A price that is not understood; ``offers`` are prices that could have been meant."""

    def __init__(self, message: str, offers: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.offers = offers


def read_price_words(text: str) -> PriceWords:
    """Take a typed price apart. Raises MoneyError with a sentence about what is not understood.

    A text without words comes back as it is, and so does one that begins with no number.
    """
    typed = text.strip()
    said = _without(_SAID, typed)
    plain = _without(_BARGAIN, said)
    note = BEST_OFFER if plain != said else ""
    firm = _without_about(plain)
    read = _read(typed, firm)
    return replace(read, note=note, is_estimate=firm != plain)


def _read(typed: str, text: str) -> PriceWords:
    if in_words := _IN_WORDS.match(text):
        text = f"{_WORD_NUMBERS[in_words['word'].casefold()]} {in_words['rest'].strip()}"
    match = _NUMBER.match(text)
    if match is None:
        return PriceWords(text)
    number, rest = match["number"], text[match.end() :]
    if round_sum := _ROUND.match(number[-1] + rest if number[-1] in ".," else rest):
        # "40.-" is forty and nothing; at most white space is cut off with it.
        number, rest = number.rstrip(".,"), rest[round_sum.end() :]
    rest = rest.strip()
    in_dollars = bool(dollars := _DOLLAR_WORD.match(rest))
    cents = None if dollars else _CENT_WORD.match(rest)
    word = dollars or cents
    left = rest[word.end() :].strip() if word else rest
    found = PriceWords(number, in_dollars=in_dollars, in_cents=bool(cents))
    return _with_rest(typed, found, left)


def _with_rest(typed: str, found: PriceWords, left: str) -> PriceWords:
    """What stands behind the number: what the price is for."""
    number = found.number
    if not left:
        return found
    if _EACH_WORD.fullmatch(left):
        return replace(found, per=EACH)
    if unit := _PER_FOOT.get(left.casefold()):
        return replace(found, per=unit)
    if _TOTAL.fullmatch(left):
        return replace(found, is_total=True)
    if counted := _FOR.fullmatch(left):
        return _for_several(typed, found, counted["other"].replace(" ", ""))
    per = _PER.fullmatch(left)
    if per is not None:
        return replace(found, per=_unit_text(typed, number, per["unit"]))
    if left[0].isalpha():
        raise PriceWordsError(_not_understood(typed, number, left))
    return PriceWords(typed)


def _not_understood(typed: str, number: str, left: str) -> str:
    return (
        f"“{_short(typed)}” is understood as {_short(number.strip())}, but not"
        f" {quote(left, 20)}: enter the number and what it is for, like 1.20 each,"
        " 8/sheet or 50 per cu yd."
    )


def _for_several(typed: str, found: PriceWords, other: str) -> PriceWords:
    """“3 for $10”, “$10 for 3”: the sign says which of the two is the money."""
    number = found.number.replace(" ", "")
    first = number[0] in _SIGNS or found.in_dollars or found.in_cents
    if first and other.isdigit() and int(other):
        return replace(found, per=other)
    if not first and other[0] in _SIGNS and number.isdigit() and int(number):
        return replace(found, number=other, per=number)
    offers: tuple[str, ...] = ()
    if not first and number.isdigit() and int(number):
        offers = (f"{other} per {number}", f"{number} total")
    raise PriceWordsError(_not_understood(typed, found.number, f"for {other}"), offers)


def _without_about(text: str) -> str:
    """The text without “about” before it or “or so” behind it."""
    if before := _ABOUT.match(text):
        return text[before.end() :]
    tail = text[-_LONGEST_SO:]
    found = _SO.search(tail)
    return text[: len(text) - len(tail) + found.start()].rstrip() if found else text


def _without(words: re.Pattern[str], typed: str) -> str:
    """The text before words such as “obo” at its end, and before what sets those apart."""
    # Only the end is searched: a long text would be tried from each of its signs.
    tail = typed[-_LONGEST_BARGAIN:]
    found = words.search(tail)
    if found is None:
        return typed
    end = len(typed) - len(tail) + found.start()
    while end and (typed[end - 1].isspace() or typed[end - 1] in ",("):
        end -= 1
    return typed[:end]


def _unit_text(typed: str, number: str, unit: str) -> str:
    """What a price is per. Raises MoneyError when it is no unit."""
    if unit.isdigit() and int(unit):
        return unit
    counted = unit if unit[:1].isdigit() else f"1 {unit}"
    try:
        parse_quantity(counted)
    except QuantityError:
        raise MoneyError(
            f"“{_short(typed)}” is understood as {_short(number.strip())}, but not what it is for,"
            f" {quote(unit, 20)}: enter a unit after the stroke, like 8/sheet or 50 per cu yd."
        ) from None
    return unit


def _short(text: str) -> str:
    return text if len(text) <= 30 else f"{text[:30]}…"
