"""Domes: chord factors, counts by published tables, by Euler, and against the whole sphere."""

import math
from collections import Counter
from fractions import Fraction as F

import pytest

from materials.takeoffs.calc.dome_geometry import dome, letter, usual_rows
from materials.takeoffs.calc.roots import DIGITS, PI
from materials.takeoffs.calc.takeoff import work_out
from materials.takeoffs.calc.types import TakeoffError
from tests.takeoffs.calc.test_takeoff import figures, worked

# Chord factors of class I, method 1, with their count on a whole sphere: as reprinted, and
# derived here from the icosahedron. NASA CR-1734 (1971) is the public derivation.
FACTORS = [
    ("G01", 1, {"1.05146": 30}),
    ("G02", 2, {"0.54653": 60, "0.61803": 60}),
    ("G03", 3, {"0.34862": 60, "0.40355": 90, "0.41241": 120}),
]


@pytest.mark.parametrize(("row", "frequency", "expected"), FACTORS)
def test_chord_factors_and_their_count_on_a_sphere(row, frequency, expected):
    made = dome(frequency, 3 * frequency)
    found = {f"{f:.5f}": n for f, n in zip(made.factors, made.strut_counts, strict=True)}
    assert found == expected, row


# G01, G02, G03 as reprinted; of G04 the faces as reprinted and the struts from memory.
DOMES = [
    ("G01", 1, 2, [25], 15),
    ("G02", 2, 3, [30, 35], 40),
    ("G03", 3, 4, [30, 40, 50], 75),
    ("G04", 3, 5, [30, 55, 80], 105),
]


@pytest.mark.parametrize(("row", "frequency", "rows", "struts", "faces"), DOMES)
def test_counts_of_usual_domes(row, frequency, rows, struts, faces):
    made = dome(frequency, rows)
    assert (made.strut_counts, len(made.faces)) == (struts, faces), row


@pytest.mark.parametrize("frequency", range(1, 9))
def test_a_whole_sphere(frequency):
    """G06: V = 10 n² + 2, E = 30 n², F = 20 n², arithmetic (n = 2: 42, 120, 80)."""
    made = dome(frequency, 3 * frequency)
    n = frequency * frequency
    assert (len(made.places), len(made.struts), len(made.faces)) == (10 * n + 2, 30 * n, 20 * n)
    assert made.base == ()
    assert made.hub_counts.get(5) == 12


CUTS = [(n, rows) for n in range(1, 6) for rows in range(1, 3 * n)]


@pytest.mark.parametrize(("frequency", "rows"), CUTS)
def test_any_truncation_is_one_disk(frequency, rows):
    """Euler: V − E + F = 1, each inner edge bears two triangles and each open one a single one."""
    made = dome(frequency, rows)
    hubs, struts, faces = len(made.places), len(made.struts), len(made.faces)
    assert hubs - struts + faces == 1
    assert 3 * faces == 2 * struts - len(made.base)
    assert sum(made.strut_counts) == struts
    assert sum(made.hub_counts.values()) == hubs
    assert sum(made.face_counts.values()) == faces
    assert sum(ends * count for ends, count in made.hub_counts.items()) == 2 * struts


@pytest.mark.parametrize(("frequency", "rows"), CUTS)
def test_a_dome_and_its_other_part_make_the_sphere(frequency, rows):
    """Turned over, the sphere is itself: what is below the cut is a dome of the other rows."""
    upper, lower = dome(frequency, rows), dome(frequency, 3 * frequency - rows)
    sphere = dome(frequency, 3 * frequency)
    assert len(upper.faces) + len(lower.faces) == len(sphere.faces)
    # The struts of the cut are in both.
    assert len(upper.struts) + len(lower.struts) - len(upper.base) == len(sphere.struts)
    both = Counter(_kinds(upper)) + Counter(_kinds(lower))
    assert both - Counter(_kinds(sphere)) == Counter(_base_kinds(upper))
    assert abs(upper.skin + lower.skin - sphere.skin) < F(1, 10 ** (DIGITS - 4))


def _kinds(made) -> list[str]:
    return [f"{made.factors[kind]:.20f}" for _, _, kind in made.struts]


def _base_kinds(made) -> list[str]:
    ring = {frozenset(pair) for pair in zip(made.base, made.base[1:] + made.base[:1], strict=True)}
    return [
        f"{made.factors[kind]:.20f}"
        for one, other, kind in made.struts
        if frozenset((one, other)) in ring
    ]


def test_lengths_for_a_radius():
    """G07: 2V of 15 ft radius, 9.2705 and 8.1980 ft, arithmetic. A is the shorter here."""
    made = worked("dome", radius="15 ft", frequency="2")
    found = {each.key: each for each in made.figures}
    assert abs(found["strut-b"].each - F("9.2705")) < F("0.001")
    assert abs(found["strut-a"].each - F("8.1980")) < F("0.001")
    assert found["strut-a"].shown == "30 pieces of 8.198 ft"
    assert found["strut-a"].typed == "30 @ 8.197996 ft"
    assert "8' 2 3/8\"" in found["strut-a"].formula


