"""What taking a cutting plan does to stock on hand and to what counts as built in."""

from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction

from ...calc.measures import QuantityError, plain
from ...models import CuttingPlan
from ...queries.on_hand import on_hand
from ...queries.quantities import base_quantity
from .flat_plans import ShownFlat
from .plans import ShownPlan
from .uses import uses_of


@dataclass(frozen=True)
class BoardSource:
    """``count`` boards of one row on hand: how many come from stock, how many from the building.

    The two are boards, and parts of one where the stock ends within it.
    """

    name: str
    count: int
    on_hand: Fraction
    built_in: Fraction

    @property
    def sentence(self) -> str:
        """Where they come from, in a sentence."""
        if not self.built_in:
            where = "from what is on hand"
        elif not self.on_hand:
            where = "from what counts as built in"
        else:
            where = (
                f"{plain(self.on_hand, 3)} from what is on hand, {plain(self.built_in, 3)} "
                "from what counts as built in"
            )
        return f"{self.count} × {self.name}: {where}."


def board_sources(plan: CuttingPlan, shown: ShownPlan | ShownFlat, on: date) -> list[BoardSource]:
    """Where the boards on hand of a plan come from when it is taken on a day, as it is logged then.

    Empty where a length comes to no quantity of the component: such a plan cannot be taken.
    """
    left, rows = on_hand(plan.component, on), []
    try:
        uses = [use for use in uses_of(plan, shown, list(plan.needs.all())) if use.is_on_hand]
        wholes = [base_quantity(use.whole_text, plan.component) for use in uses]
    except QuantityError:
        return []
    for use, whole in zip(uses, wholes, strict=True):
        taken = max(Decimal(0), min(left, whole))
        left -= taken
        from_stock = Fraction(taken) / Fraction(whole) * use.count
        rows.append(BoardSource(use.name, use.count, from_stock, use.count - from_stock))
    return rows
