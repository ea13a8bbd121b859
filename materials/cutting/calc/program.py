"""One step of a cutting plan as a program in whole numbers, and its answer."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol

from .patterns import Kind, Pattern

# A kind of board and how it is filled.
Column = tuple[int, Pattern]
# Gives the milliseconds that are left.
Clock = Callable[[], int]


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


class Filler(Protocol):
    """How boards or sheets of a task are filled; ``values`` are what pieces are worth."""

    def every(self) -> list[Column] | None:
        """All columns that a plan could want; None where they are too many."""

    def lead(self, start: dict[Column, int]) -> list[Column]:
        """Columns to begin with."""

    def best(self, values: Sequence[int]) -> list[tuple[int, Pattern]] | None:
        """By kind, what no filling is worth more than, and a filling; None: too wide to say.

        Raises OverflowError where the sums are too large.
        """

    def useful(
        self, values: Sequence[int], at_least: Sequence[int], limit: int, left: Clock
    ) -> list[Column] | None:
        """Every column worth as much as stated by kind; None where over ``limit`` or time is up."""


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
