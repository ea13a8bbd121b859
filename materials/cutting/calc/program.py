"""One step of a cutting plan as a program in whole numbers, and its answer."""

from collections.abc import Sequence
from dataclasses import dataclass

from .patterns import Kind, Pattern

# A kind of board and how it is filled.
Column = tuple[int, Pattern]


@dataclass(frozen=True)
class Budget:
    """No more than ``most`` in all, where a board of each kind takes its part."""

    parts: Sequence[int]
    most: int


@dataclass(frozen=True)
class Task:
    """Pieces of some widths, how many of each, boards, and what a board of each kind costs.

    ``missing``: what a piece that is not cut costs; None: all must be cut.
    """

    widths: Sequence[int]
    demand: Sequence[int]
    kinds: Sequence[Kind]
    costs: Sequence[int]
    budgets: Sequence[Budget] = ()
    missing: Sequence[int] | None = None


@dataclass(frozen=True)
class Cover:
    """Boards by pattern and count, what they cost, and below what cost there is nothing."""

    boards: dict[Column, int]
    cost: int
    bound: int
    columns: tuple[Column, ...]
    is_complete: bool

    @property
    def proved(self) -> bool:
        """Whether nothing costs less."""
        return self.cost <= self.bound


def shortage(demand: Sequence[int], boards: dict[Column, int]) -> list[int]:
    """How many of each piece the boards do not yield."""
    return [
        max(0, need - sum(pattern[item] * count for (_, pattern), count in boards.items()))
        for item, need in enumerate(demand)
    ]
