"""Rectangles that pieces are cut from, in whole steps."""

import math
from collections.abc import Callable, Sequence
from fractions import Fraction

from .types import Form, Part

Steps = Callable[[Fraction], int]


def forms_of(parts: Sequence[Part], steps: Steps, kerf: Fraction, room: Fraction) -> list[Form]:
    """All of them, each once. ``room``: no sheet is longer or wider."""
    found: list[Form] = []
    for need, part in enumerate(parts):
        sizes = [(part.length + kerf, part.width + kerf, 1)]
        for wide, tall, count in sizes:
            found.append(Form(need, steps(wide), steps(tall), count))
            if part.may_turn and wide != tall:
                found.append(Form(need, steps(tall), steps(wide), count, True))
    return found


def step_of(lengths: Sequence[Fraction]) -> Fraction:
    """How many steps there are to a unit, so that every length is a whole number of them."""
    scale = math.lcm(*(one.denominator for one in lengths))
    whole = math.gcd(*(int(one * scale) for one in lengths))
    return Fraction(scale, whole or 1)
