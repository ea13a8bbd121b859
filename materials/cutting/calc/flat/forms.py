"""Rectangles that pieces are cut from, in whole steps."""

import math
from collections.abc import Callable, Sequence
from fractions import Fraction

from .triangles import MOST_IN_STRIP, shifts, strip_length
from .types import Form, Part

Steps = Callable[[Fraction], int]


def forms_of(parts: Sequence[Part], steps: Steps, kerf: Fraction, room: Fraction) -> list[Form]:
    """All of them, each once. ``room``: no sheet is longer or wider."""
    found: list[Form] = []
    for need, part in enumerate(parts):
        sizes = [
            (length + kerf, part.width + kerf, count) for count, length in _strips(part, kerf, room)
        ]
        for wide, tall, count in sizes:
            found.append(Form(need, steps(wide), steps(tall), count))
            if part.may_turn and wide != tall:
                found.append(Form(need, steps(tall), steps(wide), count, True))
    return found


def sides_of(part: Part, kerf: Fraction) -> list[Fraction]:
    """All lengths that the sizes of a part's forms are sums of."""
    if not part.is_triangle:
        return [part.length, part.width]
    return [part.length, part.width, part.corner, *shifts(part, kerf)]


def _strips(part: Part, kerf: Fraction, room: Fraction) -> list[tuple[int, Fraction]]:
    """How many pieces lie in one strip, and how long it is then; of rectangles, one."""
    if not part.is_triangle:
        return [(1, part.length)]
    found = []
    for count in range(1, min(part.count, MOST_IN_STRIP) + 1):
        length = strip_length(part, kerf, count)
        if count > 1 and length > room:
            break
        found.append((count, length))
    return found


def step_of(lengths: Sequence[Fraction]) -> Fraction:
    """How many steps there are to a unit, so that every length is a whole number of them."""
    scale = math.lcm(*(one.denominator for one in lengths))
    whole = math.gcd(*(int(one * scale) for one in lengths))
    return Fraction(scale, whole or 1)
