"""How concrete is ordered: by the cubic yard, or by the cubic metre where metres were typed."""

from fractions import Fraction

from materials.calc.units import UNITS
from materials.takeoffs.calc.types import Figure
from materials.takeoffs.calc.wording import Say, number, round_up

CUBIC_FEET_A_YARD = 27


def order_unit(say: Say) -> tuple[Fraction, str]:
    """Cubic feet of the unit concrete is ordered in, and its name."""
    if say.is_metric:
        return Fraction(UNITS["cu m"].factor) / UNITS["cu ft"].factor, "cubic metres"
    return Fraction(CUBIC_FEET_A_YARD), "cubic yards"


def to_order(say: Say, needed: Fraction, waste: bool) -> Figure:
    """What to order: whole cubic yards, or tenths of a cubic metre.

    A cubic metre is a third more than a yard: up to whole ones, small pours would come to much
    more than they need. The allowance is in already, so tenths leave nothing short.
    """
    amount = needed / order_unit(say)[0]
    if say.is_metric:
        return Figure(
            "order",
            "To order, tenths of a cubic metre",
            Fraction(round_up(amount * 10), 10),
            "cu m",
            f"{number(amount)} cu m, up to the next 0.1 cu m; ask in what steps it is sold",
            has_waste=waste,
        )
    return Figure(
        "order",
        "To order, whole cubic yards",
        Fraction(round_up(amount)),
        "cu yd",
        f"{number(amount)} cu yd, up to whole ones",
        has_waste=waste,
    )
