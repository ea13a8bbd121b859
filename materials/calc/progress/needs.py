"""How much of what a build needs has been got, by what it is worth.

A door counts for more than a screw: each need weighs what it costs new, tax included, or at the
average paid where no new price is known. What has no price at all cannot be weighed and is named.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from ..prices import average_and_new
from ..stock import Position

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class NeedsMet:
    """Money that the stated needs come to with their waste, and the part received or ordered.

    ``left_out``: names of components with a stated need and no price.
    """

    met: Fraction
    needed: Fraction
    left_out: tuple[str, ...]


def needs_met(positions: Iterable[Position], tax_share: Fraction) -> NeedsMet:
    """Of components that state a need, what they come to and what of it is there or ordered."""
    met = needed = ZERO
    left_out = []
    for position in positions:
        part, still = position.component, position.still_needed
        wanted = part.wanted
        if wanted is None or still is None:
            continue
        _, one = average_and_new(part, position.average, tax_share)
        if one is None:
            if wanted:
                left_out.append(part.name)
            continue
        needed += wanted * one
        met += (wanted - still) * one
    return NeedsMet(met, needed, tuple(left_out))
