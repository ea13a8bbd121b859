"""Numbers and money in the styles people write them."""

import re
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache

from ...calc.money import MAX_AMOUNT, MoneyError, currency_codes
from ...calc.price_text import CENTS, DOLLARS, EACH, ESTIMATE, read_price_words
from ..cells import CellError
from ..faults import shown
from .cells import Cell, cell_text, tag_of

FREE = frozenset(
    "free|gift|gifted|given|donated|donation|no charge|no cost|n/c|nc|nil|zero|gratis|$0|none paid"
    "|freebie|for free|got free".split("|")
)
UNKNOWN = frozenset(
    "?|??|???|unknown|not known|tbd|tba|n/a|na|n.a.|-|--|–|—|don't know|dont know|no idea|forgot"
    "|lost receipt|no receipt|pending|to come".split("|")
)
_DIGITS = r"(?:\d[\d.,'’\u00a0\u202f\u2009 ]*\d|\d|[.,]\d+)"
_SIGNS = {
    "$": "USD CAD AUD NZD MXN SGD HKD TWD ARS CLP COP FJD JMD TTD BBD BSD BMD BZD XCD",
    "US$": "USD", "C$": "CAD", "CA$": "CAD", "CAN$": "CAD", "A$": "AUD", "AU$": "AUD",
    "NZ$": "NZD", "R$": "BRL", "€": "EUR", "£": "GBP EGP FKP GIP SHP", "¥": "JPY CNY", "₹": "INR",
    "₩": "KRW", "₽": "RUB", "zł": "PLN", "kč": "CZK", "kr": "SEK NOK DKK ISK", "fr": "CHF",
    "dollar": "USD CAD AUD NZD", "dollars": "USD CAD AUD NZD", "bucks": "USD CAD AUD NZD",
    "euro": "EUR", "euros": "EUR", "pound": "GBP", "pounds": "GBP",
}  # fmt: skip
_BY_SIGN = {sign.casefold(): frozenset(codes.split()) for sign, codes in _SIGNS.items()}
_BY_SIGN |= {code.casefold(): frozenset({code}) for code in currency_codes()}
_CODES = "|".join([*currency_codes(), *"usd eur gbp cad aud nzd chf".split()])
_CURRENCY = (
    r"(?:US\$|CA[N]?\$|C\$|AU?\$|NZ\$|R\$|[$€£¥₹₩₽]|zł|kč|kr\.?|fr\.?|dollars?|bucks|euros?|pounds?"
    rf"|(?-i:{_CODES})(?![A-Za-z]))"
)
_MONEY = re.compile(
    rf"(?P<open>\()?\s*(?P<sign>[-−–+])?\s*(?P<before>{_CURRENCY})?\s*(?P<sign2>[-−–])?\s*"
    rf"(?P<number>{_DIGITS})(?P<dash>[.,]?[-−–—]+)?\s*(?P<after>{_CURRENCY})?\s*(?P<close>\))?"
    r"\s*(?P<rest>.*)",
    re.IGNORECASE,
)
_PER = re.compile(
    r"(?P<each>ea\.?|each|apiece|a piece)?(?:(?:/|per\b|a\b)\s*(?P<per>[^()]{1,40}?))?\s*"
    r"(?:\((?P<remark>[^()]{1,300})\))?",
    re.IGNORECASE,
)
EITHER = re.compile(r"[1-9]\d{0,2}[.,]\d{3}")


@dataclass(frozen=True)
class Price:
    """What a price cell says. ``value`` None: not known. ``per``: a unit, if one was named.

    ``is_each``, ``is_total``: said to be of one, or of all.
    """

    value: Decimal | None
    per: str = ""
    remark: str = ""
    is_each: bool = False
    is_total: bool = False


def number_style(text: str) -> str:
    """point or comma (the decimal mark must be that), either, plain; empty when no number."""
    match = _MONEY.fullmatch(text.strip())
    if match is None:
        return ""
    raw = _tight(match["number"])
    if EITHER.fullmatch(raw):
        return "either"
    marks = [sign for sign in raw if not sign.isdigit()]
    if not marks:
        return "plain"
    try:
        read_digits(raw)
    except CellError:
        return ""
    last = marks[-1]
    if last in ".," and (marks.count(last) == 1):
        return "point" if last == "." else "comma"
    if last in ".,":
        # Several of one mark can only part thousands, so the other is the decimal mark.
        return "comma" if last == "." else "point"
    return "plain"


def _tight(raw: str) -> str:
    return re.sub(r"[\u00a0\u202f\u2009 ’]", lambda m: "'" if m[0] == "’" else " ", raw.strip())


def read_digits(raw: str, mark: str = "") -> Decimal:
    """A number without sign; ``mark`` (``.`` or ``,``) is the column's decimal mark, if decided.

    Raises CellError when it is not clear which mark is which.
    """
    text = _tight(raw)
    if EITHER.fullmatch(text):
        if not mark:
            raise CellError(
                f"{shown(text)} can be read as two numbers. Choose the decimal separator "
                "of this column, or enter it without thousands marks."
            )
    else:
        last = next((sign for sign in reversed(text) if sign in ".,"), "")
        # A mark that stands twice can only part thousands.
        mark = last if last and text.count(last) == 1 else ""
    whole, _, part = text.rpartition(mark) if mark and mark in text else (text, "", "")
    groups = re.split(r"[.,' ]", whole)
    if len(groups) > 1:
        marks = {sign for sign in whole if not sign.isdigit()}
        if len(marks) > 1 or not 1 <= len(groups[0]) <= 3 or any(len(g) != 3 for g in groups[1:]):
            raise _unclear(text)
    if not part.isdecimal() and part:
        raise _unclear(text)
    digits = "".join(groups) or "0"
    if len(digits) + len(part) > 25:
        raise CellError(f"{shown(text)} is too long a number: check it.")
    return Decimal(f"{digits}.{part}" if part else digits)


