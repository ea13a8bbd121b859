"""How many boards of a stock length yield whole sides, none of them pieced together."""

from fractions import Fraction

# All choices are weighed for so many of each side at once; more are done in such parts.
_PART = 48


def boards_for(long: Fraction, short: Fraction, count: int, stock: Fraction) -> int | None:
    """Boards for ``count`` sides of each of two lengths; None where one is longer than the stock.

    The fewest there are up to 48 of each, and for sides of one length. Saw cuts are not counted.
    """
    short, long = sorted((long, short))
    if long > stock:
        return None
    if long == short:
        return -(-2 * count // (stock // long))
    # How many of the long ones one board holds, and how many of the short ones besides.
    most = min(stock // long, _PART)
    fills = [(n, min(_PART, (stock - n * long) // short)) for n in range(most + 1)]
    parts, rest = divmod(count, _PART)
    return (parts * _fewest(_PART, fills) if parts else 0) + _fewest(rest, fills)


def _fewest(count: int, fills: list[tuple[int, int]]) -> int:
    """The fewest boards for ``count`` of each, each filled in one of the ways there are."""
    least: dict[tuple[int, int], int] = {(0, 0): 0}
    for a in range(count + 1):
        for b in range(count + 1):
            if (a, b) != (0, 0):
                left = {(max(0, a - n), max(0, b - m)) for n, m in fills} - {(a, b)}
                least[a, b] = 1 + min(least[each] for each in left)
    return least[count, count]