def test_the_misprinted_factor_is_not_ours():
    """G08: one table on the web prints 0.3473 for the shortest strut of 3V: rejected."""
    shortest = dome(3, 9).factors[0]
    assert abs(F(shortest) - F("0.3473")) > F("0.001")
    assert f"{shortest:.5f}" == "0.34862"


def test_digits_of_a_factor():
    """1V is exactly 4 / sqrt(10 + 2 sqrt 5); the digits kept are right to the last but one."""
    factor = F(dome(1, 3).factors[0])
    # x = factor² satisfies x = 16 / (10 + 2√5), that is 5x² − 20x + 16 = 0.
    assert abs(5 * factor**4 - 20 * factor**2 + 16) < F(1, 10 ** (DIGITS - 2))


class TestFloorAndHeight:
    def test_half_a_sphere_stands_on_its_equator(self):
        made = figures("dome", radius="15 ft", frequency="2")
        # Ten corners on a circle of 15 ft, at its every tenth part.
        assert abs(made["circle"] - PI * 225) < F(1, 10**20)
        assert made["height"] == 15
        assert abs(made["floor"] - F("661.2584")) < F("0.0001")
        assert made["floor"] < made["circle"]
        # Inside the sphere, so below half its surface.
        assert made["skin"] < 2 * PI * 225

    def test_skin_and_floor_come_closer_to_the_sphere_with_more_parts(self):
        skins = [dome(n, 3 * n).skin for n in (1, 2, 3, 4, 6, 8)]
        assert skins == sorted(skins)
        assert 4 * PI - skins[-1] < F(1, 10)

    def test_a_base_that_is_not_level_is_said(self):
        text = " ".join(worked("dome", radius="15 ft", frequency="3", rows="4").notes)
        assert "not level" in text
        assert "75 of the 180 triangles of the whole sphere (42%)" in text
        level = " ".join(worked("dome", radius="15 ft", frequency="4", rows="6").notes)
        assert "not level" not in level

    def test_a_whole_sphere_has_no_floor(self):
        made = figures("dome", radius="1 m", frequency="2", rows="6")
        assert "floor" not in made
        assert made["height"] == 2


@pytest.mark.parametrize(("frequency", "rows"), [(3, 4), (3, 5), (2, 3), (4, 6), (1, 1)])
def test_the_base_lies_between_its_lowest_and_its_highest_hub(frequency, rows):
    made = dome(frequency, rows)
    heights = sorted(F(made.places[hub][2]) for hub in made.base)
    assert abs(made.unevenness - (heights[-1] - heights[0])) < F(1, 10**20)
    widest = max(math.hypot(*map(float, made.places[hub][:2])) for hub in made.base)
    assert abs(float(made.floor_radius) - widest) < 1e-9


@pytest.mark.parametrize(("frequency", "rows"), [(0, 1), (9, 1), (2, 0), (2, 7)])
def test_no_such_dome(frequency, rows):
    with pytest.raises(ValueError, match="no such dome"):
        dome(frequency, rows)


def test_letters_go_by_length():
    made = dome(4, 6)
    assert list(made.factors) == sorted(made.factors)
    assert [letter(n) for n in range(6)] == list("ABCDEF")
    assert len(made.factors) == 6


def test_usual_rows_are_half_or_the_first_more():
    assert [usual_rows(n) for n in (1, 2, 3, 4)] == [2, 3, 5, 6]


def test_more_rows_than_there_are():
    with pytest.raises(TakeoffError, match="6 rows") as error:
        work_out("dome", {"radius": "15 ft", "frequency": "2", "rows": "7"})
    assert error.value.ask == "rows"
    with pytest.raises(ValueError, match="no such dome"):
        dome(2, 7)


def test_a_dome_by_hand():
    """2V, half a sphere of 15 ft: 35 struts of .618034 and 30 of .546533 of the radius.

    Ten triangles have three of the longer, thirty two of the shorter and one of the longer; the
    floor is a polygon of ten corners in the circle.
    """
    made = figures("dome", radius="15 ft", frequency="2")
    long, short = 0.618034, 0.546533
    wanted = {
        "struts": 15 * (35 * long + 30 * short),
        "skin": 225 * (10 * long**2 * 3**0.5 / 4 + 30 * long / 2 * (short**2 - long**2 / 4) ** 0.5),
        "floor": 225 * 5 * math.sin(math.radians(36)),
        "circle": 225 * math.pi,
        "height": 15,
    }
    for key, value in wanted.items():
        assert abs(float(made[key]) - value) < 0.01, key
