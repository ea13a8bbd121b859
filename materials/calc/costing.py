"""From the prices and charges of one purchase to the landed cost of each of its lines.

Rules: line prices, lot shares and charges are rounded to the minor unit when they become
facts; a lot price and every charge are split by largest remainder, so that the landed
costs of the lines sum exactly to the purchase's total.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction

from .money import round_half_up, split_amount
from .types import Basis, ChargeInput, Key, LineInput, Number, PercentOn, PurchaseInput

DISCOUNT = "discount"


class CostingError(ValueError):
    """A purchase that cannot be costed; ``str()`` is a sentence for the user."""


@dataclass(frozen=True, slots=True)
class LineCost:
    """``price`` is None when not known. ``landed`` is the money known: price plus charges."""

    key: Key
    price: Decimal | None
    charges: Decimal

    @property
    def landed(self) -> Decimal:
        """Known money on this line."""
        return (self.price if self.price is not None else Decimal(0)) + self.charges

    @property
    def is_known(self) -> bool:
        """False when the price is not known, so that ``landed`` is a part only."""
        return self.price is not None


@dataclass(frozen=True, slots=True)
class ChargeCost:
    """A charge in money, the basis that was really used, and each line's share."""

    key: Key
    amount: Decimal
    basis: Basis
    shares: tuple[Decimal, ...]


@dataclass(frozen=True, slots=True)
class PurchaseCost:
    """``lot_basis`` is None when no lot price was split."""

    lines: tuple[LineCost, ...]
    charges: tuple[ChargeCost, ...]
    lot_basis: Basis | None

    @property
    def price(self) -> Decimal:
        """Sum of the known line prices."""
        return sum((line.price for line in self.lines if line.price is not None), Decimal(0))

    @property
    def total(self) -> Decimal:
        """Known landed total: prices and charges."""
        return sum((line.landed for line in self.lines), Decimal(0))

    @property
    def unknown_lines(self) -> int:
        """How many lines have no known price."""
        return sum(not line.is_known for line in self.lines)


def cost_purchase(purchase: PurchaseInput) -> PurchaseCost:
    """Cost one purchase.

    Raises CostingError when there are no lines, when a lot price has no line to fall on,
    when a lot split by weight misses a weight, or when a charge has no size.
    """
    if not purchase.lines:
        raise CostingError("A purchase needs at least one line: add what you bought or got.")
    prices, lot_basis = _line_prices(purchase)
    known_price = sum((price for price in prices if price is not None), Decimal(0))
    so_far = known_price
    charges = []
    for charge in purchase.charges:
        amount = charge_amount(charge, known_price, so_far, purchase.places)
        basis, shares = _spread(charge, amount, purchase, prices)
        charges.append(ChargeCost(charge.key, amount, basis, shares))
        so_far += amount
    lines = tuple(
        LineCost(line.key, price, sum((charge.shares[i] for charge in charges), Decimal(0)))
        for i, (line, price) in enumerate(zip(purchase.lines, prices, strict=True))
    )
    return PurchaseCost(lines, tuple(charges), lot_basis)


def check_purchase(purchase: PurchaseInput, cost: PurchaseCost) -> None:
    """Refuse what can be calculated but hardly be meant.

    Raises CostingError for a discount larger than what it is taken from, and for a charge
    spread by weight where only some lines have one.
    """
    so_far = cost.price
    for charge, figures in zip(purchase.charges, cost.charges, strict=True):
        so_far += figures.amount
        if charge.kind == DISCOUNT and so_far < 0 and not cost.unknown_lines:
            raise CostingError(
                "The discount is more than the price and charges before it: lower it, or "
                "log a sale as leftovers sold."
            )
        weighed = {line.lot_weight is not None for line in purchase.lines}
        if charge.spread_by is Basis.WEIGHT and len(weighed) > 1:
            raise CostingError(
                "A charge is spread by weight, but only some lines have a weight: give "
                "every line one (0 for a line that carries none of it)."
            )


def line_price(line: LineInput, places: int) -> Decimal | None:
    """Price of a line that stands outside any lot: as stated, or unit price x quantity."""
    if line.line_price is not None:
        return round_half_up(line.line_price, places)
    if line.unit_price is not None:
        return round_half_up(Fraction(line.unit_price) * line.priced_units, places)
    return None


