"""Where to saw a board: one rule for every cut.

All marks are measured from one end of the whole board, before the first cut. The blade begins at
the mark, and the whole saw cut lies behind it. So the cut that takes the first end off, which is
part of what is cut off there, begins one saw cut before the first piece does.
"""

from fractions import Fraction

from .types import Cut, Order


def marks_of(order: Order, cut: Cut, is_kept: bool) -> list[Fraction]:
    """Distances of the marks from the end that the first piece lies at, in order.

    ``is_kept``: the off-cut is kept, so that the far end comes off it; waste is left with its end.
    The order is one that ``check.check`` lets pass: no end is thinner than its saw cut.
    """
    stock = order.stocks[cut.stock]
    marks = [stock.trim - order.kerf] if stock.trim else []
    at = stock.trim
    sizes = [order.needs[need].length for need, count in cut.pieces for _ in range(count)]
    for size in sizes[: cut.kerfs]:
        at += size
        marks.append(at)
        at += order.kerf
    # The last piece reaches to the far end that is cut off, or what is kept does.
    if stock.trim and (is_kept or cut.kerfs < len(sizes)):
        marks.append(stock.length - stock.trim)
    return marks
