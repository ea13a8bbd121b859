"""The sheets Conversions and Left over, and whether there is as much as was used."""

from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from ..calc.quantities import format_quantity
from ..calc.stock import ConversionCircle, conversion_order
from ..calc.types import ConversionInput, OutputInput
from ..calc.units import find_unit
from ..calc.yields import too_much
from ..models import Conversion, ConversionOutput, LeftOver, Move
from ..queries.days import NOT_YET_CONVERTED, NOT_YET_LEFT
from ..queries.quantities import side_of
from .check_purchases import received
from .context import Context, group_rows, own_columns
from .faults import shown
from .plan import (
    Planned,
    PlannedComponent,
    PlannedConversion,
    PlannedPurchase,
)
from .rows import Row, Table, is_missing
from .schema import LEFT_OVER, MOVED_OUT

ZERO = Decimal(0)
_DIFFERENT = (
    "{here} here, but {first} on the conversion's first row (row {row}): keep one of them, or give"
    " this row a conversion number of its own."
)
MAX_CIRCLES = 20


@dataclass
class Use:
    """Something taken out of a component, with the cell that says so."""

    component: str
    quantity: Decimal
    table: Table
    row: Row
    column: str


@dataclass
class Stock:
    """Checked conversions and left over; ``uses`` in the order of the sheets."""

    conversions: list[PlannedConversion] = field(default_factory=list)
    rows: list[Row] = field(default_factory=list)
    left_over: list[Planned] = field(default_factory=list)
    moved_out: list[Planned] = field(default_factory=list)
    moved_in: list[Planned] = field(default_factory=list)
    uses: list[Use] = field(default_factory=list)


def check_conversions(ctx: Context, table: Table, stock: Stock) -> None:
    """Conversions with their outputs."""
    existing = ctx.existing.conversions if ctx.existing else frozenset()
    for key, rows in group_rows(table, "conversion").items():
        if key in existing:
            ctx.fault(
                table, rows[0], "conversion", f"Conversion {shown(rows[0].get('conversion'))} is"
                " in this build already: leave it out, or give this one another number."
            )  # fmt: skip
        _check_conversion(ctx, table, rows, stock)
    _check_circles(ctx, table, stock)


def _check_conversion(ctx: Context, table: Table, rows: list[Row], stock: Stock) -> None:
    first = rows[0]
    own_columns(ctx, table, rows, _DIFFERENT)
    for key in ("date", "source", "used"):
        if first.get(key) is None and key not in first.bad:
            ctx.fault(table, first, key, is_missing(table.sheet.column(key)))
    ctx.refuse_early(table, first, NOT_YET_CONVERTED)
    source = ctx.find_component(table, first, "source")
    used = ctx.quantity(table, first, "used", source)
    outputs = []
    for row in rows:
        made_of = ctx.find_component(table, row, quantity="made")
        made = ctx.quantity(table, row, "made", made_of)
        if made_of is not None and made is not None:
            said = table.sheet.stated(ConversionOutput, row.values)
            said |= {"made_text": made[0], "made_qty": made[1]}
            outputs.append(Planned(said, {"component": made_of}))
    if source is None or used is None or first.get("date") is None or not outputs:
        return
    said = table.sheet.stated(Conversion, first.values)
    said |= {"used_text": used[0], "used_qty": used[1]}
    conversion = PlannedConversion(said, {"source": source}, tuple(outputs))
    stock.conversions.append(conversion)
    stock.rows.append(first)
    stock.uses.append(Use(source, used[1], table, first, "used"))
    if len(outputs) == len(rows):
        _check_growth(ctx, table, first, conversion)


def _check_growth(ctx: Context, table: Table, row: Row, conversion: PlannedConversion) -> None:
    """A fault when more was made than was used."""
    refused = too_much(
        side_of(conversion.values["used_text"], ctx.part(conversion.link("source"))),
        [
            side_of(made.values["made_text"], ctx.part(made.link("component")))
            for made in conversion.outputs
        ],
    )
    if refused:
        ctx.fault(table, row, "made", refused)


def _check_circles(ctx: Context, table: Table, stock: Stock) -> None:
    """Refuse each conversion that closes a circle, by name."""
    steps = [
        ConversionInput(source, Fraction(1), (OutputInput(made, Fraction(1)),))
        for source, made in (ctx.existing.conversion_steps if ctx.existing else ())
    ]
    new = [_as_input(conversion) for conversion in stock.conversions]
    for _ in range(MAX_CIRCLES):
        try:
            conversion_order([*steps, *(step for step in new if step)])
            return
        except ConversionCircle as circle:
            in_circle = set(zip(circle.keys, circle.keys[1:], strict=False))
            in_circle |= {(made, source) for source, made in in_circle}
            closing = [
                index
                for index, step in enumerate(new)
                if step and any((step.source, o.component) in in_circle for o in step.outputs)
            ]
            if not closing:
                return
            at = closing[-1]
            names = " → ".join(_name(ctx, str(key)) for key in reversed(circle.keys))
            number = shown(stock.conversions[at].values["number"])
            ctx.fault(
                table, stock.rows[at], "conversion", f"Conversion {number} closes a circle"
                f" ({names}), so no cost can be worked out: make its result its own component."
            )  # fmt: skip
            new[at] = None


