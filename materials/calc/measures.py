"""Reading numbers and measures as builders write them.

A short text is cut into tokens by one linear pattern and read from left to right; whatever is not
understood to the last sign is refused with one sentence. Nothing is evaluated, nothing is guessed
silently: where a comma could be read in two ways, what was made of it is noted.
"""

import re
from decimal import Decimal
from fractions import Fraction
from typing import Final

from materials.calc.units import Dimension, Unit, UnitError, find_unit, lookup, quote


class QuantityError(ValueError):
    """A quantity that cannot be read or converted; the message is one sentence for the user.

    ``offers``: whole texts that could have been meant, for the user to choose from.
    """

    def __init__(self, message: str, offers: tuple[str, ...] = ()) -> None:
        super().__init__(message)
        self.offers = offers


MAX_QUANTITY: Final = 10**8
MAX_TEXT: Final = 120
# What a sentence about a fault suggests, unless one kind of quantity is asked for.
EXAMPLE: Final = "'20 gal'"
LENGTH_EXAMPLE: Final = "8 ft, 7' 6\", 2.4 m or 2400 mm"
_MAX_DIGITS: Final = 30

_NO_BREAK: Final = "\u00a0"
_GROUP_SPACE: Final = r"(?<=[0-9])[\u00a0\u202f\u2007\u2009](?=[0-9]{3}(?![0-9/]))"
_WHITE: Final = re.compile(rf"(?:(?!{_GROUP_SPACE})\s)+")
_VULGAR: Final = {
    "½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5",
    "⅘": "4/5", "⅙": "1/6", "⅚": "5/6", "⅐": "1/7", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8",
    "⅑": "1/9", "⅒": "1/10",
}  # fmt: skip
_SIGNS: Final = str.maketrans({"⁄": "/", "∕": "/", **dict.fromkeys("−–—‐‑", "-")})
_TOKEN: Final = re.compile(
    r"""(?P<num>[0-9]+(?:[.,\u00a0][0-9]+)*|[.,][0-9]+)
    |(?P<by>[×✕*]|[xX](?![^\W\d_]))
    |(?P<word>[^\W\d_][^\W\d_.]*(?:\.[^\W\d_]+)*\.?(?:(?<=[^\W\d_])\^?[23](?![0-9./x×*'"]|[^\W\d_]))?)
    |(?P<inch>''|’’|′′|["”″“])
    |(?P<foot>['’′‘`´])
    |(?P<at>@)|(?P<slash>/)|(?P<dash>-)|(?P<odd>\S)""",
    re.VERBOSE,
)
_EXPONENT: Final = re.compile(r"[0-9][eE][+-]?[0-9]")
_NOT_NUMBERS: Final = re.compile(r"[+-]?\s*\b(?:nan|inf|infinity)\b|∞", re.IGNORECASE)
_WORD_NUMBERS: Final = {
    "a": 1, "an": 1, "one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "seven": 7,
    "eight": 8, "nine": 9, "ten": 10, "eleven": 11, "twelve": 12,
}  # fmt: skip
# Words that are no things: measures we do not know, numbers, parts of wholes, time and money.
_NO_THINGS: Final = frozenset(
    "bushel peck chain fathom furlong hand stone grain week month year quarter halve third fourth"
    " eighth percent degree dollar buck cent euro quid amp ohm joule newton calorie therm million"
    " billion score couple few several some many ten handful time side layer coat bit rick rank"
    " scoop shovel wheelbarrow barrow wagon trailer truck pickup trip imperial british metric"
    " half double triple plus minus and per the for from with about around each total free new"
    " more les maybe not half-".split()
)
_JOINERS: Final = {"x": "by", "by": "by", "at": "at", "of": "at"}
_COMPOUND: Final = (Dimension.LENGTH, Dimension.MASS, Dimension.TIME, Dimension.VOLUME)


def tidy(text: str, most: int = MAX_TEXT, example: str = EXAMPLE) -> str:
    """The text with its white space in order; a no-break space between thousands is kept."""
    text = text.strip()
    if len(text) > most:
        raise QuantityError(
            f"The text starting {quote(text, 20)} is longer than {most} signs: enter one quantity, "
            f"for example {example}."
        )
    return re.sub(_GROUP_SPACE, _NO_BREAK, _WHITE.sub(" ", text))


def plain(value: Fraction | Decimal | int, places: int = 6) -> str:
    """A number in plain decimals, rounded half away from zero, trailing zeros removed."""
    exact = Fraction(value)
    scaled = (abs(exact) * 10**places + Fraction(1, 2)).__floor__()
    whole, rest = divmod(scaled, 10**places)
    digits = f"{whole}.{rest:0{places}d}".rstrip("0").rstrip(".") if places else str(whole)
    return f"-{digits}" if exact < 0 and scaled else digits


def format_quantity(value: Fraction | Decimal | int, unit: Unit, places: int = 6) -> str:
    """'16 pieces', '20 gal', '2.5 squares': plain decimals that can be read again."""
    number = plain(value, places)
    # Units without a short symbol are words, and words have a plural.
    return f"{number} {unit.symbol if unit.symbol != unit.name or number == '1' else unit.plural}"


