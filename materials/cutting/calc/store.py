"""A cutting plan as plain values that JSON holds, and back."""

from fractions import Fraction
from typing import Any

from .types import Cut, Order, Plan


class StoredPlanError(ValueError):
    """Stored values that are no plan for the order they stand with."""


def to_data(plan: Plan) -> dict[str, Any]:
    """The plan with every fraction as a text."""
    return {
        "cuts": [
            {
                "stock": cut.stock,
                "count": cut.count,
                "pieces": [list(pair) for pair in cut.pieces],
                "off_cut": str(cut.off_cut),
                "kerfs": cut.kerfs,
            }
            for cut in plan.cuts
        ],
        "cost": text_of(plan.cost),
        "waste": str(plan.waste),
        "used": str(plan.used),
        "longest": str(plan.longest),
        "cost_bound": text_of(plan.cost_bound),
        "waste_bound": str(plan.waste_bound),
        "is_least_cost": plan.is_least_cost,
        "is_least_waste": plan.is_least_waste,
        "is_longest": plan.is_longest,
        "patterns": plan.patterns,
        "boards_alone": text_of(plan.boards_alone),
        "left_out": list(plan.left_out),
    }


def from_data(data: Any, order: Order) -> Plan:
    """The plan of stored values. Raises StoredPlanError when they do not fit the order."""
    try:
        plan = Plan(
            cuts=tuple(
                Cut(
                    place_of(cut["stock"], len(order.stocks)),
                    count_of(cut["count"]),
                    tuple(
                        (place_of(need, len(order.needs)), count_of(count))
                        for need, count in cut["pieces"]
                    ),
                    Fraction(str(cut["off_cut"])),
                    int(cut["kerfs"]),
                )
                for cut in data["cuts"]
            ),
            cost=number_of(data["cost"]),
            waste=Fraction(str(data["waste"])),
            used=Fraction(str(data["used"])),
            longest=Fraction(str(data["longest"])),
            cost_bound=number_of(data["cost_bound"]),
            waste_bound=Fraction(str(data["waste_bound"])),
            is_least_cost=data["is_least_cost"] is True,
            is_least_waste=data["is_least_waste"] is True,
            is_longest=data["is_longest"] is True,
            patterns=None if data["patterns"] is None else count_of(data["patterns"]),
            boards_alone=number_of(data["boards_alone"]),
            left_out=tuple(place_of(one, len(order.stocks)) for one in data["left_out"]),
        )
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        raise StoredPlanError(str(error)) from None
    for place, need in enumerate(order.needs):
        made = sum(n * cut.count for cut in plan.cuts for at, n in cut.pieces if at == place)
        if made != need.count:
            raise StoredPlanError("It yields other pieces than are needed.")
    return plan


def text_of(value: Fraction | None) -> str | None:
    """An amount as it is stored."""
    return None if value is None else str(value)


def number_of(value: Any) -> Fraction | None:
    """A stored amount. Raises ValueError."""
    return None if value is None else Fraction(str(value))


def place_of(value: Any, count: int) -> int:
    """A stored place among ``count``. Raises ValueError."""
    if not isinstance(value, int) or not 0 <= value < count:
        raise ValueError(f"there is no row {value}")
    return value


def count_of(value: Any) -> int:
    """A stored count, 1 or more. Raises ValueError."""
    if not isinstance(value, int) or value < 1:
        raise ValueError(f"{value} is no count")
    return value
