"""What shapes a build is made of, as its takeoffs say: plain values for whoever scales by them."""

from dataclasses import dataclass
from fractions import Fraction

from .types import Key


@dataclass(frozen=True, slots=True)
class Extent:
    """One measure of all shapes of a kind in a build: the struts of its domes, the area of walls.

    ``shape`` and ``key`` name the measure, alike in every build. ``quantity`` is in ``unit``.
    ``components``: what is required by it.
    """

    shape: str
    key: str
    label: str
    quantity: Fraction
    unit: str
    components: frozenset[Key] = frozenset()
