"""What one step of getting something is: a pack, a piece, or a unit of what is measured.

Plans, shopping lists and offers all get things in these steps, so that they agree on the least
that can be had at a time.
"""

from fractions import Fraction

from ..shopping import Pack, comes_whole, step_of
from ..types import ComponentInput
from .types import New


def step_as_paid(one: Fraction, pack: Pack, needed: Fraction) -> New:
    """A step at ``one`` a base unit, as was paid before; ``needed`` in base units."""
    size = _size(pack, needed)
    covers = pack.size * size
    return New(covers, covers * one, pack.unit, size)


def step_at_new_price(
    part: ComponentInput, price: Fraction, pack: Pack, needed: Fraction, tax_share: Fraction
) -> New:
    """A step of new material at its price before tax; it covers what it does the work of."""
    size = _size(pack, needed * part.new_per_one)
    base = pack.size * size
    return New(base / part.new_per_one, base * price * (1 + tax_share), pack.unit, size)


def _size(pack: Pack, quantity: Fraction) -> Fraction:
    return Fraction(1) if comes_whole(pack.unit) else step_of(quantity)
