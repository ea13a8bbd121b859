"""Domes from their width or height, with wall, entrance, edges and sheets of panels."""

import math
from fractions import Fraction as F

import pytest

from materials.takeoffs.calc.dome_geometry import dome
from materials.takeoffs.calc.dome_walls import sides_of
from materials.takeoffs.calc.takeoff import as_kept
from materials.takeoffs.calc.types import TakeoffError
from tests.takeoffs.calc.test_takeoff import figure, figures, worked

TINY = F(1, 10**18)


def test_two_thirds_of_an_icosahedron():
    """G49: 1V of two rows is 1 + 1/√5 of its radius high and 4/√5 wide, arithmetic."""
    made = dome(1, 2)
    assert abs((made.height - 1) ** 2 * 5 - 1) < TINY
    assert abs((2 * made.floor_radius) ** 2 * 5 - 16) < TINY


@pytest.mark.parametrize(("frequency", "rows"), [("1", "2"), ("2", "3"), ("3", "5"), ("4", "7")])
def test_width_or_height_gives_the_dome_of_its_radius(frequency, rows):
    """A dome of 12 ft is measured, and found again from each of its measures."""
    given = {"frequency": frequency, "rows": rows}
    made = dome(int(frequency), int(rows))
    stated = figures("dome", radius="12 ft", **given)
    for measure, value in (("width", 24 * made.floor_radius), ("height", 12 * made.height)):
        # Enough digits for the figures to agree to a millionth.
        typed = f"{float(value):.12f} ft"
        found = figures("dome", radius="", **{measure: typed}, **given)
        assert found.keys() == stated.keys()
        for key, each in stated.items():
            assert abs(found[key] - each) < F(1, 10**6), (measure, key)


@pytest.mark.parametrize("frequency", [1, 2, 3, 4])
def test_width_and_height_together_choose_the_rows(frequency):
    for rows in range(1, 3 * frequency):
        made = dome(frequency, rows)
        width, height = 24, 24 * made.height / (2 * made.floor_radius)
        # A little off what the rows give: they are still the nearest.
        typed = {"width": f"{width} ft", "height": f"{float(height) * 1.001:.9f} ft"}
        notes = " ".join(worked("dome", frequency=str(frequency), **typed).notes)
        assert f"{rows} of {3 * frequency} rows come nearest" in notes
        assert "knee wall" in notes


def test_what_the_nearest_dome_lacks_is_told():
    """Half a sphere of 24 ft is 12 ft high: a foot less than was asked, and just as was asked."""
    lower = worked("dome", width="24 ft", height="13 ft").notes
    assert lower[:3] == (
        "From its width: the sphere has a radius of 12 ft.",
        "3 of 6 rows come nearest: 12 ft high, where 13 ft was asked.",
        "A knee wall of 1 ft would make up the rest.",
    )
    even = worked("dome", width="24 ft", height="12 ft").notes
    assert even[1] == "3 of 6 rows come nearest: 12 ft high, where 12 ft was asked."
    assert even[2:] == worked("dome", radius="12 ft").notes == lower[3:]
    found = worked("dome", height="12 ft").notes
    assert "From its height: the sphere has a radius of 12 ft." in found


def test_a_dome_higher_than_was_asked_wants_no_knee_wall():
    notes = " ".join(worked("dome", frequency="3", width="24 ft", height="10 ft").notes)
    assert "4 of 9 rows come nearest: 10.09 ft high, where 10 ft was asked." in notes
    assert "knee wall" not in notes
    assert "75 of the 180 triangles of the whole sphere (42%)" in notes


@pytest.mark.parametrize(
    ("typed", "question"),
    [
        ({}, "radius"),
        ({"radius": "9 ft", "width": "18 ft"}, "radius"),
        ({"radius": "9 ft", "height": "9 ft"}, "radius"),
        ({"width": "18 ft", "height": "9 ft", "rows": "3"}, "rows"),
        ({"width": "18 ft", "rows": "6"}, "width"),
        ({"radius": "9 ft", "rows": "6", "knee": "3 ft"}, "knee"),
        ({"radius": "9 ft", "rows": "6", "entrance": "3 ft x 7 ft"}, "entrance"),
        ({"radius": "9 ft", "knee": "3 ft", "entrance": "60 ft x 4 ft"}, "entrance"),
        ({"radius": "9 ft", "knee": "3 ft", "entrance": "3 ft x 12 ft"}, "entrance"),
    ],
)
def test_what_makes_no_dome_is_refused_at_its_question(typed, question):
    with pytest.raises(TakeoffError) as error:
        worked("dome", **typed)
    assert error.value.ask == question


