"""Prices with words around them: the words are read, or named as not understood."""

import re
import sys
from contextlib import suppress
from types import FrameType, SimpleNamespace

import pytest

from materials.calc import price_text
from materials.calc.money import MoneyError
from materials.calc.price_text import EACH, PriceWords, PriceWordsError, read_price_words

READ = [
    ("1.20", PriceWords("1.20")),
    ("$1,250.00", PriceWords("$1,250.00")),
    ("1.20 each", PriceWords("1.20", EACH)),
    ("$1.50 ea", PriceWords("$1.50", EACH)),
    ("$1.50ea.", PriceWords("$1.50", EACH)),
    ("2 apiece", PriceWords("2", EACH)),
    ("2/pc", PriceWords("2", EACH)),
    ("8/sheet", PriceWords("8", "sheet")),
    ("8 / sheet", PriceWords("8", "sheet")),
    ("8 a sheet", PriceWords("8", "sheet")),
    ("50/yd", PriceWords("50", "yd")),
    ("50 per cu yd", PriceWords("50", "cu yd")),
    ("12 per 100 sq ft", PriceWords("12", "100 sq ft")),
    ("$1.80/lb", PriceWords("$1.80", "lb")),
    ("20 bucks", PriceWords("20", in_dollars=True)),
    ("20 dollars each", PriceWords("20", EACH, in_dollars=True)),
    ("40.-", PriceWords("40")),
    ("40,–", PriceWords("40")),
    ("40.- each", PriceWords("40", EACH)),
    ("40- each", PriceWords("40", EACH)),
    ("40 -- a sheet", PriceWords("40", "sheet")),
    ("12 per 1 sheet", PriceWords("12", "1 sheet")),
    ("45 obo", PriceWords("45", note="or best offer")),
    ("45 (OBO)", PriceWords("45", note="or best offer")),
    ("45/sheet, or best offer", PriceWords("45", "sheet", note="or best offer")),
    # No words that could be for something: left to the reader of numbers.
    ("free", PriceWords("free")),
    ("about a lot", PriceWords("a lot", is_estimate=True)),
    ("40 💵", PriceWords("40 💵")),
    ("-40", PriceWords("-40")),
    ("1.250,00", PriceWords("1.250,00")),
    # Hundredths, sums of all, several for one price, and estimates.
    ("9 cents each", PriceWords("9", EACH, in_cents=True)),
    ("6¢/ft", PriceWords("6", "ft", in_cents=True)),
    ("65 cents per foot", PriceWords("65", "foot", in_cents=True)),
    ("fifty cents apiece", PriceWords("50", EACH, in_cents=True)),
    ("a dollar each", PriceWords("1", EACH, in_dollars=True)),
    ("two bucks", PriceWords("2", in_dollars=True)),
    ("70 total", PriceWords("70", is_total=True)),
    ("$70 for all of it", PriceWords("$70", is_total=True)),
    ("70 dollars altogether", PriceWords("70", in_dollars=True, is_total=True)),
    ("70 the lot", PriceWords("70", is_total=True)),
    ("3 for $10", PriceWords("$10", "3")),
    ("$10 for 3", PriceWords("$10", "3")),
    ("10 per 3", PriceWords("10", "3")),
    ("about a dollar each", PriceWords("1", EACH, in_dollars=True, is_estimate=True)),
    ("~40", PriceWords("40", is_estimate=True)),
    ("ca. 40", PriceWords("40", is_estimate=True)),
    ("$40ish", PriceWords("$40", is_estimate=True)),
    ("40 or so", PriceWords("40", is_estimate=True)),
    ("40?", PriceWords("40", is_estimate=True)),
    ("around 8/sheet", PriceWords("8", "sheet", is_estimate=True)),
    ("40 (est.)", PriceWords("40", is_estimate=True)),
]


@pytest.mark.parametrize(("text", "words"), READ)
def test_words_of_a_price(text: str, words: PriceWords) -> None:
    assert read_price_words(text) == words


@pytest.mark.parametrize(
    ("text", "result"),
    [
        ("2 for 5", "“2 for 5” is understood as 2, but not 'for 5'"),
        ("40 more", "is understood as 40, but not 'more'"),
        ("3 for 0", "is understood as 3, but not 'for 0'"),
        ("8/sheep", "is understood as 8, but not what it is for, 'sheep'"),
        ("20 bucks maybe", "is understood as 20, but not 'maybe'"),
    ],
)
def test_what_is_understood_and_what_is_not(text: str, result: str) -> None:
    with pytest.raises(MoneyError) as caught:
        read_price_words(text)
    assert result in str(caught.value)
    assert "like 1.20 each" in str(caught.value) or "like 8/sheet" in str(caught.value)


def test_a_sum_for_several_without_a_sign_is_asked_about() -> None:
    with pytest.raises(PriceWordsError) as caught:
        read_price_words("2 for 5")
    assert caught.value.offers == ("5 per 2", "2 total")
    assert read_price_words("5 per 2") == PriceWords("5", "2")


class Steps:
    """Counts what reading costs: lines of the module run, and signs its patterns look at.

    A pattern held to one place looks at each sign once; one that searches may begin at each.
    """

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.count = 0
        for name, pattern in vars(price_text).items():
            if isinstance(pattern, re.Pattern):
                monkeypatch.setattr(price_text, name, self.counted(pattern))

    def counted(self, pattern: re.Pattern[str]) -> SimpleNamespace:
        def counting(method: str, power: int):
            def run(text: str):
                self.count += len(text) ** power
                return getattr(pattern, method)(text)

            return run

        powers = {"match": 1, "fullmatch": 1, "search": 2}
        return SimpleNamespace(**{name: counting(name, power) for name, power in powers.items()})

    def trace(self, frame: FrameType, event: str, _: object):
        if frame.f_code.co_filename != price_text.__file__:
            return None
        self.count += event == "line"
        return self.trace

    def of(self, text: str) -> int:
        self.count, before = 0, sys.gettrace()
        sys.settrace(self.trace)
        try:
            with suppress(MoneyError):
                read_price_words(text)
        finally:
            sys.settrace(before)
        return self.count


@pytest.mark.parametrize("end", ["", " obo", "x"])
@pytest.mark.parametrize("piece", ["1,", "- ", "1 a ", "obo ", " (", "/", " "])
def test_twice_as_long_a_text_takes_twice_the_steps(monkeypatch, piece: str, end: str) -> None:
    steps = Steps(monkeypatch)
    short, long = (steps.of("1" + piece * length + end) for length in (2000, 4000))
    assert 0 < long <= 2 * short


def test_a_long_ending_of_a_bargain_is_cut_off_whole() -> None:
    assert read_price_words("45" + " (" * 3000 + "OR NEAREST OFFER)") == PriceWords(
        "45", note="or best offer"
    )
