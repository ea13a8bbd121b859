"""Allowances for waste that have a source, as suggestions: the builder states the own one."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Final

from materials.calc.money import round_half_up
from materials.takeoffs.calc.types import Kind, Question


@dataclass(frozen=True, slots=True)
class Suggestion:
    """An allowance in per cent, from ``least`` to ``most``, and who suggests it for what."""

    least: int
    most: int
    text: str


SUGGESTIONS: Final = {
    "lumber": Suggestion(
        10, 10, "For example 10% for lumber of 2 in and more (Army EN0069A, table 4-1)"
    ),
    "concrete": Suggestion(
        10, 10, "For example 10% for concrete (Navy NAVEDTRA 14070, after P-405)"
    ),
    "boards": Suggestion(15, 15, "For example 15% for boards on a floor (Army EN01136, lesson 5)"),
    "mortar": Suggestion(
        10, 10, "Tables of block mortar include 10% already (Navy NAVEDTRA 14045)"
    ),
    "stabiliser": Suggestion(5, 10, "For example 5 to 10% of compressed earth (trade page)"),
}


def suggested(name: str) -> str:
    """The help below a box for an allowance."""
    return f"Your own figure. {SUGGESTIONS[name].text}."


def to_nearest(value: Fraction) -> Decimal:
    """The manual's rounding of an allowance: half and more goes up, less is dropped.

    Source: Army EN0069A. It can come out below what is needed; what is bought is rounded up.
    """
    return round_half_up(value, 0)


def waste_ask(name: str, start: str = "0") -> Question:
    """A question for an allowance; ``name`` of a suggestion with a source, or an empty text."""
    text = suggested(name) if name else "Your own allowance."
    return Question("waste", "Waste allowance, %", Kind.PERCENT, start, text, needed=False)
