"""Whole-number programs, handed to HiGHS through scipy: the one module that does so.

HiGHS works in binary fractions. What comes back is therefore rounded to whole numbers, checked
against every row in exact arithmetic and its cost summed again exactly; a plan that fails the
check is not used. Its bound is only trusted where the costs allow a step between plans: costs are
brought to whole numbers first, so that a bound of 72.0001 says that no plan below 73 exists.

scipy is read in when a plan is asked for: it takes longer to load than most commands run.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import numpy

if TYPE_CHECKING:
    from scipy.sparse import csr_array

Exact = int | Fraction
# HiGHS calls a row met that is out by up to this much; a bound may be wrong by as little.
SLACK = Fraction(1, 10**5)
# What scipy calls a program without any solution.
IMPOSSIBLE = 2


@dataclass(frozen=True)
class Row:
    """``low`` ≤ sum of coefficient × variable ≤ ``high``; None is open."""

    coefficients: Mapping[int, Exact]
    low: Exact | None = None
    high: Exact | None = None

    def holds(self, values: Sequence[int]) -> bool:
        """Whether the row is met, worked out exactly."""
        total = sum((factor * values[place] for place, factor in self.coefficients.items()), 0)
        return (self.low is None or total >= self.low) and (self.high is None or total <= self.high)


@dataclass(frozen=True)
class Answer:
    """The best plan found.

    ``values``: whole numbers, one for each variable; ``cost``: exact; ``bound``: no plan costs
    less than this (None: not known); ``proved``: the plan's cost is the bound.
    """

    values: tuple[int, ...]
    cost: Fraction
    bound: Fraction | None
    proved: bool


@dataclass(frozen=True)
class Search:
    """``answer`` None: none was found. ``is_impossible``: it is proved that there is none."""

    answer: Answer | None
    is_impossible: bool = False


def least(
    costs: Sequence[Exact],
    rows: Sequence[Row],
    upper: Sequence[int | None],
    seconds: Exact = 20,
    nodes: int | None = None,
) -> Answer | None:
    """The cheapest whole numbers from 0 to ``upper`` that meet every row.

    None: there is no such plan, or none was found within ``seconds``. The same program always
    gives the same answer as long as the time is not used up. ``nodes`` ends the search after so
    many branchings, which unlike time is the same on every machine.
    """
    return search(costs, rows, upper, seconds, nodes).answer


def search(
    costs: Sequence[Exact],
    rows: Sequence[Row],
    upper: Sequence[int | None],
    seconds: Exact = 20,
    nodes: int | None = None,
) -> Search:
    """As ``least``, and whether it is proved that there is no such plan."""
    if not costs:
        met = _met(rows, ())
        return Search(Answer((), Fraction(0), Fraction(0), True) if met else None, not met)
    try:
        return _search(costs, rows, upper, seconds, nodes)
    except OverflowError:
        # Numbers beyond what a binary fraction holds: nothing is known then.
        return Search(None)


def _search(
    costs: Sequence[Exact],
    rows: Sequence[Row],
    upper: Sequence[int | None],
    seconds: Exact,
    nodes: int | None,
) -> Search:
    from scipy.optimize import Bounds, LinearConstraint, milp

    step = _step(costs)
    scaled = [cost / step for cost in costs]
    table = _table(rows, len(costs))
    found = milp(
        numpy.array(scaled, dtype="float64"),
        constraints=[LinearConstraint(table, _ends(rows, True), _ends(rows, False))]
        if rows
        else [],
        integrality=numpy.ones(len(costs), dtype="int64"),
        bounds=Bounds(
            0, numpy.array([math.inf if top is None else top for top in upper], dtype="float64")
        ),
        options={
            "time_limit": numpy.float64(seconds),
            "mip_rel_gap": 0,
            **({} if nodes is None else {"node_limit": nodes}),
        },
    )
    if found.x is None:
        return Search(None, found.status == IMPOSSIBLE)
    values = tuple(int(value) for value in numpy.rint(found.x))
    if not _met(rows, values) or any(
        value < 0 or (top is not None and value > top)
        for value, top in zip(values, upper, strict=True)
    ):
        return Search(None)
    cost = sum((c * v for c, v in zip(costs, values, strict=True)), Fraction(0))
    bound = _bound(found.mip_dual_bound, step)
    return Search(Answer(values, Fraction(cost), bound, bound is not None and bound >= cost))


def prices_of_rows(
    costs: Sequence[Exact], rows: Sequence[Row], scale: int
) -> tuple[tuple[int, ...], Fraction] | None:
    """What one more of each row's bound would cost, were fractions of things allowed.

    For the cheapest non-negative amounts under rows that each have one open end. Answers whole
    multiples of 1/``scale``, never below 0 and rounded down, and what those amounts cost, roughly:
    both are a lead and prove nothing by themselves. None: no such amounts.
    """
    from scipy.optimize import linprog

    signs = [1 if row.low is None else -1 for row in rows]
    table = _table(rows, len(costs))
    table = table.multiply(numpy.array(signs, dtype="float64")[:, None]).tocsr()
    ends = [row.high if row.low is None else -row.low for row in rows]
    found = linprog(
        numpy.array(costs, dtype="float64"),
        A_ub=table,
        b_ub=numpy.array(ends, dtype="float64"),
        method="highs",
    )
    if found.x is None or found.status != 0:
        return None
    prices = [
        max(0, math.floor(-Fraction(one) * scale)) for one in found.ineqlin.marginals.tolist()
    ]
    return tuple(prices), Fraction(str(found.fun))


# Beyond this, sums of values might not fit the machine's whole numbers.
MOST_VALUE = 2**61


def best_fill(
    widths: Sequence[int], values: Sequence[int], most: Sequence[int], rooms: Sequence[int]
) -> list[tuple[int, tuple[int, ...]]]:
    """For each room, the most value that fits and how many of each thing make it; exact.

    All are whole numbers; ``most`` limits how many of each thing there are.
    """
    top = max(rooms, default=0)
    if sum(value * count for value, count in zip(values, most, strict=True)) > MOST_VALUE:
        raise OverflowError("values too large to be summed exactly")
    best = numpy.zeros(top + 1, dtype="int64")
    steps = []
    for place, (width, value, count) in enumerate(zip(widths, values, most, strict=True)):
        left, lot = min(count, top // width), 1
        while left > 0 and value > 0:
            lot = min(lot, left)
            if lot * width > top:
                break
            with_it = best[: top + 1 - lot * width] + lot * value
            is_better = with_it > best[lot * width :]
            best[lot * width :][is_better] = with_it[is_better]
            steps.append((place, lot, numpy.packbits(is_better)))
            left, lot = left - lot, lot * 2
    found = []
    for room in rooms:
        counts, at = [0] * len(widths), room
        for place, lot, taken in reversed(steps):
            at_before = at - lot * widths[place]
            if at_before >= 0 and taken[at_before >> 3] >> (7 - (at_before & 7)) & 1:
                counts[place] += lot
                at = at_before
        found.append((int(best[room]), tuple(counts)))
    return found


def _table(rows: Sequence[Row], columns: int) -> "csr_array":
    from scipy.sparse import csr_array

    lengths = [len(row.coefficients) for row in rows]
    return csr_array(
        (
            numpy.array([f for row in rows for f in row.coefficients.values()], dtype="float64"),
            numpy.array([p for row in rows for p in row.coefficients], dtype="int64"),
            numpy.array([0, *_running(lengths)], dtype="int64"),
        ),
        shape=(len(rows), columns),
    )


def _met(rows: Sequence[Row], values: Sequence[int]) -> bool:
    return all(row.holds(values) for row in rows)


def _step(costs: Sequence[Exact]) -> Fraction:
    """The largest amount that every cost is a whole multiple of (1 where all are 0)."""
    fractions = [Fraction(cost) for cost in costs]
    below = math.lcm(*(one.denominator for one in fractions))
    above = math.gcd(*(int(one * below) for one in fractions))
    return Fraction(above, below) if above else Fraction(1)


def _bound(value: object, step: Fraction) -> Fraction | None:
    """The next whole step at or above what HiGHS proved; None where it proved nothing."""
    if not isinstance(value, (int, float)) or not math.isfinite(value):
        return None
    exact = Fraction(value)
    return math.ceil(exact - SLACK - abs(exact) * Fraction(1, 10**9)) * step


def _running(lengths: Sequence[int]) -> list[int]:
    ends, total = [], 0
    for length in lengths:
        total += length
        ends.append(total)
    return ends


def _ends(rows: Sequence[Row], lower: bool) -> numpy.ndarray:
    ends = [row.low if lower else row.high for row in rows]
    far = -math.inf if lower else math.inf
    return numpy.array([far if end is None else end for end in ends], dtype="float64")
