"""Small factories for the engine's inputs, and the words for how well a check value is known.

Numbers are given as text or int and turn exact at once; a key not given is the name.
"""

from decimal import Decimal
from fractions import Fraction
from typing import Any

from materials.calc.costing import PurchaseCost, cost_purchase
from materials.calc.labour import total_hours
from materials.calc.reports import CostSheet, make_cost_sheet
from materials.calc.stock import Position, work_out_positions
from materials.calc.types import (
    Basis,
    BuildInput,
    ChargeInput,
    ComponentInput,
    ConversionInput,
    LabourInput,
    LabourKind,
    LineInput,
    OutputInput,
    PercentOn,
    PersonInput,
    PurchaseInput,
)

PRIMARY = "read in the primary text"
REPRINTED = "as reprinted"
WORKED_OUT = "answer worked out"
MEMORY = "from memory"
ARITHMETIC = "arithmetic"

D = Decimal
F = Fraction
CENTS = 2

# Fields that hold a name, a count or a choice; every other one is a number.
_PLAIN = {"key", "name", "unit", "element", "would_buy_new", "unknown_lines", "kind"}
_PLAIN |= {"percent_on", "spread_by", "lot_weight"}


def exact(values: dict[str, Any]) -> dict[str, Any]:
    """Numbers given as text or int as fractions; None stays not known."""
    return {
        name: value if name in _PLAIN or value is None else F(value)
        for name, value in values.items()
    }


def decimals(*texts: str) -> list[Decimal]:
    return [D(text) for text in texts]


def line(key: str = "a", qty: int | str = 1, price: Any = None, **values: Any) -> LineInput:
    """A line; ``price`` is the line's own price."""
    return LineInput(key, F(qty), **exact({"line_price": price, **values}))


def charge(kind: str = "other", amount: Any = None, **values: Any) -> ChargeInput:
    return ChargeInput(kind, kind, **exact({"amount": amount, **values}))


def percent(kind: str, rate: Any, on: PercentOn = PercentOn.PRICE, **values: Any) -> ChargeInput:
    return charge(kind, percent=rate, percent_on=on, **values)


def purchase(*rows: LineInput | ChargeInput, places: int = CENTS, **values: Any) -> PurchaseInput:
    """Lines and charges in the order given."""
    return PurchaseInput(
        places,
        tuple(row for row in rows if isinstance(row, LineInput)),
        tuple(row for row in rows if isinstance(row, ChargeInput)),
        **values,
    )


def cost(*rows: LineInput | ChargeInput, **values: Any) -> PurchaseCost:
    return cost_purchase(purchase(*rows, **values))


def landed(result: PurchaseCost) -> list[Decimal]:
    return [row.landed for row in result.lines]


def prices(result: PurchaseCost) -> list[Decimal | None]:
    return [row.price for row in result.lines]


def lot(price: Any, *lines: LineInput, by: Basis | None = None) -> list[Decimal | None]:
    """The shares of a lot price."""
    return prices(cost(*lines, lot_price=D(price), lot_split=by))


def part(name: str = "Stud", **values: Any) -> ComponentInput:
    return ComponentInput(values.pop("key", name), name, **exact(values))


def made(component: str, qty: Any, value: Any = None) -> OutputInput:
    return OutputInput(component, F(qty), None if value is None else F(value))


def worked(source: str, used: Any, *outputs: OutputInput, extra: Any = 0) -> ConversionInput:
    return ConversionInput(source, F(used), outputs, F(extra))


def positions(*rows: ComponentInput | ConversionInput) -> dict[Any, Position]:
    """Positions by component name."""
    return work_out_positions(
        [row for row in rows if isinstance(row, ComponentInput)],
        [row for row in rows if isinstance(row, ConversionInput)],
    )


def position(**values: Any) -> Position:
    """The position of the only component."""
    (found,) = positions(part(**values)).values()
    return found


def labour(kind: str, own: Any = 0, paid_hours: Any = 0, paid: Any = 0, **keys: Any) -> LabourInput:
    return LabourInput(LabourKind(kind), F(own), F(paid_hours), F(paid), **keys)


def hours(*entries: LabourInput) -> Any:
    return total_hours(entries)


def person(name: str, paid_out: Any = 0, paid_for: int | None = None, **values: Any) -> PersonInput:
    """A person; who paid anything paid for one purchase unless said otherwise."""
    count = int(bool(F(paid_out))) if paid_for is None else paid_for
    return PersonInput(name, name, F(paid_out), count, **exact(values))


def build(
    *rows: ComponentInput | ConversionInput | LabourInput, name: str = "Shed", **values: Any
) -> BuildInput:
    return BuildInput(
        name,
        "USD",
        CENTS,
        components=tuple(row for row in rows if isinstance(row, ComponentInput)),
        conversions=tuple(row for row in rows if isinstance(row, ConversionInput)),
        labour=tuple(row for row in rows if isinstance(row, LabourInput)),
        **{
            key: value if isinstance(value, tuple) or value is None else F(value)
            for key, value in values.items()
        },
    )


def sheet(*rows: ComponentInput | ConversionInput | LabourInput, **values: Any) -> CostSheet:
    return make_cost_sheet(build(*rows, **values))
