"""Which dome is meant: its radius and rows from what was measured."""

from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.dome_geometry import Dome, dome, usual_rows
from materials.takeoffs.calc.types import TakeoffError
from materials.takeoffs.calc.wording import Say


@dataclass(frozen=True, slots=True)
class Sized:
    """A dome, the radius of its sphere in feet, and what there is to say of how it was found."""

    made: Dome
    radius: Fraction
    notes: tuple[str, ...] = ()


def find_dome(given: Mapping[str, Any]) -> Sized:
    """From the radius, from width or height, or from both, which decide the rows.

    Raises TakeoffError where these are too few, too many, or no such dome.
    """
    say: Say = given["say"]
    frequency = int(given["frequency"])
    rows = _rows(given, frequency)
    radius, width, height = given["radius"], given["width"], given["height"]
    if not (radius or width or height):
        raise TakeoffError("This is needed to work it out, or the width, or the height.", "radius")
    if radius and (width or height):
        raise TakeoffError("Enter the radius alone, or leave it empty.", "radius")
    if width and height:
        if rows:
            raise TakeoffError("Width and height decide the rows: leave one of them empty.", "rows")
        return _nearest(say, frequency, width, height)
    made = dome(frequency, rows or usual_rows(frequency))
    if radius:
        return Sized(made, radius)
    if height:
        found = height / made.height
        return Sized(made, found, (_found(say, found, "height"),))
    if not made.base:
        raise TakeoffError("A whole sphere stands on no floor: enter its radius.", "width")
    found = width / (2 * made.floor_radius)
    return Sized(made, found, (_found(say, found, "width"),))


def _found(say: Say, radius: Fraction, what: str) -> str:
    return f"From its {what}: the sphere has a radius of {say.length(radius)}."


def _rows(given: Mapping[str, Any], frequency: int) -> int:
    """The rows that were typed, 0 for none."""
    rows, of = given["rows"] or (0, 0)
    if frequency == 3 and of == 8:
        # Builders call four and five of the nine rows three and five eighths.
        rows, of = {3: 4, 5: 5}.get(rows, rows), 9 if rows in (3, 5) else of
    if of and of != 3 * frequency:
        raise TakeoffError(
            f"A {frequency}V sphere has {3 * frequency} rows of triangles, not {of}: change the"
            " frequency, or enter how many rows.",
            "rows",
        )
    if rows > 3 * frequency:
        raise TakeoffError(
            f"A {frequency}V sphere has {3 * frequency} rows of triangles: enter at most that.",
            "rows",
        )
    return int(rows)


def _nearest(say: Say, frequency: int, width: Fraction, height: Fraction) -> Sized:
    """The cut whose height for its width comes nearest, as wide as was asked."""
    cuts = [dome(frequency, rows) for rows in range(1, 3 * frequency)]
    wanted = height / width
    made = min(cuts, key=lambda cut: abs(cut.height / (2 * cut.floor_radius) - wanted))
    radius = width / (2 * made.floor_radius)
    reached = made.height * radius
    notes = [
        _found(say, radius, "width"),
        (
            f"{made.rows} of {3 * frequency} rows come nearest: {say.length(reached)} high, where"
            f" {say.length(height)} was asked."
        ),
    ]
    if reached < height:
        notes.append(f"A knee wall of {say.length(height - reached)} would make up the rest.")
    return Sized(made, radius, tuple(notes))
