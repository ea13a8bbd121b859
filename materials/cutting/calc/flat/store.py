"""A plan of sheets or ripped boards as plain values that JSON holds, and back."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Any

from ..store import StoredPlanError, count_of, number_of, place_of, text_of
from .types import Box, FlatCut, FlatOrder, FlatPlan, Saw

_KINDS = ("piece", "remnant", "waste")


def to_data(plan: FlatPlan) -> dict[str, Any]:
    """The plan with every fraction as a text."""
    return {
        "cuts": [
            {
                "sheet": cut.sheet,
                "count": cut.count,
                "pieces": [list(pair) for pair in cut.pieces],
                "boxes": [
                    [box.kind, *map(str, (box.left, box.low, box.wide, box.tall)), box.need,
                     box.count, box.turned]
                    for box in cut.boxes
                ],
                "saws": [
                    [saw.axis, *map(str, (saw.left, saw.low, saw.wide, saw.tall, saw.at)),
                     saw.first, saw.second]
                    for saw in cut.saws
                ],
            }
            for cut in plan.cuts
        ],
        "cost": text_of(plan.cost),
        "waste": str(plan.waste),
        "used": str(plan.used),
        "largest": str(plan.largest),
        "cost_bound": text_of(plan.cost_bound),
        "waste_bound": str(plan.waste_bound),
        "is_least_cost": plan.is_least_cost,
        "is_least_waste": plan.is_least_waste,
        "is_largest": plan.is_largest,
        "left_out": list(plan.left_out),
    }  # fmt: skip


def from_data(data: Any, order: FlatOrder) -> FlatPlan:
    """The plan of stored values. Raises StoredPlanError when they do not fit the order."""
    try:
        plan = FlatPlan(
            cuts=tuple(_cut(cut, order) for cut in data["cuts"]),
            cost=number_of(data["cost"]),
            waste=Fraction(str(data["waste"])),
            used=Fraction(str(data["used"])),
            largest=Fraction(str(data["largest"])),
            cost_bound=number_of(data["cost_bound"]),
            waste_bound=Fraction(str(data["waste_bound"])),
            is_least_cost=data["is_least_cost"] is True,
            is_least_waste=data["is_least_waste"] is True,
            is_largest=data["is_largest"] is True,
            left_out=tuple(place_of(one, len(order.sheets)) for one in data["left_out"]),
        )
    except (KeyError, TypeError, ValueError, ArithmeticError) as error:
        raise StoredPlanError(str(error)) from None
    for place, part in enumerate(order.parts):
        made = sum(n * cut.count for cut in plan.cuts for at, n in cut.pieces if at == place)
        if made != part.count:
            raise StoredPlanError("It yields other pieces than are needed.")
    return plan


def _cut(data: Any, order: FlatOrder) -> FlatCut:
    boxes = tuple(_box(row, order) for row in data["boxes"])
    return FlatCut(
        place_of(data["sheet"], len(order.sheets)),
        count_of(data["count"]),
        tuple((place_of(need, len(order.parts)), count_of(n)) for need, n in data["pieces"]),
        boxes,
        tuple(_saw(row, len(boxes)) for row in data["saws"]),
    )


def _box(row: Sequence[Any], order: FlatOrder) -> Box:
    kind, left, low, wide, tall, need, count, turned = row
    if kind not in _KINDS:
        raise ValueError(f"there is no kind {kind}")
    at = place_of(need, len(order.parts)) if kind == "piece" else None
    place = _length(left), _length(low), _length(wide), _length(tall)
    return Box(kind, *place, at, count_of(count), turned is True)


def _saw(row: Sequence[Any], boxes: int) -> Saw:
    axis, left, low, wide, tall, at, first, second = row
    place = _length(left), _length(low), _length(wide), _length(tall)
    one, other = (None if end is None else place_of(end, boxes) for end in (first, second))
    return Saw(place_of(axis, 2), *place, _length(at), one, other)


def _length(text: Any) -> Fraction:
    return Fraction(str(text))
