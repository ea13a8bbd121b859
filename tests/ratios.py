"""Whether work grows with its size and no faster, however busy the machine is."""

import time
from collections.abc import Callable


def grows_evenly(work: Callable[[int], object], size: int) -> bool:
    """Whether eight times the size takes far less than the 64 times of what grows squared.

    Time of this process alone is counted, the least of a few runs.
    """
    return _least(work, 8 * size) < 24 * _least(work, size)


def _least(work: Callable[[int], object], size: int) -> float:
    spans = []
    for _ in range(3):
        started = time.process_time()
        work(size)
        spans.append(time.process_time() - started)
    return min(spans)