def read_number(raw: str) -> tuple[Fraction, str]:
    """The value of digits with thousands and decimal marks, and a note where a comma decided.

    A comma before exactly three last digits marks thousands if one to three digits, not starting
    with 0, stand before it (1,250); any other single comma is the decimal mark (0,5 and 0,500).
    """
    if len(raw) > _MAX_DIGITS:
        raise QuantityError(
            f"The number {quote(raw, 20)} is too long: enter at most {_MAX_DIGITS} digits."
        )
    note, mark = "", ""
    commas, points = raw.count(","), raw.count(".")
    if commas and points:
        mark = raw[max(raw.rfind(","), raw.rfind("."))]
    elif points == 1:
        mark = "."
    elif commas == 1:
        head, tail = raw.split(",")
        grouped = len(tail) == 3 and 1 <= len(head) <= 3 and head[0] != "0"
        mark = "" if grouped else ","
        note = f"the comma in {raw} read as {'thousands' if grouped else 'the decimal point'}"
    whole, _, part = raw.rpartition(mark) if mark else (raw, "", "")
    groups = re.split(r"[.,\u00a0]", whole)
    marks = {sign for sign in whole if not sign.isdigit()}
    well_grouped = (
        len(marks) == 1
        and 1 <= len(groups[0]) <= 3
        and groups[0][0] != "0"
        and all(len(group) == 3 for group in groups[1:])
    )
    if len(groups) > 1 and not well_grouped:
        raise QuantityError(
            f"In {quote(raw)} it is not clear which mark is the decimal point: enter it like "
            "1250.5."
        )
    return Fraction(int("".join(groups) + part), 10 ** len(part)), note


def counted_thing(words: list[str], *, is_one: bool) -> Unit | None:
    """The unit that counts a thing called so: "tarps", "old doors", "a wood stove", "full bags".

    None for what measures or multiplies, what is spelled almost like a unit, and what is no plural
    where there are several.
    """
    *before, last = (word.casefold() for word in words)
    if len(before) > 2 or not all(len(word) > 2 and word.isalpha() for word in (*before, last)):
        return None
    if any(word in _NO_THINGS or word.rstrip("s") in _NO_THINGS for word in (*before, last)):
        return None
    if known := lookup(last):
        plain = not any(lookup(word) for word in before)
        return known if known.is_counted and known.factor == 1 and plain else None
    is_plural = last.endswith("s") and not last.endswith(("ss", "us", "is")) and len(last) > 3
    if not (is_plural or is_one) or last.endswith(("ful", "fuls", "ing", "ed", "ly")):
        return None
    try:
        find_unit(last)
    except UnitError as error:
        return None if set(error.close) - {"piece"} else find_unit("piece")
    return None


