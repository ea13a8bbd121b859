"""Typed quantities in formulas: the leading number of the text counts, the rest stays as it was.

“40 pieces”, “16 @ 2x8x12”, “2.5 squares”, “7 ft 6 in”: what a quantity comes to grows evenly
with its first number. That number is read out of the cell by formula, so that changing it moves
the totals. If anything else of the text is changed, a formula cannot know what was meant and
gives #N/A rather than the old figure; the cost sheet then says so.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ...calc.quantities import QuantityError
from .refs import number, quoted

# Not a thousands mark, a fraction or a range: those are read as a whole or not at all.
LEADING = re.compile(r"([0-9]{1,15}(?:\.[0-9]{1,9})?)(?![0-9.,/])(.*)", re.DOTALL)
MOST_KEPT = 20_000

Measure = Callable[[str], Fraction]


@dataclass(frozen=True, slots=True)
class Scale:
    """What a quantity comes to: ``factor`` times its first number, and ``added``."""

    factor: Fraction
    added: Fraction = Fraction(0)

    def of(self, cell: str) -> str:
        """As a formula over the cell that holds the first number."""
        whole = cell if self.factor == 1 else f"{cell}*{number(self.factor)}"
        return f"{whole}+{number(self.added)}" if self.added else whole


@dataclass(frozen=True, slots=True)
class Typed:
    """How a typed quantity is followed: the number's formula, and its scales."""

    text: str
    rest: str | None
    scales: tuple[Scale | None, ...]

    def number(self, cell: str) -> str:
        """The first number in a cell; #N/A where the rest of the text is another."""
        if self.rest is None:
            return f"IF({cell}={quoted(self.text)},1,NA())"
        size = len(self.rest)
        digits = f'SUBSTITUTE(SUBSTITUTE(LEFT({cell},LEN({cell})-{size}),".",""),",","x")'
        # Read with an exponent, digits are a number in every language and never a date.
        return (
            f'IF(RIGHT({cell},{size})={quoted(self.rest)},VALUE({digits}&"E0")'
            f'/10^MAX(0,LEN({cell})-{size}-FIND(".",{cell}&".")),NA())'
        )


def _even(rest: str, measure: Measure) -> Scale | None:
    """The scale of everything that ends in ``rest``; None where it does not grow evenly."""
    try:
        one, two, three = (measure(f"{count}{rest}") for count in (1, 2, 3))
    except QuantityError:
        return None
    return Scale(two - one, 2 * one - two) if three - two == two - one else None


def _plain(text: str, measure: Measure) -> Scale | None:
    try:
        return Scale(measure(text))
    except QuantityError:
        return None


class TypedReader:
    """Finds out how typed quantities are followed; what was found for a text is kept."""

    def __init__(self) -> None:
        self._kept: dict[tuple[str, object], tuple[Scale | None, ...] | None] = {}

    def read(self, text: str, key: object, *measures: Measure) -> Typed:
        """``key`` says what the measures depend on. A measure that refuses has no scale."""
        match = LEADING.fullmatch(text)
        if match is not None:
            count, rest = Fraction(match[1]), match[2]
            known = (rest, key)
            if known not in self._kept:
                if len(self._kept) >= MOST_KEPT:
                    self._kept.clear()
                self._kept[known] = self._scales(text, count, rest, measures)
            scales = self._kept[known]
            if scales is not None:
                return Typed(text, rest, scales)
        return Typed(text, None, tuple(_plain(text, measure) for measure in measures))

    @staticmethod
    def _scales(
        text: str, count: Fraction, rest: str, measures: tuple[Measure, ...]
    ) -> tuple[Scale | None, ...] | None:
        scales: list[Scale | None] = []
        for measure in measures:
            even, plain = _even(rest, measure), _plain(text, measure)
            if plain is None:
                scales.append(None)
            elif even is None or even.factor * count + even.added != plain.factor:
                return None
            else:
                scales.append(even)
        return tuple(scales)
