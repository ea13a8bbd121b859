"""What taking a plan uses, makes and keeps, as quantities of components."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ...calc.measures import QuantityError, plain
from ...calc.units import UNITS, Dimension, Unit
from ...models import Component, CuttingMethod, CuttingPlan
from ...queries.quantities import base_quantity
from ..calc.flat.types import FlatOrder, FlatPlan
from ..calc.types import Order, Plan
from .flat_plans import ShownFlat, remnants_of, sides_text
from .plans import ShownPlan, size_text


@dataclass(frozen=True)
class Use:
    """Boards or sheets of one row. All texts are quantities of the plan's component, but for those
    ``made`` of each need, by its place. ``kept``: what stays on hand in one size."""

    name: str
    count: int
    is_on_hand: bool
    whole_text: str
    used_text: str
    kept: tuple[str, ...]
    made: tuple[tuple[int, str], ...]


def uses_of(plan: CuttingPlan, shown: ShownPlan | ShownFlat, needs: Sequence[Any]) -> list[Use]:
    """All uses of a plan. Raises QuantityError where sizes come to no quantity of a component."""
    if isinstance(shown, ShownFlat):
        return _flat_uses(shown.order, shown.plan, shown.unit, plan.component, needs)
    return _uses(shown.order, shown.plan, shown.unit, plan.component, shown.keep)


def _uses(order: Order, plan: Plan, unit: Unit, source: Component, keep: Fraction) -> list[Use]:
    found = []
    for place in sorted({cut.stock for cut in plan.cuts}):
        stock = order.stocks[place]
        cuts = [cut for cut in plan.cuts if cut.stock == place]
        count = sum(cut.count for cut in cuts)
        kept: dict[Fraction, int] = {}
        made: dict[int, int] = {}
        for cut in cuts:
            if cut.off_cut and cut.off_cut >= keep and measures_length(source):
                kept[cut.off_cut] = kept.get(cut.off_cut, 0) + cut.count
            for need, number in cut.pieces:
                made[need] = made.get(need, 0) + number * cut.count
        whole = f"{count} @ {size_text(stock.length, unit)}"
        used = stock.length * count - sum(size * n for size, n in kept.items())
        found.append(
            Use(
                stock.name,
                count,
                stock.is_on_hand,
                whole,
                size_text(used, unit) if kept else whole,
                tuple(f"{n} @ {size_text(size, unit)}" for size, n in kept.items()),
                tuple(
                    (need, f"{n} @ {size_text(order.needs[need].length, unit)}")
                    for need, n in sorted(made.items())
                ),
            )
        )
    return found


def _flat_uses(
    order: FlatOrder, plan: FlatPlan, unit: Unit, source: Component, needs: Sequence[Any]
) -> list[Use]:
    found = []
    for place in sorted({cut.sheet for cut in plan.cuts}):
        sheet = order.sheets[place]
        cuts = [cut for cut in plan.cuts if cut.sheet == place]
        count = sum(cut.count for cut in cuts)
        made: dict[int, int] = {}
        kept: dict[tuple[Fraction, Fraction], int] = {}
        for cut in cuts:
            for need, number in cut.pieces:
                made[need] = made.get(need, 0) + number * cut.count
            for size in remnants_of(cut.boxes) if measures_area(source) else ():
                kept[size] = kept.get(size, 0) + cut.count
        whole = flat_text(source, count, (sheet.length, sheet.width), unit)
        used = sheet.area * count - sum(wide * tall * n for (wide, tall), n in kept.items())
        found.append(
            Use(
                sheet.name,
                count,
                sheet.is_on_hand,
                whole,
                area_text(used, unit) if kept else whole,
                tuple(f"{n} @ {sides_text(size, unit)}" for size, n in kept.items()),
                tuple(
                    (
                        need,
                        flat_text(
                            needs[need].component,
                            n,
                            (order.parts[need].length, order.parts[need].width),
                            unit,
                            order.parts[need].is_triangle,
                        ),
                    )
                    for need, n in sorted(made.items())
                ),
            )
        )
    return found


def flat_text(
    component: Component | None,
    count: int,
    size: tuple[Fraction, Fraction],
    unit: Unit,
    is_triangle: bool = False,
) -> str:
    """So many things of a size as a quantity of a component: by area, else by length, else counted.

    Raises QuantityError where it is none.
    """
    text = f"{count} piece{'' if count == 1 else 's'}"
    if component is None:
        return text
    if measures_area(component) and not is_triangle:
        text = f"{count} @ {sides_text(size, unit)}"
    elif measures_length(component) and not is_triangle:
        text = f"{count} @ {size_text(size[0], unit)}"
    base_quantity(text, component)
    return text


def area_text(area: Fraction, unit: Unit) -> str:
    """An area that quantities can be counted in, exact where a unit allows."""
    square = UNITS["sq m" if unit.symbol in ("m", "cm", "mm") else "sq ft"]
    return f"{plain(area / square.factor)} {square.symbol}"


def measures_length(component: Component) -> bool:
    """Whether a length of a component comes to a quantity of it."""
    return _measures(component, "1 ft", Dimension.LENGTH)


def measures_area(component: Component) -> bool:
    """Whether an area of a component comes to a quantity of it."""
    return _measures(component, "1 sq ft", Dimension.AREA)


def _measures(component: Component, text: str, dimension: Dimension) -> bool:
    try:
        base_quantity(text, component)
    except QuantityError:
        return False
    return UNITS[component.unit].dimension in (
        dimension, Dimension.COUNT, Dimension.PACK, Dimension.VOLUME
    )  # fmt: skip


def is_flat(plan: CuttingPlan) -> bool:
    """Whether a plan cuts in two dimensions."""
    return plan.method != CuttingMethod.LENGTHS


def read_any(plan: CuttingPlan, money: Callable[[Fraction], str]) -> ShownPlan | ShownFlat | None:
    """What is stored of a plan of any kind, ready to be shown; None: to be worked out anew."""
    from .flat_plans import read_stored_flat
    from .plans import read_stored

    return read_stored_flat(plan, money) if is_flat(plan) else read_stored(plan, money)