def test_what_is_asked_for_more_changes_nothing_else():
    """Takeoffs kept before there was more to ask have the same figures."""
    more = {"knee": "3 ft", "entrance": "3 ft x 7 ft", "sheet": "5 ft x 10 ft", "seam": "50 ft"}
    plain = as_kept(worked("dome", radius="9 ft"))
    assert as_kept(worked("dome", radius="9 ft", **more))[: len(plain)] == plain


class TestStruts:
    def test_doubled(self):
        plain, double = (figures("dome", radius="9 ft", struts=s) for s in ("single", "double"))
        assert double["strut-a"] == 2 * plain["strut-a"]
        assert double["struts"] == 2 * plain["struts"]

    def test_a_frame_for_each_triangle(self):
        """2V: 30 triangles AAB and 10 BBB have 60 sides of each kind."""
        made = figures("dome", radius="9 ft", struts="frames", seam="10 ft")
        assert (made["strut-a"], made["strut-b"]) == (60, 60)
        assert made["struts"] == made["panel-sides"]
        assert figure("dome", "strut-a", radius="9 ft", struts="frames").formula.startswith("30 st")


class TestWall:
    def test_by_hand(self):
        """2V of 15 ft: ten sides of .618034 × 15 ft; a wall of 3 ft and an entrance of 4 ft."""
        made = figures("dome", radius="15 ft", knee="3 ft", entrance="4 ft x 7 ft", spacing="30 in")
        side = 15 * (math.sqrt(5) - 1) / 2
        wanted = {
            "whole-height": 18,
            "knee-area": 10 * side * 3 - 12,
            # The entrance cuts the plate below and the one above.
            "knee-plates": 20 * side - 8,
            "knee-side-1": 10,
            # 9.27 ft at 2 1/2 ft: four bays to a side.
            "knee-studs": 40,
            "entrance": 28,
            "entrance-frame": 18,
        }
        for key, value in wanted.items():
            assert abs(float(made[key]) - value) < 1e-6, key

    def test_what_closes_the_entrance(self):
        """The sphere is √(15² − 4²) wide at a height of 4 ft: .543 ft of cheeks and roof."""
        made = figures("dome", radius="15 ft", knee="3 ft", entrance="2 @ 4 ft x 7 ft")
        lean = 15 - math.sqrt(15**2 - 4**2)
        assert abs(float(made["cheeks"]) - 2 * lean * 4) < 1e-6
        assert abs(float(made["entrance-roof"]) - 2 * lean * 4) < 1e-6
        cut = 2 * 4 * math.hypot(4, lean)
        assert abs(float(made["skin"] - made["skin-without"]) - cut) < 1e-6

    def test_an_entrance_within_the_wall_leaves_the_shell_whole(self):
        made = figures("dome", radius="15 ft", knee="7 ft", entrance="3 ft x 7 ft")
        assert not {"cheeks", "entrance-roof", "skin-without"} & made.keys()
        # The plate above stays whole.
        bare = figures("dome", radius="15 ft", knee="7 ft")
        assert bare["knee-plates"] - made["knee-plates"] == 3

    def test_where_the_shell_still_widens_there_are_no_cheeks(self):
        made = figures("dome", radius="15 ft", frequency="4", rows="9", entrance="3 ft x 6 ft")
        assert "cheeks" not in made
        assert made["skin-without"] < made["skin"]

    def test_an_uneven_base_is_filled_up_to_its_struts(self):
        made = figures("dome", radius="12 ft", frequency="3", rows="5", knee="2 ft")
        sides = sides_of(dome(3, 5), F(12))
        around = sum(side.run for side in sides)
        assert len(sides) == 15
        assert made["knee-area"] > 2 * around
        # Less than if all of it were filled to the highest hub.
        assert made["knee-area"] < around * (2 + dome(3, 5).unevenness * 12)
        assert made["knee-side-1"] + made["knee-side-2"] == 15

    @pytest.mark.parametrize(("frequency", "rows"), [(1, 2), (2, 3), (3, 4), (3, 5), (4, 6)])
    def test_the_sides_close_around_the_floor(self, frequency, rows):
        """Isoperimetric: a ring of that length holds at least the floor; it is inside its circle"""
        made = dome(frequency, rows)
        around = sum(float(side.run) for side in sides_of(made, F(1)))
        assert around**2 >= 4 * math.pi * float(made.floor)
        assert around <= 2 * math.pi * float(made.floor_radius)


