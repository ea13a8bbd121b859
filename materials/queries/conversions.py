"""What a conversion that is not saved yet would come to."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from ..calc.prices import new_cost_of_one
from ..calc.quantities import format_quantity
from ..calc.reports import per
from ..calc.stock import Position, output_shares
from ..calc.yields import too_much, yield_share
from ..models import Build, Component, Conversion, ConversionOutput
from .kept import get_kept_sheet
from .on_hand import Withdrawal, on_hand
from .price_book import get_price_book
from .quantities import base_quantity, base_unit, side_of
from .reports import conversion_input


@dataclass(frozen=True)
class MadePreview:
    """One thing made: its share of the cost, what one comes to, and one new with tax."""

    component: Component
    made: Fraction
    cost: Fraction | None
    one: Fraction | None
    new_one: Fraction | None


@dataclass(frozen=True)
class ConversionPreview:
    """``input_cost`` is None while the input's average is not known.

    ``share``: what became something, of what was used (None when the two cannot be compared),
    judged by ``measure``. ``on_hand``: what was on hand that day, of which ``from_stock`` is
    taken. ``refusal``: why it could not be saved as it is, or an empty text.
    """

    used: Fraction
    available: Fraction
    input_cost: Fraction | None
    whole: Fraction | None
    made: tuple[MadePreview, ...]
    share: Fraction | None
    measure: str
    hours_per_one: Fraction | None
    on_hand: Fraction
    from_stock: Fraction
    refusal: str

    @property
    def left_on_hand(self) -> Fraction:
        """What stays on hand."""
        return self.on_hand - self.from_stock

    @property
    def from_building(self) -> Fraction:
        """What is taken from what counts as built in."""
        return self.used - self.from_stock

    @property
    def percent(self) -> Fraction | None:
        return None if self.share is None else self.share * 100

    @property
    def waste_percent(self) -> Fraction | None:
        """Waste in per cent; None when there is none to tell."""
        return None if self.share is None or self.share > 1 else (1 - self.share) * 100


@dataclass(frozen=True)
class Arriving:
    """What comes in of the input with it, in base units; ``cost`` is None while not known."""

    usable: Fraction
    cost: Fraction | None


def preview_conversion(
    build: Build,
    conversion: Conversion,
    outputs: Sequence[ConversionOutput],
    on: date,
    already: Withdrawal | None = None,
    from_stock: bool = False,
    arriving: Arriving | None = None,
) -> ConversionPreview:
    """Work an unsaved conversion out. Raises QuantityError.

    ``conversion`` and ``outputs`` hold typed texts only; ``already`` is what the saved one that
    is being changed took of the same input, and from where. ``from_stock``: it is taken from the
    stock on hand as far as they go. ``arriving``: what is logged of the input in the same act.
    """
    sheet = get_kept_sheet(build, on)
    rows = {row.position.component.key: row for row in sheet.components}
    source = conversion.source
    conversion.used_qty = base_quantity(conversion.used_text, source)
    for output in outputs:
        output.made_qty = base_quantity(output.made_text, output.component)
    used = Fraction(conversion.used_qty)
    row = rows.get(source.pk)
    position = row.position if row is not None else None
    in_building = position.in_building if position is not None else Fraction(0)
    available, in_stock = _available(conversion, in_building, already)
    available += arriving.usable if arriving is not None else 0
    taken = min(used, in_stock) if from_stock else Fraction(0)
    available += in_stock if from_stock else 0
    average = _average(position, arriving)
    input_cost = None if average is None else used * average
    extra = Fraction(conversion.extra_cost_amount)
    whole = None if input_cost is None else input_cost + extra
    given = conversion_input(conversion, list(outputs), get_price_book(build))
    made = []
    for output, share in zip(outputs, output_shares(given.outputs), strict=True):
        quantity = Fraction(output.made_qty)
        cost = None if whole is None else whole * share
        row = rows.get(output.component.pk)
        new = None
        # What is named only now has no new price yet.
        if row is not None:
            new = new_cost_of_one(row.position.component, sheet.build.retail_tax_share)
        made.append(MadePreview(output.component, quantity, cost, per(cost, quantity), new))
    sides = [side_of(output.made_text, output.component) for output in outputs]
    used_side = side_of(conversion.used_text, source)
    judged = yield_share(used_side, sides)
    all_made = sum((row.made for row in made), Fraction(0))
    return ConversionPreview(
        used=used,
        available=available,
        input_cost=input_cost,
        whole=whole,
        made=tuple(made),
        share=judged[0] if judged else None,
        measure=judged[1] if judged else "",
        hours_per_one=per(Fraction(conversion.hours), all_made) if len(made) == 1 else None,
        on_hand=in_stock,
        from_stock=taken,
        refusal=_refusal(conversion, outputs, used, available) or too_much(used_side, sides) or "",
    )


def _average(position: Position | None, arriving: Arriving | None) -> Fraction | None:
    """What one of the input costs, with what arrives of it; None where that is not known."""
    if arriving is None:
        return None if position is None else position.average
    came_in = Fraction(0) if position is None else position.came_in
    cost = Fraction(0)
    if position is not None and came_in:
        if position.average is None:
            return None
        cost = position.average * came_in
    elif position is not None and not position.is_cost_known:
        return None
    return None if arriving.cost is None else per(cost + arriving.cost, came_in + arriving.usable)


def _available(
    conversion: Conversion, in_building: Fraction, already: Withdrawal | None
) -> tuple[Fraction, Fraction]:
    """What counts as built in and what was on hand that day, were it not saved yet."""
    source = conversion.source
    in_stock = Fraction(on_hand(source, conversion.converted_on) if source.pk else 0)
    if already is None:
        return in_building, in_stock
    given = Fraction(already.quantity)
    return in_building + Fraction(already.whole) - given, in_stock + given


def _refusal(
    conversion: Conversion, outputs: Sequence[ConversionOutput], used: Fraction, available: Fraction
) -> str:
    """What saving would refuse besides making too much."""
    source = conversion.source
    if any(output.component == source for output in outputs):
        return f"{source} cannot be made from itself: make the result its own component."
    if used > available:
        unit = base_unit(source)
        return (
            f"There is less {source} than that: {format_quantity(available, unit)} can be worked"
            f" up, not {format_quantity(used, unit)}."
        )
    return ""
