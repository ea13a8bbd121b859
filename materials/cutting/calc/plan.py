"""The cutting plan: least cost, then least waste, then the longest off-cut.

The three are decided one after another, each with what came before held fixed (see
``cheapest_boards`` for how, ``types`` for what counts as what). The same order gives the same
plan as long as the time is not used up.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from .cheapest_boards import cover
from .check import check, name_missing, usable_stocks
from .off_cut import Boards, longest_off_cut, without_surplus
from .patterns import Kind, fill_greedily
from .program import Budget, Clock, Column, Cover, Task, shortage
from .types import Cut, CuttingError, Order, Plan


@dataclass(frozen=True)
class _Scaled:
    """An order in whole numbers: ``step`` of them to a unit of length, ``money_scale`` to one of
    money."""

    order: Order
    places: tuple[int, ...]
    lengths: tuple[int, ...]
    widths: tuple[int, ...]
    demand: tuple[int, ...]
    kinds: tuple[Kind, ...]
    spans: tuple[int, ...]
    costs: tuple[int, ...]
    kerf: int
    step: Fraction
    money_scale: Fraction


def plan_cuts(order: Order, left: Clock, seconds: int) -> Plan:
    """The best plan found while ``left()`` gives milliseconds, of ``seconds`` in all.

    Raises CuttingError where pieces fit no board or boards run out.
    """
    check(order)
    places, left_out, priced = usable_stocks(order)
    scaled = _scale(order, places, priced)
    start = _first_plan(scaled, left, seconds, left_out)

    def until(part: Fraction) -> Callable[[], int]:
        kept = math.floor(seconds * 1000 * part)
        return lambda: max(0, left() - kept)

    cheapest = _cheapest(scaled, start, until(Fraction(2, 5)))
    least_waste = _least_waste(scaled, cheapest, until(Fraction(1, 5)))
    cost = _sum(scaled.costs, least_waste.boards)
    used = _sum(scaled.spans, least_waste.boards)
    plain = without_surplus(scaled.demand, scaled.widths, scaled.kinds, least_waste.boards)
    boards, is_longest = longest_off_cut(
        Boards(scaled.widths, scaled.demand, scaled.kinds, scaled.costs, scaled.spans, scaled.kerf),
        plain,
        (cost, used),
        least_waste.columns,
        least_waste.is_complete,
        left,
    )
    return _as_plan(scaled, cheapest, least_waste, boards, is_longest, left_out, priced)


def _scale(order: Order, places: tuple[int, ...], priced: bool) -> _Scaled:
    stocks = [order.stocks[place] for place in places]
    by_length = sorted({need.length for need in order.needs}, reverse=True)
    all_lengths = [order.kerf, *by_length, *(s.length for s in stocks), *(s.usable for s in stocks)]
    step = math.lcm(*(one.denominator for one in all_lengths))
    whole = math.gcd(*(int(one * step) for one in all_lengths))
    step_of = Fraction(step, whole)

    def steps(length: Fraction) -> int:
        return int(length * step_of)

    kerf = steps(order.kerf)
    demand = tuple(sum(n.count for n in order.needs if n.length == one) for one in by_length)
    pieces = sum(demand)
    kinds = tuple(
        Kind(
            steps(stock.usable) + kerf,
            pieces if stock.count is None else min(stock.count, pieces),
        )
        for stock in stocks
    )
    if priced:
        prices = [s.price or Fraction(0) for s in stocks]
    else:
        # No price is known: what is on hand goes first, then as little length as will do.
        prices = [Fraction(0) if s.is_on_hand else s.length for s in stocks]
    money_scale = math.lcm(*(price.denominator for price in prices))
    costs = [int(price * money_scale) for price in prices]
    shared = math.gcd(*costs) or 1
    return _Scaled(
        order,
        places,
        tuple(steps(one) for one in by_length),
        tuple(steps(one) + kerf for one in by_length),
        demand,
        kinds,
        tuple(steps(stock.length) for stock in stocks),
        tuple(cost // shared for cost in costs),
        kerf,
        step_of,
        Fraction(money_scale, shared),
    )


def _first_plan(
    scaled: _Scaled, left: Clock, seconds: int, left_out: tuple[int, ...]
) -> dict[Column, int]:
    """Some plan to begin with. Raises CuttingError naming what is missing."""
    costs, spans, kinds = scaled.costs, scaled.spans, scaled.kinds
    ranks: list[Callable[[int, int], tuple[int, ...]]] = [
        # The least cost for what it holds, the least length for it, the least empty room.
        lambda k, width: (costs[k] * 10**6 // width, spans[k] * 10**6 // width),
        lambda k, width: (costs[k], spans[k] * 10**6 // width),
        lambda k, width: (spans[k] * 10**6 // width, costs[k]),
        lambda k, width: (kinds[k].room - width, costs[k]),
        lambda k, width: (-spans[k], costs[k]),
    ]
    found: list[tuple[int, int, dict[Column, int]]] = []
    for rank in ranks:
        boards = fill_greedily(scaled.widths, scaled.demand, kinds, rank)
        if boards is not None:
            counted = _counted(boards)
            found.append((_sum(costs, counted), _sum(spans, counted), counted))
    if found:
        return min(found, key=lambda one: one[:2])[2]
    task = Task(
        scaled.widths,
        scaled.demand,
        kinds,
        [0] * len(kinds),
        missing=scaled.lengths,
    )
    most = cover(task, {}, left)
    if most.cost:
        short = shortage(scaled.demand, most.boards)
        raise CuttingError(*name_missing(scaled.order, short, most.proved, seconds, left_out))
    return most.boards


def _counted(boards: list[Column]) -> dict[Column, int]:
    counted: dict[Column, int] = {}
    for column in boards:
        counted[column] = counted.get(column, 0) + 1
    return counted


def _sum(parts: tuple[int, ...], boards: dict[Column, int]) -> int:
    return sum(parts[place] * count for (place, _), count in boards.items())


def _cheapest(scaled: _Scaled, start: dict[Column, int], left: Clock) -> Cover:
    if not any(scaled.costs):
        return Cover(start, 0, 0, (), False)
    return cover(Task(scaled.widths, scaled.demand, scaled.kinds, scaled.costs), start, left)


def _least_waste(scaled: _Scaled, cheapest: Cover, left: Clock) -> Cover:
    """The least length among plans that cost no more."""
    spans, costs = scaled.spans, scaled.costs
    used = _sum(spans, cheapest.boards)
    if costs[0] and all(s * costs[0] == spans[0] * c for s, c in zip(spans, costs, strict=True)):
        # What costs the same is as long.
        bound = used if cheapest.proved else -(-cheapest.bound * spans[0] // costs[0])
        return Cover(cheapest.boards, used, bound, cheapest.columns, cheapest.is_complete)
    shared = math.gcd(*spans)
    task = Task(
        scaled.widths,
        scaled.demand,
        scaled.kinds,
        [span // shared for span in spans],
        [Budget(costs, cheapest.cost)] if any(costs) else (),
    )
    least_waste = cover(task, cheapest.boards, left)
    columns = tuple(dict.fromkeys([*cheapest.columns, *least_waste.columns]))
    return Cover(
        least_waste.boards,
        least_waste.cost * shared,
        least_waste.bound * shared,
        columns,
        least_waste.is_complete,
    )


def _as_plan(
    scaled: _Scaled,
    cheapest: Cover,
    least_waste: Cover,
    boards: dict[Column, int],
    is_longest: bool,
    left_out: tuple[int, ...],
    priced: bool,
) -> Plan:
    order = scaled.order
    cuts = _cuts(scaled, boards)
    stocks = [(order.stocks[cut.stock], cut.count) for cut in cuts]
    needed = sum((need.length * need.count for need in order.needs), Fraction(0))
    used = sum((stock.length * count for stock, count in stocks), Fraction(0))
    is_known = all(stock.price is not None or stock.is_on_hand for stock, _ in stocks)
    cost = sum(((stock.price or Fraction(0)) * n for stock, n in stocks), Fraction(0))
    alone = None
    if len({kind.room for kind in scaled.kinds}) == 1:
        width = sum(w * n for w, n in zip(scaled.widths, scaled.demand, strict=True))
        alone = Fraction(width, scaled.kinds[0].room)
    return Plan(
        cuts=cuts,
        cost=cost if is_known else None,
        waste=used - needed,
        used=used,
        longest=max(cut.off_cut for cut in cuts),
        cost_bound=Fraction(cheapest.bound) / scaled.money_scale if priced else None,
        waste_bound=Fraction(least_waste.bound) / scaled.step - needed,
        is_least_cost=cheapest.proved,
        is_least_waste=cheapest.proved and least_waste.proved,
        is_longest=is_longest and cheapest.proved and least_waste.proved,
        patterns=len(least_waste.columns) if least_waste.is_complete else None,
        boards_alone=alone,
        left_out=left_out,
    )


def _cuts(scaled: _Scaled, boards: dict[Column, int]) -> tuple[Cut, ...]:
    """The boards, with pieces of one length given to the rows that asked for them, in order."""
    order = scaled.order
    lengths = sorted({need.length for need in order.needs}, reverse=True)
    wanting = [
        [[i, need.count] for i, need in enumerate(order.needs) if need.length == one]
        for one in lengths
    ]
    counted: dict[tuple[int, tuple[tuple[int, int], ...], Fraction, int], int] = {}
    for (place, pattern), count in sorted(boards.items(), key=_in_order):
        width = sum(w * n for w, n in zip(scaled.widths, pattern, strict=True))
        rest = Fraction(scaled.kinds[place].room - scaled.kerf - width) / scaled.step
        kerfs = sum(pattern) - (0 if rest > -order.kerf else 1)
        for _ in range(count):
            pieces: list[tuple[int, int]] = []
            for rows, number in zip(wanting, pattern, strict=True):
                while number:
                    taken = min(number, rows[0][1])
                    pieces.append((rows[0][0], taken))
                    number -= taken
                    rows[0][1] -= taken
                    if not rows[0][1]:
                        rows.pop(0)
            key = (scaled.places[place], tuple(pieces), max(Fraction(0), rest), kerfs)
            counted[key] = counted.get(key, 0) + 1
    return tuple(
        Cut(stock, count, pieces, off_cut, kerfs)
        for (stock, pieces, off_cut, kerfs), count in counted.items()
    )


def _in_order(item: tuple[Column, int]) -> tuple[int, tuple[int, ...]]:
    (place, pattern), _ = item
    return place, tuple(-count for count in pattern)
