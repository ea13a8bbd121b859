"""A cutting plan as JSON: lengths as plain numbers in the unit that was typed first."""

from fractions import Fraction
from typing import Any

from ..calc.money import round_half_up
from .calc.flat.types import ACROSS, FlatCut, FlatOrder, FlatPlan
from .calc.flat.words import names_of
from .calc.reading import Lengths
from .calc.types import Order, Plan


def money_of(amount: Fraction) -> str:
    """An amount of a currency that nobody named: two places, or as many as it needs up to four."""
    return f"{round_half_up(amount, 2 if (amount * 100).denominator == 1 else 4):f}"


def as_data(order: Order, plan: Plan, lengths: Lengths) -> dict[str, Any]:
    """The plan's keys are exactly ``stock_used, cost, waste, proved, patterns``.

    ``cost`` is null where a price is not known; ``proved``: nothing costs less, and nothing of
    the same cost wastes less.
    """
    used: dict[int, int] = {}
    for cut in plan.cuts:
        used[cut.stock] = used.get(cut.stock, 0) + cut.count
    return {
        "stock_used": [
            {
                "length": lengths.number(order.stocks[place].length),
                "unit": _unit(lengths),
                "count": count,
                "price": _price(order.stocks[place].price),
                "on_hand": order.stocks[place].is_on_hand,
            }
            for place, count in sorted(used.items())
        ],
        "cost": _price(plan.cost),
        "waste": lengths.number(plan.waste),
        "proved": plan.proved,
        "patterns": [
            {
                "stock": lengths.number(order.stocks[cut.stock].length),
                "count": cut.count,
                "pieces": [
                    {"length": lengths.number(order.needs[need].length), "count": count}
                    for need, count in cut.pieces
                ],
                "off_cut": lengths.number(cut.off_cut),
            }
            for cut in plan.cuts
        ],
    }


def flat_as_data(order: FlatOrder, plan: FlatPlan, lengths: Lengths) -> dict[str, Any]:
    """A plan of sheets: keys as those of boards, and for each sheet its pieces, remnants and cuts.

    ``waste`` is an area in squares of the unit; ``gap_percent`` says how much cheaper a plan could
    be at most, and is null where no bound is known.
    """
    used: dict[int, int] = {}
    for cut in plan.cuts:
        used[cut.sheet] = used.get(cut.sheet, 0) + cut.count
    return {
        "stock_used": [
            {
                "length": lengths.number(order.sheets[place].length),
                "width": lengths.number(order.sheets[place].width),
                "unit": _unit(lengths),
                "count": count,
                "price": _price(order.sheets[place].price),
                "on_hand": order.sheets[place].is_on_hand,
            }
            for place, count in sorted(used.items())
        ],
        "cost": _price(plan.cost),
        "waste": lengths.area_number(plan.waste),
        "proved": plan.proved,
        "gap_percent": _gap(plan),
        "patterns": [_pattern(order, cut, lengths) for cut in plan.cuts],
    }


def _gap(plan: FlatPlan) -> str | None:
    if plan.cost is None or plan.cost_bound is None or (plan.cost and not plan.cost_bound):
        return None
    if not plan.cost:
        return "0"
    return f"{round_half_up((plan.cost / plan.cost_bound - 1) * 100, 2):f}"


def _pattern(order: FlatOrder, cut: FlatCut, lengths: Lengths) -> dict[str, Any]:
    names = names_of(cut)
    return {
        "stock": order.sheets[cut.sheet].name,
        "count": cut.count,
        "pieces": [{"piece": order.parts[need].name, "count": count} for need, count in cut.pieces],
        "places": [
            {
                "name": name,
                "kind": box.kind,
                "left": lengths.number(box.left),
                "bottom": lengths.number(box.low),
                "length": lengths.number(box.wide),
                "width": lengths.number(box.tall),
                "turned": box.turned,
            }
            for box, name in zip(cut.boxes, names, strict=True)
        ],
        "cuts": [
            {
                "length": lengths.number(saw.wide),
                "width": lengths.number(saw.tall),
                "way": "across" if saw.axis == ACROSS else "lengthwise",
                "at": lengths.number(saw.at),
            }
            for saw in cut.saws
        ],
    }


def _unit(lengths: Lengths) -> str | None:
    return lengths.unit.symbol if lengths.unit else None


def _price(amount: Fraction | None) -> str | None:
    return None if amount is None else money_of(amount)
