"""The plan of sheets or ripped boards: least cost, then least waste, then the largest remnant.

The three are decided one after another, each with what came before held fixed (see
``cheapest_boards`` for how, ``types`` for what counts as what). The same order gives the same plan
as long as the time is not used up.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from ....calc.solver import Row, least
from ..cheapest_boards import cover
from ..patterns import Kind
from ..program import Budget, Clock, Column, Cover, Task, shortage
from ..types import CuttingError
from .boxes import cut_apart
from .check import check, name_missing, usable, usable_sheets
from .fillers import Flat
from .forms import forms_of, sides_of, step_of
from .greedy import Rank, fill_all, least_area
from .layouts import Rest
from .remnant import largest_remnant, without_surplus
from .types import FlatCut, FlatOrder, FlatPlan

# Finer than this, sums of sizes would take too long.
MOST_STEPS = 2_000_000


@dataclass(frozen=True)
class _Scaled:
    """An order in whole numbers: ``steps`` to a unit of length, ``money_scale`` to one of money."""

    order: FlatOrder
    places: tuple[int, ...]
    flat: Flat
    areas: tuple[int, ...]
    costs: tuple[int, ...]
    steps: Fraction
    area_scale: Fraction
    money_scale: Fraction

    def task_of(
        self,
        costs: Sequence[int],
        budgets: Sequence[Budget] = (),
        missing: Sequence[int] | None = None,
    ) -> Task:
        """What is needed, where a sheet of each kind counts for so much."""
        return Task((), self.flat.demand, self.flat.kinds, costs, budgets, missing)


def plan_sheets(order: FlatOrder, left: Clock, seconds: int) -> FlatPlan:
    """The best plan found while ``left()`` gives milliseconds, of ``seconds`` in all.

    Raises CuttingError where pieces fit nowhere or sheets run out.
    """
    check(order)
    places, left_out, priced = usable_sheets(order)
    scaled = _scale(order, places, priced)
    start = _first_plan(scaled, left, seconds, left_out)

    def until(part: Fraction) -> Callable[[], int]:
        kept = math.floor(seconds * 1000 * part)
        return lambda: max(0, left() - kept)

    # Where cost goes with area, least cost is least waste: most of the time is for the one.
    kept = Fraction(1, 10) if _goes_with_area(scaled) else Fraction(2, 5)
    cheapest = _cheapest(scaled, start, until(kept))
    thrifty = _least_waste(scaled, cheapest, until(Fraction(1, 5)))
    limits = [
        (parts, _sum(parts, thrifty.boards)) for parts in (scaled.costs, scaled.areas) if any(parts)
    ]
    plain = without_surplus(scaled.flat, thrifty.boards)
    boards, is_largest = largest_remnant(scaled.flat, plain, limits, left)
    return _as_plan(scaled, cheapest, thrifty, boards, is_largest, left_out, priced)


def _scale(order: FlatOrder, places: tuple[int, ...], priced: bool) -> _Scaled:
    sheets = [order.sheets[at] for at in places]
    sizes = [usable(sheet, order.is_ripped) for sheet in sheets]
    lengths = [order.kerf, *(side for size in sizes for side in size)]
    lengths += [sheet.trim for sheet in sheets]
    lengths += [side for part in order.parts for side in sides_of(part, order.kerf)]
    scale = step_of(lengths)

    def steps(length: Fraction) -> int:
        return int(length * scale)

    kerf = steps(order.kerf)
    room = max(max(size) for size in sizes)
    if steps(room) > MOST_STEPS:
        raise CuttingError(
            "These sizes differ too finely to be planned: round them, to 1/16 in or 1 mm."
        )
    forms = forms_of(order.parts, steps, order.kerf, room)
    demand = tuple(part.count for part in order.parts)
    whole = [(steps(length) + kerf, steps(width) + kerf) for length, width in sizes]
    pieces = sum(demand)
    kinds = [
        Kind(wide * tall, pieces if sheet.count is None else min(sheet.count, pieces))
        for sheet, (wide, tall) in zip(sheets, whole, strict=True)
    ]
    rest = Rest(kerf, math.ceil(order.keep * scale))
    flat = Flat(forms, demand, kinds, whole, rest, order.is_ripped)
    areas, area_scale = _whole([sheet.area for sheet in sheets])
    if priced:
        prices = [sheet.price or Fraction(0) for sheet in sheets]
    else:
        # No price is known: what is on hand goes first, then as little area as will do.
        prices = [Fraction(0) if sheet.is_on_hand else sheet.area for sheet in sheets]
    costs, money_scale = _whole(prices)
    return _Scaled(order, places, flat, areas, costs, scale, area_scale, money_scale)


def _whole(amounts: list[Fraction]) -> tuple[tuple[int, ...], Fraction]:
    """Amounts in whole numbers as small as can be, and how many of these are one."""
    scale = step_of(amounts)
    return tuple(int(amount * scale) for amount in amounts), scale


def _first_plan(
    scaled: _Scaled, left: Clock, seconds: int, left_out: tuple[int, ...]
) -> dict[Column, int]:
    """Some plan to begin with. Raises CuttingError naming what is missing."""
    costs, areas, flat = scaled.costs, scaled.areas, scaled.flat
    ranks: list[Rank] = [
        # The least cost for what it holds, the least area for it, the least empty room.
        lambda k, area: (costs[k] * 10**6 // area, areas[k] * 10**6 // area),
        lambda k, area: (areas[k] * 10**6 // area, costs[k]),
        lambda k, area: (flat.kinds[k].room - area, costs[k]),
        lambda k, area: (-areas[k], costs[k]),
    ]
    found = []
    for rank in ranks:
        filled = fill_all(flat.forms, flat.demand, flat.kinds, flat.sizes, flat.is_ripped, rank)
        if filled is not None:
            for column, (_, tree) in filled.items():
                flat.trees.setdefault(column, tree)
            boards = {column: count for column, (count, _) in filled.items()}
            found.append((_sum(costs, boards), _sum(areas, boards), boards))
    if found:
        return min(found, key=lambda one: one[:2])[2]
    missing = [least_area(flat.forms, need) or 1 for need in range(len(flat.demand))]
    most = cover(scaled.task_of([0] * len(costs), missing=missing), {}, left, flat)
    if most.cost:
        short = shortage(flat.demand, most.boards)
        raise CuttingError(*name_missing(scaled.order, short, most.proved, seconds, left_out))
    return most.boards


def _sum(parts: tuple[int, ...], boards: dict[Column, int]) -> int:
    return sum(parts[place] * count for (place, _), count in boards.items())


def _cheapest(scaled: _Scaled, start: dict[Column, int], left: Clock) -> Cover:
    if not any(scaled.costs):
        return Cover(start, 0, 0, (), False)
    return _cover(scaled, scaled.costs, start, [], left)


def _goes_with_area(scaled: _Scaled) -> bool:
    costs, areas = scaled.costs, scaled.areas
    return costs[0] > 0 and all(
        a * costs[0] == areas[0] * c for a, c in zip(areas, costs, strict=True)
    )


def _least_waste(scaled: _Scaled, cheapest: Cover, left: Clock) -> Cover:
    """The least area among plans that cost no more."""
    areas, costs = scaled.areas, scaled.costs
    used = _sum(areas, cheapest.boards)
    if _goes_with_area(scaled):
        # What costs the same is as large.
        bound = used if cheapest.proved else -(-cheapest.bound * areas[0] // costs[0])
        return Cover(cheapest.boards, used, bound, cheapest.columns, cheapest.is_complete)
    row = Row(dict(enumerate(costs)), cheapest.bound, cheapest.cost)
    return _cover(scaled, areas, cheapest.boards, [row] if any(costs) else [], left)


def _cover(
    scaled: _Scaled,
    parts: tuple[int, ...],
    start: dict[Column, int],
    limits: list[Row],
    left: Clock,
) -> Cover:
    """The least of what each sheet counts for, within limits on what plans cost.

    What area alone proves is looked at first: it often settles it.
    """
    flat = scaled.flat
    needed = sum(n * least_area(flat.forms, need) for need, n in enumerate(flat.demand))
    rows = [Row({at: kind.room for at, kind in enumerate(flat.kinds)}, low=needed), *limits]
    by_area = least(parts, rows, [kind.most for kind in flat.kinds], 1)
    bound = int(by_area.bound) if by_area is not None and by_area.bound is not None else 0
    now = _sum(parts, start)
    if now <= bound:
        return Cover(start, now, now, (), False)
    budgets = [Budget(scaled.costs, int(row.high)) for row in limits if row.high is not None]
    found = cover(scaled.task_of(parts, budgets), start, left, flat)
    return replace(found, bound=min(found.cost, max(found.bound, bound)))


def _as_plan(
    scaled: _Scaled,
    cheapest: Cover,
    thrifty: Cover,
    boards: dict[Column, int],
    is_largest: bool,
    left_out: tuple[int, ...],
    priced: bool,
) -> FlatPlan:
    order = scaled.order
    cuts = _cuts(scaled, boards)
    sheets = [(order.sheets[cut.sheet], cut.count) for cut in cuts]
    needed = sum((part.area * part.count for part in order.parts), Fraction(0))
    used = sum((sheet.area * count for sheet, count in sheets), Fraction(0))
    is_known = all(sheet.price is not None or sheet.is_on_hand for sheet, _ in sheets)
    cost = sum(((sheet.price or Fraction(0)) * n for sheet, n in sheets), Fraction(0))
    is_least = cheapest.proved and thrifty.proved
    return FlatPlan(
        cuts=cuts,
        cost=cost if is_known else None,
        waste=used - needed,
        used=used,
        largest=max(cut.largest for cut in cuts),
        cost_bound=Fraction(cheapest.bound) / scaled.money_scale if priced else None,
        waste_bound=max(Fraction(0), Fraction(thrifty.bound) / scaled.area_scale - needed),
        is_least_cost=cheapest.proved,
        is_least_waste=is_least,
        is_largest=is_largest and is_least,
        left_out=left_out,
    )


def _cuts(scaled: _Scaled, boards: dict[Column, int]) -> tuple[FlatCut, ...]:
    order, flat = scaled.order, scaled.flat
    cuts = []
    for (place, pattern), count in sorted(boards.items(), key=_in_order):
        at = scaled.places[place]
        boxes, saws = cut_apart(
            flat.trees[place, pattern], flat.forms, scaled.steps, flat.rest, order.sheets[at],
            flat.sizes[place], order.is_ripped,
        )  # fmt: skip
        pieces = tuple((need, number) for need, number in enumerate(pattern) if number)
        cuts.append(FlatCut(at, count, pieces, boxes, saws))
    return tuple(cuts)


def _in_order(item: tuple[Column, int]) -> tuple[int, tuple[int, ...]]:
    (place, pattern), _ = item
    return place, tuple(-count for count in pattern)