def _line_prices(purchase: PurchaseInput) -> tuple[list[Decimal | None], Basis | None]:
    prices = [line_price(line, purchase.places) for line in purchase.lines]
    if purchase.lot_price is None:
        return prices, None
    lot = [i for i, line in enumerate(purchase.lines) if not line.has_own_price]
    if not lot:
        raise CostingError(
            "There is a lot price, but every line has a price of its own: empty the "
            "prices of the lot's lines, or empty the lot price."
        )
    lot_lines = [purchase.lines[i] for i in lot]
    basis, weights = lot_weights(lot_lines, purchase.lot_split)
    total = round_half_up(purchase.lot_price, purchase.places)
    for i, share in zip(lot, split_amount(total, weights, purchase.places), strict=True):
        prices[i] = share
    return prices, basis


def lot_weights(
    lines: Sequence[LineInput], stated: Basis | None
) -> tuple[Basis, Sequence[Fraction]]:
    """The basis a lot is split by and each line's weight.

    Nothing stated: by retail value when every line has a retail price, else equally. A
    stated basis whose weights are all zero falls back the same way.
    Raises CostingError when a split by weight misses a weight.
    """
    if stated is Basis.WEIGHT and any(line.lot_weight is None for line in lines):
        raise CostingError(
            "The lot is split by weight, but a line has no weight: enter a weight for "
            "every line of the lot, or choose another split."
        )
    if stated not in (None, Basis.PRICE, Basis.RETAIL_VALUE):
        weights = basis_weights(lines, stated, ())
        if weights is not None:
            return stated, weights
    return fallback_weights(lines)


def basis_weights(
    lines: Sequence[LineInput], basis: Basis | None, prices: Sequence[Decimal | None]
) -> list[Fraction] | None:
    """Weights of the lines for a basis, or None when it cannot carry a split."""
    weights: list[Number | None]
    if basis is Basis.PRICE:
        weights = list(prices)
    elif basis is Basis.RETAIL_VALUE:
        weights = [line.retail_value for line in lines]
    elif basis is Basis.QUANTITY:
        weights = [line.base_qty for line in lines]
    elif basis is Basis.WEIGHT:
        weights = [0 if line.lot_weight is None else line.lot_weight for line in lines]
    else:
        weights = [1] * len(lines)
    known = [Fraction(weight) for weight in weights if weight is not None]
    return known if len(known) == len(weights) and any(known) else None


def fallback_weights(lines: Sequence[LineInput]) -> tuple[Basis, list[Fraction]]:
    """By retail value where every line has one and not all are zero, else equally."""
    by_value = basis_weights(lines, Basis.RETAIL_VALUE, ())
    if by_value is not None:
        return Basis.RETAIL_VALUE, by_value
    return Basis.EQUAL, [Fraction(1)] * len(lines)


def charge_amount(
    charge: ChargeInput, price: Number, price_and_charges: Number, places: int
) -> Decimal:
    """A charge in money, rounded. A discount always lowers, whichever sign was typed.

    Raises CostingError when it has no size, or a distance has no rate.
    """
    if charge.percent is not None:
        on = price_and_charges if charge.percent_on is PercentOn.PRICE_AND_CHARGES else price
        amount = Fraction(charge.percent) * Fraction(on) / 100
    elif charge.distance is not None:
        if charge.distance_rate is None:
            raise CostingError(
                "A distance needs the build's distance rate: add it under Build details, "
                "or enter the haulage as an amount."
            )
        amount = Fraction(charge.distance) * Fraction(charge.distance_rate)
    elif charge.amount is not None:
        amount = Fraction(charge.amount)
    else:
        raise CostingError(
            f"The charge “{charge.kind}” has no size: enter an amount, a percentage or a distance."
        )
    return round_half_up(-abs(amount) if charge.kind == DISCOUNT else amount, places)


def _spread(
    charge: ChargeInput,
    amount: Decimal,
    purchase: PurchaseInput,
    prices: Sequence[Decimal | None],
) -> tuple[Basis, tuple[Decimal, ...]]:
    lines = purchase.lines
    basis = charge.spread_by
    known_prices = prices
    if charge.percent is not None:
        # A percentage was taken on the known prices only, so it falls on those lines only.
        known_prices = [Decimal(0) if price is None else price for price in prices]
    weights = basis_weights(lines, basis, known_prices)
    if weights is None:
        basis, weights = fallback_weights(lines)
    return basis, tuple(split_amount(amount, weights, purchase.places))