class TestEdges:
    @pytest.mark.parametrize(
        ("frequency", "rows"), [("1", "2"), ("2", "3"), ("3", "4"), ("4", "6")]
    )
    def test_every_strut_is_an_edge_between_panels_or_on_the_base(self, frequency, rows):
        made = figures("dome", radius="9 ft", frequency=frequency, rows=rows, seam="50 ft")
        assert abs(made["edges"] + made["edges-base"] - made["struts"]) < TINY
        assert made["panel-sides"] == 2 * made["edges"] + made["edges-base"]
        assert made["seam-edges"] == math.ceil(made["struts"] / 50)
        assert made["seam-sides"] == math.ceil(made["panel-sides"] / 50)

    def test_a_whole_sphere_has_none_on_a_base(self):
        made = figures("dome", radius="9 ft", rows="6", seam="50 ft")
        assert "edges-base" not in made
        assert abs(made["edges"] - made["struts"]) < TINY


class TestSheets:
    def test_by_hand(self):
        """2V of 6 ft: A is 3.279 ft, B 3.708 ft. BBB is 3.211 ft high: three along 8 ft.

        AAB is 3.059 ft high on a side A, its peak 1.182 ft along: four take 2 × 3.279 + 1.182 ft.
        """
        made = worked("dome", radius="6 ft", sheet="4 ft x 8 ft")
        found = {each.key: each for each in made.figures}
        assert (found["sheets-bbb"].value, found["sheets-aab"].value) == (4, 8)
        assert (found["sheets"].value, found["sheets"].unit) == (12, "sheet")
        assert "10 ÷ 3 a sheet" in found["sheets-bbb"].formula
        words = "From left to right, what one sheet holds: 4 of AAB; 3 of BBB."
        assert made.drawings[1].words == words

    def test_the_panels_fit_into_the_sheets(self):
        for frequency in ("1", "2", "3", "4"):
            typed = {"radius": "5 ft", "frequency": frequency, "sheet": "6 ft x 10 ft"}
            made = figures("dome", **typed)
            assert made["sheets"] * 60 >= made["skin"], frequency

    def test_left_and_right_panels_are_cut_apart(self):
        """4V has 60 panels of three different sides, half of them the mirror of the others."""
        made = figure("dome", "sheets-bde", radius="9 ft", frequency="4", sheet="4 ft x 8 ft")
        assert "30 of each hand" in made.formula
        assert made.value % 2 == 0

    def test_panels_larger_than_a_sheet_are_named(self):
        made = worked("dome", radius="15 ft", sheet="4 ft x 8 ft")
        note = "Too large for a row in one sheet, so to be joined: panels AAB, BBB."
        assert made.notes[-1] == note
        assert len(made.drawings) == 1
        assert not [each for each in made.figures if each.key.startswith("sheets")]


