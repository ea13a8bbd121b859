"""Comparing with buying new: retail prices, retail equivalent, what an offer is worth."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from fractions import Fraction
from typing import TypeVar

from .costing import PurchaseCost, cost_purchase
from .types import ComponentInput, LineInput, Number, PurchaseInput

ZERO = Fraction(0)
Priced = TypeVar("Priced")


def price_on(prices: Iterable[tuple[date, Priced]], on: date) -> Priced | None:
    """The newest price dated on or before ``on``, or None."""
    known = [pair for pair in prices if pair[0] <= on]
    return max(known, key=lambda pair: pair[0])[1] if known else None


def price_near(prices: Sequence[tuple[date, Priced]], on: date) -> Priced | None:
    """The newest price on or before ``on``; where there is none, the earliest after it.

    Used for lot splits: a price looked up a week after the auction still tells the lines apart.
    """
    found = price_on(prices, on)
    if found is not None or not prices:
        return found
    return min(prices, key=lambda pair: pair[0])[1]


def new_cost_of_one(part: ComponentInput, tax_share: Fraction) -> Fraction | None:
    """What new retail material doing the work of one base unit costs with tax, or None.

    Where no new price is known, what was bought new tells it: as landed, and so with its tax.
    """
    if part.retail_price is None:
        return part.bought_new
    return part.new_per_one * part.retail_price * (1 + tax_share)


def average_and_new(
    part: ComponentInput, average: Fraction | None, tax_share: Fraction
) -> tuple[Fraction, Fraction] | tuple[None, None]:
    """What one costs so far and what it costs new; where one is missing the other serves."""
    new = new_cost_of_one(part, tax_share)
    so_far, bought_new = new if average is None else average, average if new is None else new
    return (None, None) if so_far is None or bought_new is None else (so_far, bought_new)


def retail_equivalent(
    part: ComponentInput, quantity: Fraction, tax_share: Fraction
) -> Fraction | None:
    """New cost of the work a quantity does; 0 for what would not be bought new; None unknown."""
    if not part.would_buy_new:
        return ZERO
    one = new_cost_of_one(part, tax_share)
    return None if one is None else quantity * one


def saved(new: Fraction | None, cost: Fraction | None) -> Fraction | None:
    """What new would have cost less what was paid; None when either is not known."""
    return None if new is None or cost is None else new - cost


@dataclass(frozen=True, slots=True)
class OfferWorth:
    """What an offer is worth, as whole-purchase prices before charges.

    ``retail_equivalent``: new cost of the usable quantities (None when a line has no retail
    price). ``highest_price``: the most to pay so that the landed cost does not pass it;
    ``highest_price_with_hours``: the same after the value of the hours the offer takes.
    ``needed_equivalent`` and ``highest_price_needed``: the same two of the part that counts,
    still for the whole offer; None when nothing is known of what is needed.
    ``highest_price_needed_with_hours``: that after the value of the hours.
    """

    cost: PurchaseCost
    retail_equivalent: Fraction | None
    highest_price: Decimal | None
    highest_price_with_hours: Decimal | None
    needed_equivalent: Fraction | None = None
    highest_price_needed: Decimal | None = None
    highest_price_needed_with_hours: Decimal | None = None


def judge_offer(
    offer: PurchaseInput,
    tax_share: Fraction = ZERO,
    hours: Number | None = None,
    hourly_rate: Number | None = None,
    needed: Sequence[Fraction] | None = None,
) -> OfferWorth:
    """Cost an offer by the rules of a purchase and find its highest worthwhile price.

    ``needed``: what of each line's usable quantity the build still needs; None not known.
    """
    cost = cost_purchase(offer)
    new = _new_cost(offer, tax_share, [line.usable_qty for line in offer.lines])
    useful = None if needed is None else _new_cost(offer, tax_share, needed)
    worked = None
    if hours is not None and hourly_rate is not None:
        worked = Fraction(hours) * Fraction(hourly_rate)

    def bid(limit: Fraction | None, less: Fraction | None) -> Decimal | None:
        return None if limit is None or less is None else highest_price(offer, limit - less)

    return OfferWorth(
        cost,
        new,
        bid(new, ZERO),
        bid(new, worked),
        useful,
        bid(useful, ZERO),
        bid(useful, worked),
    )


def _new_cost(
    offer: PurchaseInput, tax_share: Fraction, quantities: Sequence[Fraction]
) -> Fraction | None:
    """New cost with tax of a quantity of each line; None when one of them has no new price.

    What is not there, or not needed, needs no price.
    """
    value = ZERO
    for line, quantity in zip(offer.lines, quantities, strict=True):
        if not line.would_buy_new or not quantity:
            continue
        if line.retail_price is not None:
            value += quantity * line.retail_price * (1 + tax_share)
        elif line.bought_new is not None:
            value += quantity * line.bought_new
        else:
            return None
    return value


def highest_price(offer: PurchaseInput, limit: Fraction) -> Decimal | None:
    """The highest price for everything offered whose landed total does not pass ``limit``.

    The landed total only grows with the price, so the price is found by halving the range
    between 0 and the limit (or a bound that charges can lower it to), in minor units. None
    when even a price of 0 costs more than it is worth (haulage alone passes the limit).
    """
    unit: int = 10**offer.places
    if _landed(offer, Decimal(0)) > limit:
        return None
    low, high = 0, max(1, int(limit * unit) + 1)
    while _landed(offer, Decimal(high) / unit) <= limit:
        low, high = high, high * 2
        if high > 10**15:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        if _landed(offer, Decimal(middle) / unit) <= limit:
            low = middle
        else:
            high = middle
    return Decimal(low) / unit


def _landed(offer: PurchaseInput, price: Decimal) -> Decimal:
    lines = tuple(_unpriced(line) for line in offer.lines)
    return cost_purchase(replace(offer, lines=lines, lot_price=price, lot_split=None)).total


def _unpriced(line: LineInput) -> LineInput:
    return replace(line, unit_price=None, line_price=None)
