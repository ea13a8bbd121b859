"""Square roots and pi, exact where they can be and to a stated number of digits elsewhere."""

from decimal import Context, Decimal, localcontext
from fractions import Fraction
from math import isqrt
from typing import Final

# Significant digits of an irrational factor. Work is done with some more.
DIGITS: Final = 28
_WORK: Final = Context(prec=DIGITS + 12)


def root(value: Fraction) -> Fraction:
    """The square root: exact for the square of a fraction, else rounded to ``DIGITS`` digits."""
    above, below = isqrt(value.numerator), isqrt(value.denominator)
    if above * above == value.numerator and below * below == value.denominator:
        return Fraction(above, below)
    return Fraction(decimal_root(value))


def decimal_root(value: Fraction) -> Decimal:
    """The square root as a Decimal of ``DIGITS`` digits."""
    with localcontext(_WORK):
        exact = (Decimal(value.numerator) / Decimal(value.denominator)).sqrt()
    with localcontext(Context(prec=DIGITS)):
        return +exact


def _work_out_pi() -> Fraction:
    """Pi by Machin's formula: 16 arctan 1/5 - 4 arctan 1/239."""

    def arctan_of_one_over(n: int) -> Fraction:
        total, power, sign = Fraction(0), Fraction(1, n), 1
        for odd in range(1, 61, 2):
            total += sign * power / odd
            power, sign = power / (n * n), -sign
        return total

    exact = 16 * arctan_of_one_over(5) - 4 * arctan_of_one_over(239)
    with localcontext(Context(prec=DIGITS)):
        return Fraction(Decimal(exact.numerator) / Decimal(exact.denominator))


PI: Final = _work_out_pi()
