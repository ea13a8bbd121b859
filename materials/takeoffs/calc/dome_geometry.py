"""Geodesic domes of class I: every strut, hub and triangle worked out from the icosahedron.

Each of its twenty triangles is divided evenly along its edges and the points are pushed out to
the sphere. One vertex stands on top; from there the points lie in rows, and a dome keeps so many
rows of triangles. Places are Decimals of a sphere of radius 1, worked out with some digits more
than the ``roots.DIGITS`` that are kept of a length.
"""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Context, Decimal, localcontext
from fractions import Fraction
from functools import lru_cache

from materials.takeoffs.calc.roots import DIGITS

_WORK = Context(prec=DIGITS + 12)
# Two lengths closer than this are one: far more digits than two kinds of strut ever share.
_ALIKE = Decimal(1).scaleb(-20)
MOST_FREQUENCY = 8
Place = tuple[Decimal, Decimal, Decimal]
Point = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Dome:
    """A dome of radius 1. Numbers of hubs index ``places``; the first ``rows`` hold the top.

    ``struts``: ends and kind of each; ``factors``: length by kind, the shortest first;
    ``faces``: corners of each triangle; ``base``: hubs around the open bottom, in order.
    """

    frequency: int
    rows: int
    places: tuple[Place, ...]
    struts: tuple[tuple[int, int, int], ...]
    factors: tuple[Decimal, ...]
    faces: tuple[tuple[int, int, int], ...]
    base: tuple[int, ...]

    @property
    def strut_counts(self) -> list[int]:
        """How many struts of each kind."""
        found = Counter(kind for _, _, kind in self.struts)
        return [found[kind] for kind in range(len(self.factors))]

    @property
    def hub_counts(self) -> dict[int, int]:
        """How many hubs join so many struts."""
        ends = Counter(end for one, other, _ in self.struts for end in (one, other))
        return dict(sorted(Counter(ends.values()).items()))

    @property
    def face_counts(self) -> dict[str, int]:
        """How many triangles by the letters of their sides: {"AAB": 30, "BBB": 10}."""
        kinds = {frozenset((one, other)): kind for one, other, kind in self.struts}
        counts = Counter(
            "".join(sorted(letter(kinds[frozenset(side)]) for side in _sides(face)))
            for face in self.faces
        )
        return dict(sorted(counts.items()))

    @property
    def skin(self) -> Fraction:
        """Area of all triangles."""
        with localcontext(_WORK):
            total = Decimal(0)
            for face in self.faces:
                a, b, c = (self.places[n] for n in face)
                total += _length(_cross(_minus(b, a), _minus(c, a))) / 2
            return _kept(total)

    @property
    def floor(self) -> Fraction:
        """Area of the polygon of the lowest hubs, seen from above; 0 for a whole sphere."""
        with localcontext(_WORK):
            total = Decimal(0)
            for n, hub in enumerate(self.base):
                x, y, _ = self.places[hub]
                next_x, next_y, _ = self.places[self.base[(n + 1) % len(self.base)]]
                total += x * next_y - next_x * y
            return _kept(abs(total) / 2)

    @property
    def floor_radius(self) -> Fraction:
        """Of the circle about the floor."""
        with localcontext(_WORK):
            reach = [x * x + y * y for x, y, _ in (self.places[hub] for hub in self.base)]
            return _kept(max(reach, default=Decimal(0)).sqrt())

    @property
    def height(self) -> Fraction:
        """From the lowest hub to the top."""
        with localcontext(_WORK):
            return _kept(1 - min(place[2] for place in self.places))

    @property
    def unevenness(self) -> Fraction:
        """How much higher the highest hub of the base is than the lowest."""
        heights = [self.places[hub][2] for hub in self.base]
        return _kept(max(heights) - min(heights)) if heights else Fraction(0)


def letter(kind: int) -> str:
    """Letter of a kind of strut: A is the shortest."""
    return chr(ord("A") + kind)


def usual_rows(frequency: int) -> int:
    """Rows of triangles of half a sphere, or the first that is more than half."""
    return (3 * frequency + 1) // 2


@lru_cache(maxsize=64)
def dome(frequency: int, rows: int) -> Dome:
    """A class I dome with ``rows`` of the 3 x frequency rows of triangles, from the top down.

    Raises ValueError outside of 1 to 8 and of the rows there are.
    """
    if not 1 <= frequency <= MOST_FREQUENCY or not 1 <= rows <= 3 * frequency:
        raise ValueError("no such dome")
    with localcontext(_WORK):
        corners = _icosahedron()
        numbers: dict[Point, int] = {}
        places: list[Place] = []
        faces: list[tuple[int, int, int]] = []

        def number(point: Point) -> int:
            if point not in numbers:
                numbers[point] = len(places)
                places.append(_on_sphere(point, corners))
            return numbers[point]

        for triangle in _TRIANGLES:
            for small in _small_triangles(frequency):
                found = [_point(triangle, weights) for weights in small]
                if max(_level(point, frequency) for point in found) <= rows:
                    one, two, three = (number(point) for point in found)
                    faces.append((one, two, three))
        sides = sorted({tuple(sorted(side)) for face in faces for side in _sides(face)})
        lengths = [_length(_minus(places[one], places[other])) for one, other in sides]
        factors: list[Decimal] = []
        for value in sorted(lengths):
            if not factors or value - factors[-1] > _ALIKE:
                factors.append(value)
        struts = tuple(
            (one, other, min(range(len(factors)), key=lambda n: abs(factors[n] - value)))
            for (one, other), value in zip(sides, lengths, strict=True)
        )
    with localcontext(Context(prec=DIGITS)):
        kept = tuple(+factor for factor in factors)
    used = Counter(frozenset(side) for face in faces for side in _sides(face))
    base = _around([tuple(side) for side, count in used.items() if count == 1])
    return Dome(frequency, rows, tuple(places), struts, kept, tuple(faces), base)


