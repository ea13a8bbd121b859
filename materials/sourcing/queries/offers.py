"""The open offers of a build as what can be taken of them, and what cannot be planned with."""

from collections import defaultdict
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from ...calc.costing import CostingError, charge_amount
from ...calc.money import minor_units, round_half_up
from ...calc.quantities import QuantityError
from ...calc.supply.types import Offer, Part
from ...calc.types import ChargeInput, Key
from ...choices import State
from ...models import Build, Purchase, PurchaseLine
from ...queries.offer_terms import terms_of
from ...queries.price_book import PriceBook, get_price_book
from ...queries.purchases import charge_input, list_purchases
from ...queries.quantities import unit_price_of


@dataclass(frozen=True)
class OfferItem:
    """What can be taken by itself of an offer, as a page names it.

    ``lines``: all of a lot, or one. ``base``: base units of one step, None for a lot.
    ``price_words``: what its price is for. ``is_useful``: the build needs something of it.
    """

    part: Part
    purchase: Purchase
    lines: tuple[PurchaseLine, ...]
    base: Fraction | None
    price_words: str
    is_useful: bool

    @property
    def is_lot(self) -> bool:
        """Whether it is a lot, whole or not at all."""
        return self.base is None


@dataclass(frozen=True)
class LeftOut:
    """Something the plan does not count, and why."""

    what: str
    why: str
    purchase: Purchase | None = None


@dataclass(frozen=True)
class OpenOffers:
    """``offers`` hold what the build has a use for, ``items`` all that can be taken."""

    offers: tuple[Offer, ...]
    items: dict[Key, OfferItem]
    left_out: tuple[LeftOut, ...]
    purchases: tuple[Purchase, ...]


def get_open_offers(build: Build, useful: set[Key]) -> OpenOffers:
    """Offers not yet taken or declined, the earliest first. ``useful``: components of use."""
    book = get_price_book(build)
    offers, left_out = [], []
    items: dict[Key, OfferItem] = {}
    purchases = tuple(
        list_purchases(build)
        .filter(state=State.OFFER)
        .select_related("supplier", "build")
        .prefetch_related("lines__component", "charges")
        .order_by("bought_on", "pk")
    )
    for purchase in purchases:
        charges = _charges(purchase, book)
        if isinstance(charges, str):
            left_out.append(LeftOut("All of it", charges, purchase))
            continue
        found = _offer_items(purchase, useful, left_out)
        kept = tuple(item.part for item in found if item.is_useful)
        items |= {item.part.key: item for item in found}
        if kept:
            hours = purchase.expected_hours
            if hours is None:
                left_out.append(
                    LeftOut("Its hours", "It states no hours, so none count.", purchase)
                )
            offers.append(
                Offer(purchase.pk, kept, charges, Fraction(hours or 0), purchase.supplier_id)
            )
    return OpenOffers(tuple(offers), items, tuple(left_out), purchases)


def _charges(purchase: Purchase, book: PriceBook) -> tuple[ChargeInput, ...] | str:
    """The charges of an offer, or the sentence that says why they cannot be calculated."""
    try:
        charges = tuple(
            charge_input(charge, purchase.build, purchase.bought_on, book)
            for charge in purchase.charges.all()
        )
        for charge in charges:
            charge_amount(charge, 0, 0, minor_units(purchase.build.currency))
    except (CostingError, QuantityError) as error:
        return str(error)
    return charges


def _offer_items(purchase: Purchase, useful: set[Key], left_out: list[LeftOut]) -> list[OfferItem]:
    """What can be taken by itself; adds what cannot be planned to ``left_out``."""
    places = minor_units(purchase.build.currency)
    found, lot = [], []
    for line in purchase.lines.all():
        is_useful = line.component_id in useful
        if line.line_price_amount is not None:
            price = Fraction(round_half_up(line.line_price_amount, places))
            brings = ((line.component_id, Fraction(line.usable_qty)),)
            part = Part((purchase.pk, line.pk), brings, ((1, price),))
            base = Fraction(line.base_qty)
            found.append(OfferItem(part, purchase, (line,), base, "for all of it", is_useful))
        elif line.unit_price is not None:
            try:
                found.append(_by_the_unit(purchase, line, is_useful))
            except QuantityError as error:
                left_out.append(LeftOut(line.component.name, str(error), purchase))
        elif purchase.lot_price_amount is not None:
            lot.append(line)
        else:
            why = "Its price is not known. Ask for it, and add it to the offer."
            left_out.append(LeftOut(line.component.name, why, purchase))
    if lot:
        found.insert(0, _lot(purchase, lot, useful, places))
    return found


def _by_the_unit(purchase: Purchase, line: PurchaseLine, is_useful: bool) -> OfferItem:
    terms = terms_of(line)
    brings = ((line.component_id, terms.step * Fraction(line.usable_percent) / 100),)
    part = Part((purchase.pk, line.pk), brings, terms.tiers, terms.units, terms.most)
    price = unit_price_of(line, line.price_amount)
    return OfferItem(part, purchase, (line,), terms.step, price.words if price else "", is_useful)


def _lot(purchase: Purchase, lot: list[PurchaseLine], useful: set[Key], places: int) -> OfferItem:
    brings: dict[Key, Fraction] = defaultdict(Fraction)
    for line in lot:
        brings[line.component_id] += Fraction(line.usable_qty)
    assert purchase.lot_price_amount is not None
    price = Fraction(round_half_up(Decimal(purchase.lot_price_amount), places))
    part = Part((purchase.pk, "lot"), tuple(brings.items()), ((1, price),))
    is_useful = any(key in useful for key in brings)
    return OfferItem(part, purchase, tuple(lot), None, "for the lot", is_useful)