def _unclear(text: str) -> CellError:
    return CellError(
        f"In {shown(text)} it is not clear which mark is the decimal point: enter it like 1250.50."
    )


def read_number(cell: Cell, mark: str = "", what: str = "The number") -> Decimal:
    """A plain number. Raises CellError."""
    if tag_of(cell) == "n":
        return Decimal(cell[1])
    text = cell_text(cell).replace("−", "-")
    sign = -1 if text.startswith("-") else 1
    raw = text.lstrip("+-").strip()
    if tag_of(cell) in ("", "s") and re.fullmatch(_DIGITS, raw):
        return sign * read_digits(raw, mark)
    raise CellError(f"{what} {shown(text)} is not a number: enter it like 12.5.")


def may_be(sign: str, currency: str) -> bool:
    """Whether a sign or code can stand for a currency."""
    return currency in _BY_SIGN.get(sign.casefold().rstrip("."), ())


def read_price(cell: Cell, currency: str, mark: str = "", named: str = "") -> Price:
    """A price: ``free`` is 0, ``?`` is not known, a remark in parentheses is kept apart.

    ``currency``: the build's, empty where signs do not matter; ``named``: the sign or code in the
    column's heading. Raises CellError, also for another currency and for an amount below zero.
    """
    if tag_of(cell) == "n":
        _same_currency(named, currency, cell_text(cell))
        return Price(_bounded(Decimal(cell[1]), cell_text(cell)))
    text = cell_text(cell)
    if tag_of(cell) != "s":
        raise CellError(f"The cell holds {shown(text)}, not a price: enter it like 12.50.")
    word = text.casefold().strip(" .!")
    if word in FREE:
        return Price(Decimal(0))
    if word in UNKNOWN or text.strip() in UNKNOWN:
        return Price(None)
    match = _MONEY.fullmatch(text)
    per = _PER.fullmatch(match["rest"].strip(" ,;")) if match else None
    if match is None or per is None or bool(match["open"]) != bool(match["close"]):
        if (price := _in_words(text, currency, mark, named)) is not None:
            return price
        raise CellError(
            f"{shown(text)} is not understood as a price. Enter the number alone, ? if "
            "not known, or free. Put remarks into the note."
        )
    _same_currency(match["before"] or match["after"] or named, currency, text)
    if match["before"] and match["after"]:
        _same_currency(match["after"], currency, text)
    value = read_digits(match["number"], mark)
    if match["open"] or match["sign"] in ("-", "−", "–") or match["sign2"]:
        value = -value
    each = "" if per["per"] is None else " ".join(per["per"].split()).strip(" .")
    return Price(_bounded(value, text), each, (per["remark"] or "").strip(), bool(per["each"]))


def _in_words(text: str, currency: str, mark: str, named: str) -> Price | None:
    """What the forms' own reader of prices makes of it (“45 obo”), None where it is none."""
    try:
        words = read_price_words(text)
    except MoneyError:
        return None
    if words.number == text or not number_style(words.number):
        return None
    if words.in_dollars and currency not in DOLLARS:
        _same_currency("dollars", currency, text)
    value = read_price(words.number, currency, mark, named).value
    if words.in_cents:
        if currency not in CENTS:
            _same_currency("cents", currency, text)
        value = None if value is None else value / 100
    per = "" if words.per == EACH else words.per
    said = [words.note, f"Price is {ESTIMATE}." if words.is_estimate else ""]
    remark = " ".join(filter(None, said))
    return Price(value, per, remark, words.per == EACH, words.is_total)


@lru_cache(maxsize=4096)
def says_price(text: str) -> bool:
    """Whether a text is a price in some currency and style, “free” and “?” included."""
    if text.casefold().strip(" .!") in FREE or text.strip().casefold() in UNKNOWN:
        return True
    match = _MONEY.fullmatch(text)
    if match and _PER.fullmatch(match["rest"].strip(" ,;")):
        return True
    try:
        words = read_price_words(text)
    except MoneyError:
        return False
    return words.number != text and bool(number_style(words.number))


def _same_currency(sign: str, currency: str, text: str) -> None:
    wanted = sign.casefold().rstrip(".")
    if not wanted or not currency:
        return
    codes = _BY_SIGN.get(wanted)
    if codes is None:
        raise CellError(
            f"{shown(text)} is not understood as a price: {shown(sign)} is not a "
            "currency. Enter the number alone."
        )
    if currency not in codes:
        raise CellError(
            f"{shown(text)} is in another currency than the build, which counts in "
            f"{currency}: enter what it came to in {currency}."
        )


def _bounded(value: Decimal, text: str) -> Decimal:
    if value < 0:
        raise CellError(
            f"{shown(text)} is below zero. A refund or return is not a line. Leave the "
            "row out, and add a discount to its purchase."
        )
    if value >= MAX_AMOUNT:
        raise CellError(f"{shown(text)} is too large: the most that can be kept is {MAX_AMOUNT:,}.")
    return value


def find_currency(text: str) -> str:
    """A currency sign or code that stands in a heading, or an empty text."""
    piece: str
    for piece in re.findall(r"[A-Za-z]{1,3}\$|[$€£¥₹₩₽]|\b[A-Z]{3}\b", text):
        if piece.casefold() in _BY_SIGN:
            return piece
    return ""
