"""What one step of getting something is: a pack, a piece, or a unit of what is measured.

Plans, shopping lists and offers all get things in these steps, so that they agree on the least
that can be had at a time.
"""

from fractions import Fraction

from ..shopping import Pack, comes_whole, even_step, step_of
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
    """Of what is measured so much that a whole number of steps is all that is needed: any amount
    of it can be had, and whole needs then cost what a shopping list says."""
    if comes_whole(pack.unit):
        return Fraction(1)
    step, much = step_of(quantity), quantity / pack.size
    return even_step(much, step) if much else step
