"""What a purchase that is not saved yet would come to, line by line.

Previews (here, ``offers``, ``conversions``) run the same engine over unsaved records, so that one
can never differ from what is saved. The short form and the conversion form ask for theirs through
htmx while one types; without scripts a button does. htmx is served by the app, with its own
styles, script evaluation and script tags switched off in the page's ``htmx-config``.
"""

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from ..calc.costing import PurchaseCost
from ..calc.kind_sense import Measure
from ..calc.money import round_half_up
from ..calc.offers import Need, OfferedLine, needs_of
from ..calc.prices import new_cost_of_one, retail_equivalent
from ..calc.reports import CostSheet, per
from ..calc.types import Basis
from ..choices import State
from ..models import Charge, Component, Purchase, PurchaseLine
from .comparing import measures_for
from .price_book import PriceBook
from .purchases import Derived, derive_purchase
from .quantities import UnitPrice, parsed, says_base, unit_price_of


@dataclass(frozen=True)
class MeasuredPrice:
    """Delivered, new and paid so far by one measure; None where not known."""

    words: str
    per_usable: Fraction | None
    new_one: Fraction | None
    average: Fraction | None


@dataclass(frozen=True)
class LinePreview:
    """One line as understood and costed, beside new and beside what was paid so far.

    ``landed`` is the known money; ``per_usable``, ``new_one``, ``new_total`` (tax included)
    and ``average`` are None when not known. ``unit_price`` is before charges. ``need`` is that
    of its component with all lines that are new, None for a line that counts in the build
    already.
    """

    component: Component
    understood: str
    converted: bool
    base_qty: Decimal
    usable_qty: Decimal
    price: Decimal | None
    unit_price: UnitPrice | None
    charges: Decimal
    landed: Decimal
    per_usable: Fraction | None
    new_one: Fraction | None
    new_total: Fraction | None
    average: Fraction | None
    need: Need | None
    measures: tuple[Measure, ...] = ()

    @property
    def by_measure(self) -> tuple["MeasuredPrice", ...]:
        """Its prices by what its kind is bought for, unless that is the base unit itself."""
        return tuple(
            MeasuredPrice(
                one.words, one.price(self.per_usable), one.price(self.new_one),
                one.price(self.average),
            )
            for one in self.measures
            if one.unit.symbol != self.component.unit
        )  # fmt: skip

    @property
    def saved(self) -> Fraction | None:
        """New cost of the same work less the landed cost."""
        if self.new_total is None or self.price is None:
            return None
        return self.new_total - Fraction(self.landed)

    @property
    def is_above_needed(self) -> bool:
        """Whether it costs more than the part of it that the build still needs does new."""
        if self.need is None or not self.need.surplus or self.price is None:
            return False
        if self.need.is_all_surplus:
            return self.landed > 0
        if self.new_total is None or not self.component.would_buy_new:
            return False
        return Fraction(self.landed) > self.new_total * self.need.useful_share

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
    def cost_above_new(self) -> Fraction | None:
        """By how much it passes the new cost."""
        return None if self.saved is None else -self.saved


@dataclass(frozen=True)
class Preview:
    """The purchase as a whole."""

    lines: tuple[LinePreview, ...]
    cost: PurchaseCost
    # For want of whose new price the lot is split equally, which nobody chose.
    lot_unpriced: tuple[Component, ...] = ()

    @property
    def last(self) -> LinePreview:
        """The line that was typed: the others of its purchase stand before it."""
        return self.lines[-1]

    @property
    def is_known(self) -> bool:
        """Whether every line's price is known."""
        return self.cost.unknown_lines == 0

    @property
    def needed(self) -> tuple[tuple[Component, Need], ...]:
        """Each component of the new lines with its need."""
        by_component = {line.component.pk: line for line in self.lines if line.need}
        return tuple((line.component, line.need) for line in by_component.values() if line.need)

    @property
    def surplus(self) -> tuple[tuple[Component, Need], ...]:
        """What is more than the build still needs."""
        return tuple((part, need) for part, need in self.needed if need.surplus)

    @property
    def is_surplus_single(self) -> bool:
        """Whether one thing alone is more than needed, so that a sentence says “is”."""
        return [need.surplus for _, need in self.surplus] == [1]

    @property
    def unstated(self) -> tuple[Component, ...]:
        """Components of whose need nothing is known: they state no requirement."""
        return tuple(part for part, need in self.needed if need.needed is None)

    @property
    def is_need_known(self) -> bool:
        """Whether anything is known of what the build needs of it."""
        return len(self.unstated) < len(self.needed)

    @property
    def is_partly_usable(self) -> bool:
        """Whether some of it is not usable: needs are met by what is usable alone."""
        return any(line.usable_qty != line.base_qty for line in self.lines if line.need)


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
    needs = needs_of(sheet, _new_lines(purchase, lines, derived))
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
                converted=not says_base(
                    line.quantity_text, figures["base_qty"] or Decimal(0), line.component
                ),
                base_qty=figures["base_qty"] or Decimal(0),
                usable_qty=figures["usable_qty"] or Decimal(0),
                price=figures["price_amount"],
                unit_price=unit_price_of(line, figures["price_amount"]),
                charges=figures["charges_amount"] or Decimal(0),
                landed=landed,
                per_usable=None
                if figures["price_amount"] is None
                else per(Fraction(landed), usable),
                new_one=new_cost_of_one(part, tax) if part and part.would_buy_new else None,
                new_total=retail_equivalent(part, usable, tax) if part else None,
                average=row.position.average if row else None,
                need=needs[line.component.pk] if _is_new(purchase, line) else None,
                measures=measures_for(line.component, purchase.build),
            )
        )
    return Preview(tuple(shown), derived.cost, _lot_unpriced(purchase, lines, derived, book))


def _lot_unpriced(
    purchase: Purchase, lines: list[PurchaseLine], derived: Derived, book: PriceBook
) -> tuple[Component, ...]:
    """Components without a new price in a lot that is split equally for want of them."""
    if derived.cost.lot_basis is not Basis.EQUAL or purchase.lot_split:
        return ()
    prices = ((line.component, line.unit_price, line.line_price_amount) for line in lines)
    return book.lot_unpriced(prices, purchase.bought_on)


def _is_new(purchase: Purchase, line: PurchaseLine) -> bool:
    """Whether the build does not count a line yet among what is on site or ordered."""
    return line.pk is None or purchase.state not in (State.RECEIVED, State.ORDERED)


def _new_lines(
    purchase: Purchase, lines: list[PurchaseLine], derived: Derived
) -> list[OfferedLine]:
    """The lines that are still to be met by a need, costed."""
    return [
        OfferedLine(
            line.component.pk,
            line.source,
            Fraction(figures["usable_qty"] or 0),
            Fraction(figures["landed_amount"] or 0),
        )
        for line, figures in zip(lines, derived.lines, strict=True)
        if _is_new(purchase, line)
    ]
