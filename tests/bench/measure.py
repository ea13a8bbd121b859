"""Ratios of a case to its reference, taken in turn.

What else the machine does falls on both, so a ratio holds where a time alone would not.
"""

import gc
import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

Work = Callable[[], object]
Pairs = list[tuple[float, float]]


@dataclass(frozen=True)
class Row:
    """One measured figure beside its limit (None: reported only).

    ``value`` is the median, ``lowest`` and ``highest`` its spread over the runs; ``unit`` is
    ``x`` for a ratio. ``case_ms`` and ``reference_ms`` are the medians it was made of.
    """

    case: str
    what: str
    value: float
    lowest: float
    highest: float
    limit: float | None = None
    unit: str = "x"
    case_ms: float | None = None
    reference_ms: float | None = None
    note: str = ""

    @property
    def is_over(self) -> bool:
        """Whether the limit is exceeded."""
        return self.limit is not None and self.value > self.limit

    def as_json(self) -> dict[str, Any]:
        """Plain values, for a file."""
        return asdict(self) | {"is_over": self.is_over}

    def as_line(self) -> str:
        """The row of the printed table."""
        mark = "" if self.limit is None else f"{'OVER' if self.is_over else 'within'} {self.limit}"
        spread = f"({self.lowest:g} to {self.highest:g})"
        times = ""
        if self.case_ms is not None and self.reference_ms is not None:
            times = f"[{self.case_ms:g} ms / {self.reference_ms:g} ms]"
        result = f"  {self.note}" if self.note else ""
        return (
            f"{self.case:<9} {self.what:<66} {self.value:>8g} {self.unit:<3} {spread:<20}"
            f" {mark:<11} {times}{result}"
        )


def seconds(work: Work) -> float:
    """How long something takes, no garbage being collected meanwhile."""
    gc.collect()
    gc.disable()
    try:
        started = time.perf_counter()
        work()
        return time.perf_counter() - started
    finally:
        gc.enable()


def in_turn(case: Work, reference: Work, runs: int, warm: bool = True, often: int = 1) -> Pairs:
    """(case seconds, reference seconds) of so many runs, after one run of each to warm up.

    ``often``: a reference much shorter than its case is run so often and divided by that: else
    it fits between two turns of whatever else the machine does, and the case alone would wait.
    """
    if warm:
        case(), reference()

    def repeated() -> None:
        for _ in range(often):
            reference()

    return [(seconds(case), seconds(repeated) / often) for _ in range(runs)]


def median_ratio(pairs: Pairs) -> float:
    """Median of the ratios of pairs taken in turn."""
    return statistics.median(case / reference for case, reference in pairs)


def ratio_row(
    case: str, what: str, pairs: Pairs, limit: float | None = None, note: str = ""
) -> Row:
    """Median ratio with its spread."""
    each = sorted(one / other for one, other in pairs)
    return Row(
        case,
        what,
        digits(statistics.median(each)),
        digits(each[0]),
        digits(each[-1]),
        limit,
        "x",
        digits(1000 * statistics.median(one for one, _ in pairs)),
        digits(1000 * statistics.median(other for _, other in pairs)),
        note,
    )


def figure_row(
    case: str,
    what: str,
    values: Sequence[float],
    unit: str,
    limit: float | None = None,
    note: str = "",
) -> Row:
    """A figure that is no ratio of times: memory, a share, a number of errors."""
    return Row(
        case,
        what,
        digits(statistics.median(values)),
        digits(min(values)),
        digits(max(values)),
        limit,
        unit,
        note=note,
    )


def digits(value: float) -> float:
    """A figure with three digits that count."""
    return float(f"{value:.3g}")


def percentile(values: Sequence[float], share: float) -> float:
    """The value that a share of all values does not exceed (nearest rank)."""
    ranked = sorted(values)
    return ranked[max(0, min(len(ranked) - 1, -int(-share * len(ranked) // 1) - 1))]
