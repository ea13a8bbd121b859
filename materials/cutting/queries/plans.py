"""Cutting plans: reading them, working them out, and what is there to begin one with."""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from django.db.models import Count, QuerySet, Sum

from ...calc.letters import letters
from ...calc.measures import QuantityError, plain
from ...calc.units import UNITS, Unit
from ...models import Build, CuttingPlan
from ..calc.check import is_thinner_than_its_cut
from ..calc.picture import Strip, strips
from ..calc.plan import plan_cuts
from ..calc.reading import WithUnits, read_length, write_length
from ..calc.store import StoredPlanError, from_data
from ..calc.types import CuttingError, Need, Order, Plan, Stock
from ..calc.words import RULE, notes, waste_percent, why

# A page waits no longer than this for the best plan; it shows the best one found till then.
WEB_SECONDS = 5


def list_plans(build: Build) -> QuerySet[CuttingPlan]:
    """Plans with their component and how many pieces they are for, newest first."""
    return (
        CuttingPlan.objects.filter(build=build)
        .select_related("component")
        .annotate(pieces=Sum("needs__count"), rows=Count("needs"))
    )


def get_plan(build: Build, pk: int) -> CuttingPlan:
    """One plan of the build. Raises CuttingPlan.DoesNotExist."""
    return (
        CuttingPlan.objects.filter(build=build)
        .select_related("component")
        .prefetch_related("hand", "buy", "needs__component", "taken__logged_conversion")
        .get(pk=pk)
    )


def next_plan_name(build: Build) -> str:
    """A free name."""
    taken = set(CuttingPlan.objects.filter(build=build).values_list("name", flat=True))
    number = len(taken) + 1
    while f"Cutting plan {number}" in taken:
        number += 1
    return f"Cutting plan {number}"


def order_of(
    kerf_text: str,
    hand: Iterable[Any],
    buy: Iterable[Any],
    needs: Iterable[Any],
) -> tuple[Order, Unit]:
    """The order of typed rows (records or their like), and the unit its lengths are written in.

    Raises QuantityError.
    """
    lengths = WithUnits()
    read = lengths.read

    stocks = [
        Stock(row.length_text, read(row.length_text), None, row.count, read(row.trim_text), True)
        for row in hand
    ]
    stocks += [
        Stock(
            row.length_text,
            read(row.length_text),
            None if row.price is None else Fraction(row.price),
            row.most,
            read(row.trim_text),
        )
        for row in buy
    ]
    asked = [Need(row.length_text, read(row.length_text), row.count) for row in needs]
    return Order(tuple(stocks), tuple(asked), read(kerf_text)), lengths.unit


def work_out(order: Order, seconds: int = WEB_SECONDS) -> Plan:
    """The best plan found in so many seconds. Raises CuttingError."""
    end = time.monotonic_ns() + seconds * 10**9
    return plan_cuts(order, lambda: max(0, (end - time.monotonic_ns()) // 10**6), seconds)


@dataclass(frozen=True)
class ShownPlan:
    """A plan as a page shows it; lengths are texts.

    ``to_buy``: (text for the short form, count, length, price of one or None, cost or None).
    ``off_cuts``: how many of which length are kept.
    """

    order: Order
    plan: Plan
    unit: Unit
    strips: tuple[Strip, ...]
    waste: str
    used: str
    percent: Fraction
    keep: Fraction
    keep_from: str
    pieces: tuple[tuple[str, int, str, Any], ...]
    boards: tuple[tuple[str, int, str], ...]
    to_buy: tuple[tuple[str, int, str, Fraction | None, Fraction | None], ...]
    off_cuts: tuple[tuple[int, str], ...]
    why: tuple[str, ...]
    notes: tuple[str, ...]
    rule: str = RULE
    is_flat: bool = False


def show(
    order: Order,
    unit: Unit,
    plan: Plan,
    keep_text: str,
    components: Iterable[Any],
    money: Callable[[Fraction], str],
) -> ShownPlan:
    """What a page shows of a plan. Raises QuantityError."""
    keep = keep_from(order, keep_text)

    def length(value: Fraction) -> str:
        return write_length(value, unit)

    counts: dict[int, int] = {}
    off_cuts: dict[Fraction, int] = {}
    for cut in plan.cuts:
        counts[cut.stock] = counts.get(cut.stock, 0) + cut.count
        if cut.off_cut and cut.off_cut >= keep:
            off_cuts[cut.off_cut] = off_cuts.get(cut.off_cut, 0) + cut.count
    used = sorted(counts.items())
    to_buy = []
    for place, count in used:
        stock = order.stocks[place]
        if not stock.is_on_hand:
            cost = None if stock.price is None else stock.price * count
            text = f"{count} @ {size_text(stock.length, unit)}"
            to_buy.append((text, count, stock.name, stock.price, cost))
    return ShownPlan(
        order,
        plan,
        unit,
        tuple(strips(order, plan, length, keep)),
        length(plan.waste),
        length(plan.used),
        waste_percent(plan),
        keep,
        length(keep),
        tuple(
            (letters(place + 1), need.count, need.name, component)
            for place, (need, component) in enumerate(zip(order.needs, components, strict=True))
        ),
        tuple(
            (order.stocks[place].name, count, "on hand" if order.stocks[place].is_on_hand else "")
            for place, count in used
        ),
        tuple(to_buy),
        tuple((count, length(size)) for size, count in sorted(off_cuts.items(), reverse=True)),
        tuple(why(plan, money, length)),
        tuple(notes(order, plan)),
    )


def keep_from(order: Order, keep_text: str) -> Fraction:
    """From which length on an off-cut is kept: as stated, or as the shortest piece."""
    if keep_text:
        return read_length(keep_text)[0]
    return min(need.length for need in order.needs)


def size_text(length: Fraction, unit: Unit) -> str:
    """A length that quantities can be counted in, exact where a unit allows: “7.5 ft”, “61 in”."""
    for each in (unit, UNITS["in"], UNITS["mm"]):
        value = length / each.factor
        if (value * 10**6).denominator == 1:
            break
    else:
        value, each = length / unit.factor, unit
    return f"{plain(value)} {each.symbol}"


def read_stored(plan: CuttingPlan, money: Callable[[Fraction], str]) -> ShownPlan | None:
    """What is stored of a plan, ready to be shown; None where it has to be worked out anew."""
    needs = list(plan.needs.all())
    try:
        order, unit = order_of(plan.kerf_text, plan.hand.all(), plan.buy.all(), needs)
        stored = from_data(plan.result, order)
        if any(is_thinner_than_its_cut(stock, order.kerf) for stock in order.stocks):
            return None
        return show(order, unit, stored, plan.keep_text, [n.component for n in needs], money)
    except (QuantityError, StoredPlanError, CuttingError, ValueError):
        return None
