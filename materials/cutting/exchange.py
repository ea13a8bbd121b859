"""A cutting plan as JSON: lengths as plain numbers in the unit that was typed first."""

from fractions import Fraction
from typing import Any

from ..calc.money import round_half_up
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


def _unit(lengths: Lengths) -> str | None:
    return lengths.unit.symbol if lengths.unit else None


def _price(amount: Fraction | None) -> str | None:
    return None if amount is None else money_of(amount)
