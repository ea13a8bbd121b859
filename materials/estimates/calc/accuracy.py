"""How far an estimate may be off, by how far the work is defined (AACE 18R-97).

Shares of one; ``low`` values are below 0. The table is of the process industries; building work
has a recommended practice of its own (56R-08) with ranges of the same shape.
"""

from dataclasses import dataclass
from fractions import Fraction


def _percent(value: int) -> Fraction:
    return Fraction(value, 100)


@dataclass(frozen=True, slots=True)
class EstimateClass:
    """One class. Pairs are (inner, outer): the narrow and the wide end of the published range.

    ``defined``: how much of the work is worked out, from and to.
    """

    number: int
    defined: tuple[Fraction, Fraction]
    low: tuple[Fraction, Fraction]
    high: tuple[Fraction, Fraction]

    def widest(self, amount: Fraction) -> tuple[Fraction, Fraction]:
        """Lowest and highest of an estimate at the wide ends."""
        return amount * (1 + self.low[1]), amount * (1 + self.high[1])


def _row(
    number: int, defined: tuple[int, int], low: tuple[int, int], high: tuple[int, int]
) -> EstimateClass:
    pairs = [(_percent(pair[0]), _percent(pair[1])) for pair in (defined, low, high)]
    return EstimateClass(number, *pairs)


CLASSES: dict[int, EstimateClass] = {
    row.number: row
    for row in (
        _row(5, (0, 2), (-20, -50), (30, 100)),
        _row(4, (1, 15), (-15, -30), (20, 50)),
        _row(3, (10, 40), (-10, -20), (10, 30)),
        _row(2, (30, 75), (-5, -15), (5, 20)),
        _row(1, (65, 100), (-3, -10), (3, 15)),
    )
}


def classes_for(defined: Fraction) -> tuple[EstimateClass, ...]:
    """Classes whose stated definition holds a share of one, the roughest first.

    Neighbours overlap, so there may be two; outside 0 to 1 there is none.
    """
    return tuple(row for row in CLASSES.values() if row.defined[0] <= defined <= row.defined[1])
