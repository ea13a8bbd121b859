"""The triangles of a dome as pieces that can be cut from sheets."""

import math
from fractions import Fraction

from materials.calc.units import UNITS
from materials.takeoffs.calc.dome_geometry import Dome, letter
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Panel


def panel_pieces(made: Dome, radius: Fraction, is_metric: bool) -> tuple[Panel, ...]:
    """One kind of triangle each, its longest side first, rounded up to what a tape shows.

    The third corner is rounded to the nearest. ``radius`` in feet.
    Mirrored ones count as one kind: of a kind with three different sides half are the mirror image
    of the others, which matters on sheets with a face side only.
    """
    unit, steps = (UNITS["mm"], 1) if is_metric else (UNITS["in"], 16)
    sides = {letter(kind): Fraction(factor) for kind, factor in enumerate(made.factors)}
    found = []
    for kind, count in made.face_counts.items():
        scaled = [sides[name] * radius * UNITS["ft"].factor / unit.factor for name in kind]
        long, one, other = sorted(scaled, reverse=True)
        corner = (long**2 + one**2 - other**2) / (2 * long)
        height = root(one**2 - corner**2)
        found.append(
            Panel(
                kind,
                Fraction(math.ceil(long * steps), steps),
                Fraction(math.ceil(height * steps), steps),
                Fraction(math.floor(corner * steps + Fraction(1, 2)), steps),
                count,
                unit.symbol,
            )
        )
    return tuple(found)