# What is typed -> from the knee wall on: key, how it came about, each read and worked again
FORMULAS = [
    ({"radius": "15 ft", "knee": "3 ft", "entrance": "2 @ 4 ft x 7 ft\n3 ft x 2 ft",
      "spacing": "30 in", "seam": "50 ft", "sheet": "9 ft x 20 ft"},
     [("whole-height", "3 ft + 15 ft"),
      # The low entrance leaves the plate above it whole.
      ("knee-area", "92.705 ft × 3 ft − 30 sq ft"),
      ("knee-plates", "92.705 ft + 92.705 ft − 19 ft"),
      ("knee-side-1", "counted from the shape"),
      ("knee-studs", "10 × (9.271 ft ÷ 2' 6\" → 4)"),
      ("entrance", "2 × 4 ft × 7 ft + 3 ft × 2 ft"),
      ("entrance-frame", "2 × (2 × 7 ft + 4 ft) + (2 × 2 ft + 3 ft)"),
      # 2 × 4 ft wide, √(4² + .543²) along the slope.
      ("skin-without", "1312.417 sq ft − 32.294 sq ft along the slope"),
      ("cheeks", "2 × ½ × depth × height: 0.543 ft deep, 4 ft high, 2 of them"),
      ("entrance-roof", "depth × width: 0.543 ft deep, 4 ft high, 2 of them"),
      ("edges", "55 struts with a panel on either side"),
      ("edges-base", "10 struts"),
      ("panel-sides", "2 × 477.703 ft + 92.705 ft"),
      ("seam-edges", "570.408 ft ÷ 50 ft, up to whole ones"),
      ("seam-sides", "1048.11 ft ÷ 50 ft, up to whole ones"),
      ("sheets-aab", "30 ÷ 4 a sheet, up to whole ones"),
      ("sheets-bbb", "10 ÷ 3 a sheet, up to whole ones"),
      ("sheets", "8 + 4")]),
    ({"radius": "12 ft", "frequency": "3", "rows": "5", "knee": "2 ft", "spacing": "16 in"},
     [("whole-height", "2 ft + 14.251 ft"),
      ("knee-area", "73.665 ft × 2 ft + 9.369 sq ft up to the uneven base"),
      ("knee-plates", "73.665 ft + 73.702 ft"),
      ("knee-side-1", "counted from the shape"),
      ("knee-side-2", "counted from the shape"),
      ("knee-studs", "5 × (4.843 ft ÷ 16 in → 4) + 10 × (4.945 ft ÷ 16 in → 4)")]),
    ({"radius": "9 ft", "entrance": "3 ft x 4 ft"},
     [("entrance", "3 ft × 4 ft"), ("entrance-frame", "(2 × 4 ft + 3 ft)"),
      ("skin-without", "472.47 sq ft − 12.325 sq ft along the slope"),
      ("cheeks", "2 × ½ × depth × height: 0.938 ft deep, 4 ft high"),
      ("entrance-roof", "depth × width: 0.938 ft deep, 4 ft high")]),
    ({"radius": "9 ft", "frequency": "4", "sheet": "4 ft x 8 ft"},
     [("edges", "230 struts with a panel on either side"), ("edges-base", "20 struts"),
      ("panel-sides", "2 × 616.26 ft + 56.316 ft"),
      ("sheets-aac", "30 ÷ 10 a sheet, up to whole ones"),
      ("sheets-bbc", "30 ÷ 6 a sheet, up to whole ones"),
      ("sheets-bde", "2 × (30 of each hand ÷ 6 a sheet), up to whole ones"),
      ("sheets-eef", "30 ÷ 4 a sheet, up to whole ones"),
      ("sheets-fff", "10 ÷ 4 a sheet, up to whole ones"),
      ("sheets", "3 + 5 + 10 + 8 + 3")]),
]  # fmt: skip


@pytest.mark.parametrize(("typed", "formulas"), FORMULAS)
def test_how_it_came_about(typed, formulas):
    made = [(each.key, each.formula) for each in worked("dome", **typed).figures]
    assert made[-len(formulas) :] == formulas


def test_all_of_it_grows_with_the_radius():
    small, large = (
        figures(
            "dome",
            radius=f"{n} ft",
            knee=f"{n} in",
            entrance=f"{n} in x {n * 3} in",
            sheet=f"{n} ft x {n} ft",
            seam="1 ft",
        )
        for n in (8, 24)
    )
    for key in ("edges", "edges-base", "panel-sides", "knee-plates", "entrance-frame"):
        assert abs(large[key] - 3 * small[key]) < TINY * 100, key
    for key in ("knee-area", "skin-without", "cheeks", "entrance-roof"):
        assert abs(large[key] - 9 * small[key]) < TINY * 1000, key
    assert large["sheets"] == small["sheets"]