class Reader:
    """Reads one tidied text from left to right; `notes` gathers what had to be decided.

    `example`: what the sentence about a fault suggests to write. `things`: whether a noun that is
    no unit counts pieces ("3 tarps").
    """

    def __init__(self, text: str, example: str = EXAMPLE, *, things: bool = False) -> None:
        self.text = text
        self.example = example
        self.things = things
        self._is_one = False
        self.notes: list[str] = []
        self._at = 0
        self.tokens: list[tuple[str, str]] = []
        if not text:
            raise QuantityError(f"The quantity is empty: enter for example {example}.")
        if bad := next((sign for sign in text if not sign.isprintable() and sign != _NO_BREAK), ""):
            raise QuantityError(f"The sign {bad!a} cannot be read: enter for example {example}.")
        if _EXPONENT.search(text):
            raise self.wrong("has an exponent: enter the number out, like 100000")
        if _NOT_NUMBERS.search(text):
            raise self.wrong(f"has no number that can be counted: enter for example {example}")
        for sign, fraction in _VULGAR.items():
            text = text.replace(sign, f" {fraction}")
        text = re.sub(r"(?<=[^\W\d_])[²³]", lambda m: "2" if m[0] == "²" else "3", text)
        for match in _TOKEN.finditer(text.translate(_SIGNS)):
            kind, raw = str(match.lastgroup), match[0]
            kind = _JOINERS.get(raw.casefold(), kind) if kind == "word" else kind
            if kind == "odd":
                more = " or '12 @ 8 ft'" if example == EXAMPLE else ""
                raise self.wrong(f"holds {quote(raw)}, which is not understood: enter for example "
                                 f"{example}{more}")  # fmt: skip
            self.tokens.append((kind, raw))

    def wrong(self, what: str) -> QuantityError:
        """An error about the whole text: its own words, then what is wrong."""
        return QuantityError(f"{quote(self.text)} {what}.")

    def kind(self, ahead: int = 0) -> str:
        """The kind of a coming token, '' after the last."""
        at = self._at + ahead
        return self.tokens[at][0] if at < len(self.tokens) else ""

    def raw(self, ahead: int = 0) -> str:
        """A coming token as written, '' after the last."""
        at = self._at + ahead
        return self.tokens[at][1] if at < len(self.tokens) else ""

    def skip(self, kind: str) -> bool:
        """Step over the next token if it is of this kind."""
        if self.kind() != kind:
            return False
        self._at += 1
        return True

    def rest(self) -> str:
        """What has not been read yet."""
        return " ".join(raw for _, raw in self.tokens[self._at :])

    def at_number(self) -> bool:
        """Whether a number stands next, in digits or in words, or the sign of one."""
        word = self.raw().casefold()
        return self.kind() in ("num", "dash") or word in _WORD_NUMBERS or word == "half"

    def number(self) -> Fraction:
        """A whole, decimal, common or mixed number, or a small number in words."""
        if self.kind() == "word":
            return self._word_number()
        if self.kind() == "dash":
            raise self.wrong("is negative: enter a quantity without a minus sign")
        if self.kind() != "num":
            found = f", but {quote(self.raw())} stands" if self.raw() else ", but nothing stands"
            raise self.wrong(
                f"needs a number{found} in its place: enter for example {self.example}"
            )
        value, note = read_number(self.raw())
        self._at += 1
        if self.kind() == "slash":
            value = self._over(value)
        elif value.denominator == 1 and self._fraction_follows():
            self.skip("dash")
            numerator, _ = read_number(self.raw())
            self._at += 1
            part = self._over(numerator)
            if part >= 1:
                raise self.wrong("holds a mixed number whose fraction is 1 or more: enter it like "
                                 "1-1/2")  # fmt: skip
            value += part
        elif self.kind() == "dash" and self.kind(1) == "num":
            raise self.wrong("is a range: enter one number")
        if note:
            self.notes.append(note)
        if value > MAX_QUANTITY:
            raise self.wrong(
                f"is more than {MAX_QUANTITY:,}: check the number or use a bigger unit"
            )
        self._is_one = value == 1
        return value

    def _fraction_follows(self) -> bool:
        shift = 1 if self.kind() == "dash" else 0
        return self.kind(shift) == "num" and self.kind(shift + 1) == "slash"

    def _over(self, numerator: Fraction) -> Fraction:
        self.skip("slash")
        # A raised two is a digit to Python, but no number here.
        if self.kind() != "num" or not self.raw().isdigit() or numerator.denominator != 1:
            raise self.wrong("holds a fraction that is not understood: enter it like 1/2")
        denominator, _ = read_number(self.raw())
        self._at += 1
        if self.kind() == "slash":
            raise self.wrong("holds a fraction that is not understood: enter it like 1/2")
        if not denominator:
            raise self.wrong("divides by zero: enter a fraction like 1/2")
        return numerator / denominator

    def _word_number(self) -> Fraction:
        word = self.raw().casefold()
        if word == "half":
            self._at += 1
            if self.raw().casefold() in ("a", "an"):
                self._at += 1
            return Fraction(1, 2)
        if word not in _WORD_NUMBERS:
            raise self.wrong(f"has no number where one belongs: enter for example {self.example}")
        self._at += 1
        self._is_one = _WORD_NUMBERS[word] == 1
        return Fraction(_WORD_NUMBERS[word])

    def unit(self) -> Unit | None:
        """The longest run of words that is a unit, or a foot or inch mark; None if none stands."""
        if self.kind() in ("foot", "inch"):
            mark = "ft" if self.kind() == "foot" else "in"
            self._at += 1
            return find_unit(mark)
        words: list[str] = []
        while self.kind(len(words)) == "word":
            words.append(self.raw(len(words)))
        if not words:
            return None
        for length in range(min(len(words), 3), 0, -1):
            unit = lookup(" ".join(words[:length]))
            if unit is not None:
                self._at += length
                return unit
        try:
            return find_unit(" ".join(words))
        except UnitError as error:
            word = " ".join(words)
            if self.things and (thing := counted_thing(words, is_one=self._is_one)):
                self._at += len(words)
                self.notes.append(f"{word} counted as {thing.plural}")
                return thing
            offers = tuple(self.text.replace(word, symbol) for symbol in error.close)
            raise QuantityError(
                f"In {quote(self.text)}, {error}", offers if self.text.count(word) == 1 else ()
            ) from error

    def measure(self) -> tuple[Fraction, Unit | None]:
        """A number with its unit, parts added up: 7' 6", 5 ft 6-1/2 in, 2 lb 3 oz, 1 h 30 min.

        The unit is that of the first part; None where the number stands alone.
        """
        value = self.number()
        unit = self.unit()
        last, last_value = unit, value
        while unit is not None and last is not None and unit.dimension in _COMPOUND:
            dashed = self.kind() == "dash" and self.kind(1) == "num"
            if not dashed and self.kind() != "num":
                break
            if dashed:
                self.skip("dash")
            start = self.rest()
            part = self.number()
            smaller = self.unit()
            if smaller is None:
                raise self.wrong(f"has no unit after {quote(start)}: enter for example 5 ft 6 in")
            if smaller.dimension is not unit.dimension:
                raise self.wrong("holds two quantities: enter one only")
            if last_value.denominator != 1 or part * smaller.factor >= last.factor:
                raise self.wrong(
                    "holds parts that do not add up to one measure: enter for example 5 ft 6 in"
                )
            value += part * smaller.factor / unit.factor
            last, last_value = smaller, part
        return value, unit
