"""Judging an offer before it is taken: a draft, or a purchase that is one.

``new_prices`` puts a typed new price, or a component not saved yet, on the price book and the cost
sheet first. How the part beyond what is needed counts is decided in DEVELOPERS.md.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from ..calc.offers import Effect, OfferedLine, offer_effects
from ..calc.prices import OfferWorth, judge_offer
from ..calc.reports import CostSheet
from ..calc.types import PurchaseInput
from ..choices import ChargeKind
from ..models import Build, Component, Purchase, PurchaseLine
from .drafts import Draft
from .offer_making import OfferMaking, judge_making
from .preview import LinePreview, Preview, preview_purchase
from .price_book import PriceBook, get_price_book
from .purchases import purchase_input
from .reports import frac, get_cost_sheet


@dataclass(frozen=True)
class Needed:
    """What a component still needs now and with the offer."""

    component: str
    unit: str
    now: Fraction | None
    then: Fraction | None


@dataclass(frozen=True)
class Judgement:
    """An offer as costed, what it is worth, and what it would move."""

    preview: Preview
    worth: OfferWorth
    effects: tuple[Effect, ...]
    needed: tuple[Needed, ...]
    hours: Decimal | None
    sheet: CostSheet
    # A buyer's premium is paid on it: it is bid for, at an auction.
    premium: bool
    making: OfferMaking | None = None

    @property
    def asked(self) -> Decimal | None:
        """The price asked for everything, before charges; None when a part is not known."""
        return self.preview.cost.price if self.preview.is_known else None

    @property
    def is_above_needed(self) -> bool:
        """Whether more is asked than the part that the build still needs is worth."""
        if not self.asked or not self.preview.surplus or self.worth.needed_equivalent is None:
            return False
        most = self.worth.highest_price_needed
        return most is None or self.asked > most

    @property
    def is_all_surplus(self) -> bool:
        """Whether the build needs none of it any more."""
        return all(need.is_all_surplus for _, need in self.preview.needed)

    @property
    def unpriced(self) -> tuple[Component, ...]:
        """Components without a new price, that would be bought new; each once."""
        missing = (
            line.component
            for line in self.preview.lines
            if line.new_one is None and line.component.would_buy_new
        )
        return tuple({part.name: part for part in missing}.values())

    @property
    def saved(self) -> Fraction | None:
        """Retail equivalent less landed total; None when either is not known."""
        new = self.worth.retail_equivalent
        if new is None or not self.preview.is_known:
            return None
        return new - Fraction(self.preview.cost.total)

    @property
    def gain_by_making(self) -> Decimal | None:
        """What it saves by what can be made of it, less its landed total; None not known."""
        if self.making is None or self.making.missing or not self.preview.is_known:
            return None
        worth = self.making.worth
        return None if worth is None else worth - self.preview.cost.total

    @property
    def is_for_making(self) -> bool:
        """Whether it is worth what can be made of it: no requirement names anything of it as it is.

        Nobody would buy it new to build it in, so what it costs new is no measure of it.
        """
        if self.making is None or self.making.worth is None or not self.making.useful:
            return False
        return all(line.component.required_qty is None for line in self.preview.lines)

    @property
    def cost_above_new(self) -> Fraction | None:
        """By how much the offer passes the new cost."""
        return None if self.saved is None else -self.saved


def judge_purchase(build: Build, purchase: Purchase, on: date) -> Judgement:
    """Judge an offer with its lines and charges. Raises QuantityError or CostingError."""
    draft = Draft(purchase, list(purchase.lines.all()), list(purchase.charges.all()))
    return judge(build, draft, get_price_book(build), get_cost_sheet(build, on), on)


def judge(build: Build, draft: Draft, book: PriceBook, sheet: CostSheet, on: date) -> Judgement:
    """Judge an offer that may not be saved yet. Raises QuantityError or CostingError."""
    purchase, lines, charges = draft.purchase, draft.lines, draft.charges
    preview = preview_purchase(purchase, lines, charges, book, sheet)
    offer = purchase_input(purchase, lines, charges, book)
    worth = judge_offer(
        _as_bought(offer, lines, sheet),
        sheet.build.retail_tax_share,
        purchase.expected_hours,
        frac(build.own_labour_rate),
        [_counted(line) for line in preview.lines] if preview.is_need_known else None,
    )
    offered = [
        OfferedLine(
            line.component.pk, source.source, Fraction(line.usable_qty), Fraction(line.landed)
        )
        for line, source in zip(preview.lines, lines, strict=True)
    ]
    then, effects = offer_effects(sheet, offered)
    after = {row.position.component.key: row.position for row in then.components}
    touched = {line.component for line in offered}
    needed = [
        Needed(
            position.component.name,
            position.component.unit,
            position.still_needed,
            after[position.component.key].still_needed,
        )
        for position in (row.position for row in sheet.components)
        if position.component.key in touched
    ]
    premium = any(charge.kind == ChargeKind.BUYERS_PREMIUM for charge in charges)
    hours = purchase.expected_hours
    making = judge_making(build, purchase, offer, preview.lines, sheet, on)
    return Judgement(preview, worth, tuple(effects), tuple(needed), hours, sheet, premium, making)


def _as_bought(
    offer: PurchaseInput, lines: Sequence[PurchaseLine], sheet: CostSheet
) -> PurchaseInput:
    """The offer with what each line's component came to when it was bought new."""
    parts = (row.position.component for row in sheet.components)
    bought = {part.key: part.bought_new for part in parts}
    told = zip(offer.lines, lines, strict=True)
    return replace(
        offer,
        lines=tuple(replace(one, bought_new=bought.get(line.component_id)) for one, line in told),
    )


def _counted(line: LinePreview) -> Fraction:
    """A line's share of what its component's lines together still serve."""
    need, usable = line.need, Fraction(line.usable_qty)
    if need is None or not need.offered:
        return usable
    return usable * need.useful_share
