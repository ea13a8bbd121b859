"""Adding many fractions up.

Figures of a ledger share a few denominators, so their numerators are added as whole
numbers first: exact all the same, and several times quicker than adding one by one.
"""

from collections.abc import Iterable
from fractions import Fraction
from math import lcm


def add_up(values: Iterable[Fraction]) -> Fraction:
    """The exact sum; 0 for nothing."""
    numerators: dict[int, int] = {}
    for value in values:
        above, below = value.as_integer_ratio()
        numerators[below] = numerators.get(below, 0) + above
    # One common denominator, reduced once, however many there were.
    whole = lcm(*numerators)
    return Fraction(sum(above * (whole // below) for below, above in numerators.items()), whole)
