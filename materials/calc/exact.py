"""Adding many fractions up.

Figures of a ledger share a few denominators, so their numerators are added as whole
numbers first: exact all the same, and several times quicker than adding one by one.
"""

from collections.abc import Iterable
from fractions import Fraction


def add_up(values: Iterable[Fraction]) -> Fraction:
    """The exact sum; 0 for nothing."""
    numerators: dict[int, int] = {}
    for value in values:
        below = value.denominator
        numerators[below] = numerators.get(below, 0) + value.numerator
    whole = Fraction(0)
    for below, above in numerators.items():
        whole += Fraction(above, below)
    return whole
