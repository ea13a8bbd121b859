"""What a purchase that is not saved yet would come to, line by line."""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from ..calc.costing import PurchaseCost
from ..calc.money import round_half_up
from ..calc.prices import new_cost_of_one, retail_equivalent
from ..calc.reports import CostSheet, per
from ..models import Charge, Component, Purchase, PurchaseLine
from .purchases import PriceBook, derive_purchase
from .quantities import parsed


@dataclass(frozen=True)
class LinePreview:
    """One line as understood and costed, beside new and beside what was paid so far.

    ``landed`` is the known money; ``per_usable``, ``new_one``, ``new_total`` (tax included)
    and ``average`` are None when not known.
    """

    component: Component
    understood: str
    typed_unit: str
    base_qty: Decimal
    usable_qty: Decimal
    price: Decimal | None
    charges: Decimal
    landed: Decimal
    per_usable: Fraction | None
    new_one: Fraction | None
    new_total: Fraction | None
    average: Fraction | None

    @property
    def converted(self) -> bool:
        """Whether the base unit is another one than was typed."""
        return self.typed_unit != self.component.unit

    @property
    def saved(self) -> Fraction | None:
        """New cost of the same work less the landed cost."""
        if self.new_total is None or self.price is None:
            return None
        return self.new_total - Fraction(self.landed)

    @property
    def below_new_percent(self) -> Decimal | None:
        """By how many whole per cent of the new cost it stays below that; negative above it."""
        if self.saved is None or not self.new_total:
            return None
        return round_half_up(self.saved / self.new_total * 100, 0)

    @property
    def above_new_percent(self) -> Decimal | None:
        """By how many whole per cent of the new cost it passes that."""
        return None if self.below_new_percent is None else -self.below_new_percent

    @property
    def dearer(self) -> Fraction | None:
        """By how much it passes the new cost."""
        return None if self.saved is None else -self.saved


@dataclass(frozen=True)
class Preview:
    """The purchase as a whole."""

    lines: tuple[LinePreview, ...]
    cost: PurchaseCost

    @property
    def last(self) -> LinePreview:
        """The line that was typed: the others of its purchase stand before it."""
        return self.lines[-1]

    @property
    def is_known(self) -> bool:
        """Whether every line's price is known."""
        return self.cost.unknown_lines == 0


def preview_purchase(
    purchase: Purchase,
    lines: list[PurchaseLine],
    charges: list[Charge],
    book: PriceBook,
    sheet: CostSheet,
) -> Preview:
    """Cost an unsaved purchase. Raises QuantityError or CostingError, whose text says why."""
    derived = derive_purchase(purchase, lines, charges, book)
    rows = {row.position.component.key: row for row in sheet.components}
    tax = sheet.build.retail_tax_share
    shown = []
    for line, figures in zip(lines, derived.lines, strict=True):
        row = rows.get(line.component.pk)
        usable = Fraction(figures["usable_qty"] or 0)
        landed = figures["landed_amount"] or Decimal(0)
        part = row.position.component if row else None
        shown.append(
            LinePreview(
                component=line.component,
                understood=parsed(line.quantity_text).understood,
                typed_unit=parsed(line.quantity_text).unit.symbol,
                base_qty=figures["base_qty"] or Decimal(0),
                usable_qty=figures["usable_qty"] or Decimal(0),
                price=figures["price_amount"],
                charges=figures["charges_amount"] or Decimal(0),
                landed=landed,
                per_usable=None
                if figures["price_amount"] is None
                else per(Fraction(landed), usable),
                new_one=new_cost_of_one(part, tax) if part and part.would_buy_new else None,
                new_total=retail_equivalent(part, usable, tax) if part else None,
                average=row.position.average if row else None,
            )
        )
    return Preview(tuple(shown), derived.cost)
