"""Factors of money over whole years (ASTM E917, NIST Handbook 135).

``d`` is the discount rate and ``e`` a yearly change of price, both as shares of one (3 % is
3/100); ``n`` counts whole years. Everything is an exact ``Fraction``. Rates are above −1:
what loses all its worth in a year has no present value.
"""

from fractions import Fraction

ONE = Fraction(1)


def _compounded(rate: Fraction) -> Fraction:
    """One and a rate. Raises ValueError for a rate at or below −1."""
    if rate <= -1:
        raise ValueError("a rate must be above minus one hundred per cent")
    return ONE + rate


def _years(n: int) -> int:
    if n < 0:
        raise ValueError("years are counted from 0")
    return n


def future_value(d: Fraction, n: int) -> Fraction:
    """What 1 has grown to after n years: (1+d)^n."""
    return _compounded(d) ** _years(n)


def uniform_present_value(d: Fraction, n: int) -> Fraction:
    """What 1 paid at the end of each of n years is worth now: UPV; n when d is 0."""
    if d == 0:
        return Fraction(_years(n))
    grown = future_value(d, n)
    return (grown - 1) / (d * grown)


def capital_recovery(d: Fraction, n: int) -> Fraction:
    """The equal amount at the end of each of n years that is worth 1 now: CRF = 1/UPV.

    Raises ValueError for 0 years: nothing can be spread over none.
    """
    if n < 1:
        raise ValueError("an amount needs at least one year to spread over")
    return ONE / uniform_present_value(d, n)


def real_rate(nominal: Fraction, inflation: Fraction) -> Fraction:
    """The rate above inflation: 1 + nominal = (1 + real)(1 + inflation)."""
    return _compounded(nominal) / _compounded(inflation) - 1