# Corners of the icosahedron: the top, five, five turned by half a step, the bottom.
_TOP, _BOTTOM = 0, 11
_TRIANGLES: tuple[tuple[int, int, int], ...] = tuple(
    triangle
    for n in range(5)
    for triangle in (
        (_TOP, 1 + n, 1 + (n + 1) % 5),
        (1 + n, 6 + n, 1 + (n + 1) % 5),
        (6 + n, 6 + (n + 1) % 5, 1 + (n + 1) % 5),
        (6 + n, _BOTTOM, 6 + (n + 1) % 5),
    )
)


def _icosahedron() -> list[Place]:
    """Its corners on a sphere of radius 1, from the square root of 5."""
    five = Decimal(5).sqrt()
    level, reach = 1 / five, 2 / five
    cos72, sin72 = (five - 1) / 4, (10 + 2 * five).sqrt() / 4
    cos36, sin36 = (five + 1) / 4, (10 - 2 * five).sqrt() / 4
    upper = [
        (Decimal(1), Decimal(0)), (cos72, sin72), (-cos36, sin36), (-cos36, -sin36), (cos72, -sin72)
    ]  # fmt: skip
    lower = [(cos36, sin36), (-cos72, sin72), (Decimal(-1), Decimal(0)), (-cos72, -sin72),
             (cos36, -sin36)]  # fmt: skip
    zero, one = Decimal(0), Decimal(1)
    return [
        (zero, zero, one),
        *((reach * x, reach * y, level) for x, y in upper),
        *((reach * x, reach * y, -level) for x, y in lower),
        (zero, zero, -one),
    ]


def _small_triangles(n: int) -> list[tuple[Point, Point, Point]]:
    """The n x n triangles an edge is divided into, by whole weights of the corners."""
    found: list[tuple[Point, Point, Point]] = []
    for a in range(n):
        for b in range(n - a):
            c = n - 1 - a - b
            found.append(((a + 1, b, c), (a, b + 1, c), (a, b, c + 1)))
            if c:
                found.append(((a + 1, b + 1, c - 1), (a, b + 1, c), (a + 1, b, c)))
    return found


def _point(triangle: tuple[int, int, int], weights: Point) -> Point:
    """A point as twelve whole weights, the same from whichever triangle it is reached."""
    spread = [0] * 12
    for corner, weight in zip(triangle, weights, strict=True):
        spread[corner] += weight
    return tuple(spread)


def _level(point: Point, n: int) -> int:
    """The row of a point: 0 at the top, 3n at the bottom."""
    upper, lower = sum(point[1:6]), sum(point[6:11])
    return upper + 2 * lower + 3 * point[_BOTTOM]


def _on_sphere(point: Point, corners: Sequence[Place]) -> Place:
    x = sum((w * c[0] for w, c in zip(point, corners, strict=True)), Decimal(0))
    y = sum((w * c[1] for w, c in zip(point, corners, strict=True)), Decimal(0))
    z = sum((w * c[2] for w, c in zip(point, corners, strict=True)), Decimal(0))
    away = _length((x, y, z))
    return (x / away, y / away, z / away)


def _around(sides: Sequence[tuple[int, ...]]) -> tuple[int, ...]:
    """Open sides as one ring of hubs; empty for none."""
    if not sides:
        return ()
    beside: dict[int, list[int]] = {}
    for one, other in sides:
        beside.setdefault(one, []).append(other)
        beside.setdefault(other, []).append(one)
    start = min(beside)
    ring, came, at = [start], start, min(beside[start])
    while at != start:
        ring.append(at)
        came, at = at, next(n for n in beside[at] if n != came)
    return tuple(ring)


def _sides(face: tuple[int, int, int]) -> list[tuple[int, int]]:
    return [(face[0], face[1]), (face[1], face[2]), (face[2], face[0])]


def _minus(one: Place, other: Place) -> Place:
    return (one[0] - other[0], one[1] - other[1], one[2] - other[2])


def _cross(a: Place, b: Place) -> Place:
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def _length(place: Place) -> Decimal:
    return (place[0] ** 2 + place[1] ** 2 + place[2] ** 2).sqrt()


def _kept(value: Decimal) -> Fraction:
    with localcontext(Context(prec=DIGITS)):
        return Fraction(+value)