def _as_input(conversion: PlannedConversion) -> ConversionInput | None:
    outputs = tuple(
        OutputInput(made.links["component"], Fraction(made.values["made_qty"]))
        for made in conversion.outputs
    )
    used = Fraction(conversion.values["used_qty"])
    return ConversionInput(conversion.links["source"], used, outputs)


def _name(ctx: Context, key: str) -> str:
    part = ctx.components.get(key)
    return part.name if part else key


def check_left_over(ctx: Context, table: Table, stock: Stock) -> None:
    """What did not go into the building."""
    for row in table.rows:
        ctx.refuse_early(table, row, NOT_YET_LEFT)
        component = ctx.find_component(table, row)
        quantity = ctx.quantity(table, row, "quantity", component)
        proceeds, fate = row.get("proceeds"), row.get("fate")
        if proceeds and fate not in (None, "sold"):
            ctx.fault(
                table, row, "proceeds", f"Proceeds belong to what was sold, not to {shown(fate)}:"
                " change the fate to sold, or leave the proceeds empty."
            )  # fmt: skip
        value = row.get("value")
        if value is not None and fate not in (None, "moved"):
            ctx.fault(
                table, row, "value", f"A value belongs to what was moved to another build, not to"
                f" {shown(fate)}: change the fate to moved, or leave the value empty."
            )  # fmt: skip
        if component is None or quantity is None or fate is None or row.get("date") is None:
            continue
        text, base_qty = quantity
        # What is valued was moved to another build.
        sheet, model = (LEFT_OVER, LeftOver) if value is None else (MOVED_OUT, Move)
        said = sheet.stated(model, row.values) | {"quantity_text": text, "base_qty": base_qty}
        listed = stock.left_over if value is None else stock.moved_out
        listed.append(Planned(said, {"component": component}))
        stock.uses.append(Use(component, base_qty, table, row, "quantity"))


def check_moved_in(ctx: Context, table: Table, stock: Stock) -> None:
    """What came from other builds."""
    for row in table.rows:
        component = ctx.find_component(table, row, quantity="quantity")
        quantity = ctx.quantity(table, row, "quantity", component)
        if component is None or quantity is None or row.get("date") is None:
            continue
        said = table.sheet.stated(Move, row.values)
        said |= {"to_text": quantity[0], "to_qty": quantity[1]}
        stock.moved_in.append(Planned(said, {"to_component": component}))


def check_balance(ctx: Context, purchases: list[PlannedPurchase], stock: Stock) -> None:
    """Nothing can be used that did not come in. Told at the use that passes what there is."""
    available: dict[str, Decimal] = defaultdict(lambda: ZERO)
    for key, known in (ctx.existing.components if ctx.existing else {}).items():
        available[key] += _whole(known.on_site)
    for purchase in received(purchases):
        for line in purchase.lines:
            available[line.link("component")] += line.usable_qty
    for conversion in stock.conversions:
        for output in conversion.outputs:
            available[output.link("component")] += output.values["made_qty"]
    for transfer in stock.moved_in:
        available[transfer.link("to_component")] += transfer.values["to_qty"]
    came_in = dict(available)
    for use in stock.uses:
        available[use.component] -= use.quantity
        if available[use.component] >= 0:
            continue
        part = ctx.components[use.component]
        if part is None:
            continue
        write = _quantity_writer(part)
        ctx.fault(
            use.table, use.row, use.column, f"That is {write(-available[use.component])} more"
            f" {shown(part.name)} than there is: {write(came_in.get(use.component, ZERO))} usable"
            " came in. Lower it, or add what is missing."
        )  # fmt: skip
        # Told once; the rows after it are judged by what they take themselves.
        available[use.component] = ZERO


def _whole(value: Fraction) -> Decimal:
    """Stored quantities have six decimals, so their sums are whole millionths."""
    return Decimal(int(value * 10**6)).scaleb(-6)


def _quantity_writer(part: PlannedComponent) -> Callable[[Decimal], str]:
    unit = find_unit(part.unit)
    return lambda value: format_quantity(value, unit)
