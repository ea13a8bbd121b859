"""What a dome stands on and is entered by: its knee wall and its entrance."""

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from materials.takeoffs.calc.dome_geometry import Dome
from materials.takeoffs.calc.roots import root
from materials.takeoffs.calc.types import Figure, TakeoffError
from materials.takeoffs.calc.walls import opened
from materials.takeoffs.calc.wording import Say, counted, round_up, summed

F = Fraction
# Sides of a base that differ by less than a part of a foot are alike.
_ALIKE = 10**9


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the knee wall, in feet: level run, strut on it, and mean height over the wall."""

    run: Fraction
    strut: Fraction
    rise: Fraction


def sides_of(made: Dome, radius: Fraction) -> list[Side]:
    """The sides around the base; what lies above the lowest hub is a part of the wall too."""
    low = min((F(z) for _, _, z in made.places), default=F(0))
    found = []
    for n, hub in enumerate(made.base):
        x, y, z = (F(value) for value in made.places[hub])
        next_x, next_y, next_z = (
            F(value) for value in made.places[made.base[(n + 1) % len(made.base)]]
        )
        flat = (x - next_x) ** 2 + (y - next_y) ** 2
        found.append(
            Side(
                root(flat) * radius,
                root(flat + (z - next_z) ** 2) * radius,
                ((z + next_z) / 2 - low) * radius,
            )
        )
    return found


def _alike(run: Fraction) -> Fraction:
    """A run without its last digits, in which roots of alike sides may differ."""
    return F((run * _ALIKE + F(1, 2)).__floor__(), _ALIKE)


def standing(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> list[Figure]:
    """Figures of the knee wall and the entrance, as far as there are any."""
    knee, doors = given["knee"] or F(0), given["entrance"]
    if knee and not made.base:
        raise TakeoffError("A whole sphere stands on no wall: leave it empty.", "knee")
    if doors and not made.base:
        raise TakeoffError("A whole sphere has no entrance at its base.", "entrance")
    for each in doors:
        if each.width is None or each.height is None:
            raise TakeoffError("Enter it as width x height, like 3 ft x 7 ft.", "entrance")
        if each.height >= knee + made.height * radius:
            raise TakeoffError("The entrance is as high as the dome: check it.", "entrance")
    figures = _knee_wall(say, given, made, radius) if knee else []
    return figures + (_entrance(say, given, made, radius) if doors else [])


def _knee_wall(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> list[Figure]:
    knee, sides = given["knee"], sides_of(made, radius)
    around = sum((side.run for side in sides), F(0))
    top = sum((side.strut for side in sides), F(0))
    area = sum((side.run * (knee + side.rise) for side in sides), F(0))
    wide = sum((each.count * each.width for each in given["entrance"]), F(0))
    tall = [(each, min(each.height, knee)) for each in given["entrance"]]
    cut = sum((each.count * each.width * high for each, high in tall), F(0))
    if wide >= around or cut >= area:
        raise TakeoffError("The entrance is as wide as the knee wall: check it.", "entrance")
    above = sum((each.count * each.width for each, _ in tall if each.height > knee), F(0))
    is_level = all(side.rise == sides[0].rise for side in sides)
    whole = f"{say.length(around)} × {say.length(knee)}"
    if not is_level:
        whole += f" + {say.area(area - around * knee)} up to the uneven base"
    figures = [
        say.lengths(
            "whole-height",
            "Height with the knee wall",
            knee + made.height * radius,
            f"{say.length(knee)} + {say.length(made.height * radius)}",
        ),
        say.areas(
            "knee-area", "Knee wall", area - cut, whole + (f" − {say.area(cut)}" if cut else "")
        ),
    ]
    lost = f" − {say.length(wide + above)}" if wide else ""
    figures.append(
        say.lengths(
            "knee-plates",
            "Plates of the knee wall, below and above",
            around + top - wide - above,
            f"{say.length(around)} + {say.length(top)}{lost}",
        )
    )
    runs = Counter(_alike(side.run) for side in sides)
    figures += [
        say.sized(f"knee-side-{n}", "Sides of the knee wall", count, run, "counted from the shape")
        for n, (run, count) in enumerate(sorted(runs.items()), 1)
    ]
    if given["spacing"]:
        studs = sum(round_up(_alike(side.run) / given["spacing"]) for side in sides)
        each = summed(
            f"{count} × ({say.length(run)} ÷ {say.length(given['spacing'])} →"
            f" {round_up(run / given['spacing'])})"
            for run, count in sorted(runs.items())
        )
        figures.append(counted("knee-studs", "Studs of the knee wall", studs, each))
    return figures


def _entrance(say: Say, given: Mapping[str, Any], made: Dome, radius: Fraction) -> list[Figure]:
    """Frame of the entrance, and what closes it to the shell that leans away from it."""
    knee, doors = given["knee"] or F(0), given["entrance"]
    area, how = opened(say, doors)
    frame = sum((each.count * (2 * each.height + each.width) for each in doors), F(0))
    terms = summed(
        (f"{each.count} × " if each.count > 1 else "")
        + f"(2 × {say.length(each.height)} + {say.length(each.width)})"
        for each in doors
    )
    figures = [
        say.areas("entrance", "Entrance", area, how),
        say.lengths("entrance-frame", "Frame of the entrance, posts and head", frame, terms),
    ]
    cut = F(0)
    cheeks, roofs, leans = F(0), F(0), []
    for each in doors:
        rise = each.height - knee
        if rise <= 0:
            continue
        lean = _lean(made, radius, rise)
        cut += each.count * each.width * root(rise**2 + lean**2)
        if lean > 0:
            cheeks += each.count * lean * rise
            roofs += each.count * lean * each.width
            times = f", {each.count} of them" if each.count > 1 else ""
            leans.append(f"{say.length(lean)} deep, {say.length(rise)} high{times}")
    if cut:
        skin = made.skin * radius**2
        figures.append(
            say.areas(
                "skin-without",
                "Skin area without the entrance",
                skin - cut,
                f"{say.area(skin)} − {say.area(cut)} along the slope",
            )
        )
    if cheeks:
        text = "; ".join(leans)
        figures += [
            say.areas(
                "cheeks", "Cheeks of the entrance", cheeks, f"2 × ½ × depth × height: {text}"
            ),
            say.areas("entrance-roof", "Roof of the entrance", roofs, f"depth × width: {text}"),
        ]
    return figures


def _lean(made: Dome, radius: Fraction, rise: Fraction) -> Fraction:
    """How far the sphere has come in from the edge of the floor at a height above the base."""
    low = min(F(z) for _, _, z in made.places) * radius
    at_head = radius**2 - (low + rise) ** 2
    return made.floor_radius * radius - root(max(at_head, F(0)))


def wall_notes(say: Say, given: Mapping[str, Any]) -> tuple[str, ...]:
    """What to know of both."""
    notes = []
    if given["knee"]:
        notes.append(
            f"The knee wall is {say.length(given['knee'])} high up to the lowest hubs. A dome"
            " pushes it outward: let a licensed engineer check posts and anchors."
        )
    if given["entrance"]:
        notes.append(
            "Cheeks and roof of the entrance go by the sphere through the hubs. Flat panels lie a"
            " little farther in."
        )
    return tuple(notes)
