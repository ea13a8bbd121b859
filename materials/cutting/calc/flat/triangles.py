"""Triangles in a strip, head to tail: every second one is turned half round.

A triangle is turned, never over: whatever side of a sheet shows, all of a strip show it. So a strip
holds one hand of a scalene triangle, and its mirror image is a part of its own; of one with two
equal sides both hands are the same. On sheets without a face they are one either way, for a piece
that is turned over is the other hand.

All slanted cuts of a strip are parallel to one of two sides. A cut takes one kerf across itself,
so along the strip it takes more: the kerf times the side over the height. Sides are roots, so that
share is rounded up to a quarter: a strip is never drawn shorter than its pieces need.
"""

from fractions import Fraction
from math import isqrt

from .types import Part

Point = tuple[Fraction, Fraction]
# More in one strip are cut as two strips.
MOST_IN_STRIP = 24


def shifts(part: Part, kerf: Fraction) -> tuple[Fraction, Fraction]:
    """What a cut along the right and along the left side takes of a strip's length."""
    return (
        kerf * _stretch(part.length - part.corner, part.width),
        kerf * _stretch(part.corner, part.width),
    )


def _stretch(run: Fraction, height: Fraction) -> Fraction:
    """A slanted side over the height, rounded up to a quarter."""
    square = (run * run + height * height) / (height * height) * 16
    least = isqrt(square.numerator // square.denominator)
    return Fraction(least if least * least == square else least + 1, 4)


def triangles(part: Part, kerf: Fraction, count: int) -> list[tuple[Point, Point, Point]]:
    """The corners of each in a strip that begins at 0, the two on the side first."""
    right, left = shifts(part, kerf)
    pair = part.length + right + left
    found = []
    for at in range(count):
        x = pair * (at // 2)
        if at % 2 == 0:
            found.append(
                ((x, Fraction(0)), (x + part.length, Fraction(0)), (x + part.corner, part.width))
            )
        else:
            top = x + part.corner + right
            found.append(
                ((top, part.width), (top + part.length, part.width),
                 (x + part.length + right, Fraction(0)))
            )  # fmt: skip
    return found


def strip_length(part: Part, kerf: Fraction, count: int) -> Fraction:
    """How long a strip of so many is."""
    return max(x for corners in triangles(part, kerf, count) for x, _ in corners)


def slants(part: Part, kerf: Fraction, count: int) -> list[tuple[Fraction, Fraction]]:
    """Where each slanted cut between two triangles begins: along the bottom and along the top of
    the strip; the blade lies behind both."""
    found = []
    for at, corners in enumerate(triangles(part, kerf, count)[:-1]):
        if at % 2 == 0:
            found.append((corners[1][0], corners[2][0]))
        else:
            found.append((corners[2][0], corners[1][0]))
    return found
