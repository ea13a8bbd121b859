"""The question for an allowance for waste, and the manual's rounding of one."""

from decimal import Decimal
from fractions import Fraction

from materials.calc.money import round_half_up
from materials.calc.waste import suggested
from materials.takeoffs.calc.types import Kind, Question


def to_nearest(value: Fraction) -> Decimal:
    """The manual's rounding of an allowance: half and more goes up, less is dropped.

    Source: Army EN0069A. It can come out below what is needed; what is bought is rounded up.
    """
    return round_half_up(value, 0)


def waste_ask(name: str, start: str = "0") -> Question:
    """A question for an allowance; ``name`` of a suggestion with a source, or an empty text."""
    text = suggested(name) if name else "Your own allowance."
    return Question("waste", "Waste allowance, %", Kind.PERCENT, start, text, needed=False)
