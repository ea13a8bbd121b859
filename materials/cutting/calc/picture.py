"""Where pieces, saw cuts and rests lie on a board, in per cent of the longest board drawn."""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from ...calc.letters import letters
from ...calc.money import round_half_up
from .marks import marks_of
from .types import Cut, Order, Plan

# Narrower than this, a letter does not fit into its piece.
_ROOM_FOR_A_LETTER = 3


@dataclass(frozen=True)
class Part:
    """One stretch of a board: ``kind`` is piece, off-cut or waste; the letter says which piece."""

    kind: str
    left: str
    wide: str
    middle: str
    letter: str


@dataclass(frozen=True)
class Strip:
    """All boards that are cut alike: the parts drawn, and the same in words.

    ``marks``: where the blade begins (see ``marks``).
    """

    count: int
    board: str
    parts: tuple[Part, ...]
    pieces: tuple[tuple[str, int, str], ...]
    marks: tuple[str, ...]
    off_cut: str
    is_kept: bool
    description: str


def strips(
    order: Order, plan: Plan, length: Callable[[Fraction], str], keep: Fraction
) -> list[Strip]:
    """The boards of a plan. Off-cuts from ``keep`` on count as kept."""
    longest = max(order.stocks[cut.stock].length for cut in plan.cuts)
    return [_strip(order, cut, length, keep, longest) for cut in plan.cuts]


def _strip(
    order: Order, cut: Cut, length: Callable[[Fraction], str], keep: Fraction, longest: Fraction
) -> Strip:
    stock = order.stocks[cut.stock]
    parts: list[Part] = []

    def draw(kind: str, start: Fraction, size: Fraction, letter: str = "") -> None:
        if size <= 0:
            return
        wide = size / longest * 100
        shown = letter if wide >= _ROOM_FOR_A_LETTER * len(letter) else ""
        middle = (start + size / 2) / longest * 100
        parts.append(Part(kind, _share(start / longest * 100), _share(wide), _share(middle), shown))

    at = stock.trim
    draw("waste", Fraction(0), stock.trim)
    for need, count in cut.pieces:
        for _ in range(count):
            size = order.needs[need].length
            draw("piece", at, size, letters(need + 1))
            at += size + order.kerf
    is_kept = cut.off_cut > 0 and cut.off_cut >= keep
    draw("off-cut" if is_kept else "waste", at, cut.off_cut)
    draw("waste", stock.length - stock.trim, stock.trim)
    pieces = tuple((letters(n + 1), count, order.needs[n].name) for n, count in cut.pieces)
    sequence = ", then ".join(f"{count} of {name} ({letter})" for letter, count, name in pieces)
    rest = f"; the off-cut is {length(cut.off_cut)}" if cut.off_cut else "; no off-cut"
    board = f"{stock.name} on hand" if stock.is_on_hand else stock.name
    return Strip(
        cut.count,
        board,
        tuple(parts),
        pieces,
        tuple(length(mark) for mark in marks_of(order, cut, is_kept)),
        length(cut.off_cut) if cut.off_cut else "",
        is_kept,
        f"From one end: {sequence}{rest}.",
    )


def _share(value: Fraction) -> str:
    return f"{round_half_up(value, 3):f}%"
