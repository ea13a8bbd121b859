"""What the pieces of a sourcing plan cost, booked as the ledger would: they sum to its money."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from decimal import Decimal
from fractions import Fraction

from ..costing import PurchaseCost, cost_purchase
from ..money import round_half_up
from ..types import Key, LineInput, PurchaseInput
from .program import haulage_of
from .types import Need, Offer, Recipe

NOTHING = Decimal(0)


def landed_cost(offer: Offer, takes: Mapping[Key, int], places: int) -> Decimal:
    """Landed cost of what is taken of an offer, as a purchase of its own."""
    cost = _booked(offer, takes, places)
    return NOTHING if cost is None else cost.total


def line_costs(offer: Offer, takes: Mapping[Key, int], places: int) -> dict[Key, Decimal]:
    """Landed cost of each part of an offer that is taken, charges included."""
    cost = _booked(offer, takes, places)
    return {} if cost is None else {line.key: line.landed for line in cost.lines}


def is_paid_for(offer: Offer, takes: Mapping[Key, int], places: int) -> bool:
    """Whether no charge that takes off leaves less than nothing: nobody is paid for taking."""
    cost = _booked(offer, takes, places)
    if cost is None:
        return True
    so_far = cost.price
    for charge in cost.charges:
        so_far += charge.amount
        if charge.amount < 0 and so_far < 0:
            return False
    return True


def _booked(offer: Offer, takes: Mapping[Key, int], places: int) -> PurchaseCost | None:
    """What is taken of an offer as a purchase of its own; None where nothing is."""
    lines = [
        LineInput(
            part.key,
            Fraction(takes[part.key]),
            unit_price=part.price_of(takes[part.key]),
            priced_units=part.units * takes[part.key],
        )
        for part in offer.parts
        if takes.get(part.key)
    ]
    if not lines:
        return None
    return cost_purchase(PurchaseInput(places, tuple(lines), offer.charges))


def is_taken(offer: Offer, takes: Mapping[Key, int]) -> bool:
    """Whether anything of an offer is taken."""
    return any(takes.get(part.key) for part in offer.parts)


def shared_haulage(offers: Sequence[Offer], takes: Mapping[Key, int], places: int) -> Decimal:
    """What of the haulages of one supplier's offers is counted once only: all but the highest."""
    paid = [haulage_of(offer, places) for offer in offers if is_taken(offer, takes)]
    if len(paid) < 2:
        return NOTHING
    return Decimal(sum(paid) - max(paid)).scaleb(-places)


def by_supplier(offers: Sequence[Offer]) -> dict[Key, list[Offer]]:
    """Offers by the trip that fetches them, in order; without a supplier each is a trip."""
    trips: dict[Key, list[Offer]] = defaultdict(list)
    for offer in offers:
        trips[("offer", offer.key) if offer.supplier is None else offer.supplier].append(offer)
    return dict(trips)


def new_cost(need: Need, steps: int, places: int) -> Decimal:
    """New material with tax, rounded once."""
    price = Fraction(0) if need.new is None else need.new.price
    return round_half_up(steps * price, places)


def extra_cost(recipe: Recipe, steps: int, places: int) -> Decimal:
    """The extra cost of a conversion, rounded once."""
    return round_half_up(steps * recipe.extra, places)
