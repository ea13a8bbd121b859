"""Tanks with sloping sides: limits, sizes, depths."""

from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.takeoffs.calc.frustums import Frustum, Level
from materials.takeoffs.calc.roots import PI
from materials.takeoffs.calc.types import TakeoffError
from tests.searches import TIMES
from tests.takeoffs.calc.test_takeoff import figures, worked

SIDES = st.integers(0, 400).map(lambda n: F(n, 8))
LONG = st.integers(1, 400).map(lambda n: F(n, 8))
TINY = F(1, 10**20)


def body(is_round, bottom, top, height):
    wide = [pair if not is_round else (pair[0], pair[0]) for pair in (bottom, top)]
    return Frustum(Level(is_round, *wide[0]), Level(is_round, *wide[1]), height)


BODIES = st.builds(body, st.booleans(), st.tuples(SIDES, SIDES), st.tuples(LONG, LONG), LONG)


@settings(max_examples=60 * TIMES)
@given(made=BODIES, part=st.integers(1, 19))
def test_what_lies_below_and_above_a_depth_makes_the_whole(made, part):
    depth = made.height * part / 20
    above = Frustum(made.level(depth), made.top, made.height - depth)
    assert made.holds(depth) + above.holds(above.height) == made.holds(made.height)
    assert made.holds(depth) < made.holds(made.height)


@settings(max_examples=60 * TIMES)
@given(made=BODIES, times=st.integers(2, 9))
def test_volume_grows_with_the_cube_and_lining_with_the_square(made, times):
    def larger(level):
        return Level(level.is_round, level.length * times, level.width * times)

    grown = Frustum(larger(made.bottom), larger(made.top), made.height * times)
    assert grown.holds(grown.height) == made.holds(made.height) * times**3
    assert abs(grown.sides - made.sides * times**2) < TINY * grown.sides


@settings(max_examples=60 * TIMES)
@given(made=BODIES)
def test_turned_over_it_holds_the_same_and_never_less_than_its_inscribed_prism(made):
    turned = Frustum(made.top, made.bottom, made.height)
    assert turned.holds(made.height) == made.holds(made.height)
    small = min(made.bottom.length, made.top.length) * min(made.bottom.width, made.top.width)
    large = max(made.bottom.length, made.top.length) * max(made.bottom.width, made.top.width)
    factor = PI / 4 if made.top.is_round else 1
    assert small * factor * made.height <= made.holds(made.height)
    assert made.holds(made.height) <= large * factor * made.height


@given(wide=LONG, height=LONG)
def test_straight_sides_are_a_cylinder_and_a_bottom_of_nothing_a_cone(wide, height):
    """Arithmetic: pi d² h / 4, and a third of that."""
    tube = body(True, (wide, wide), (wide, wide), height)
    cone = body(True, (F(0), F(0)), (wide, wide), height)
    assert tube.holds(height) == PI * wide**2 * height / 4
    assert tube.sides == PI * wide * height
    assert cone.holds(height) == PI * wide**2 * height / 12
    # A cone nearly closed to a tube holds nearly as much as the tube.
    nearly = body(True, (wide - TINY, wide - TINY), (wide, wide), height)
    assert 0 < tube.holds(height) - nearly.holds(height) < TINY * 10**5


def test_a_box_and_a_pyramid():
    """Arithmetic: l w h, and a third of that."""
    box = figures("frustum", form="rectangular", top="4 ft", top_width="3 ft", bottom="4 ft",
                  bottom_width="3 ft", height="2 ft")  # fmt: skip
    assert (box["space"], box["sides"], box["lining"]) == (24, 28, 40)
    pyramid = figures("frustum", form="rectangular", top="4 ft", top_width="3 ft", height="2 ft")
    assert pyramid["space"] == 8
    assert "bottom" not in pyramid


def test_one_width_makes_it_square():
    square = figures("frustum", form="rectangular", top="4 ft", bottom="2 ft", height="3 ft")
    assert square["space"] == 28
    assert square["rim"] == 16


def test_depths_to_read():
    """A box of 4 x 3 ft and 2 ft deep; each quarter, or what is asked, each once."""
    box = {"form": "rectangular", "top": "4 ft", "top_width": "3 ft", "bottom": "4 ft",
           "bottom_width": "3 ft", "height": "2 ft"}  # fmt: skip

    def depths(asked):
        made = worked("frustum", depths=asked, **box).figures
        cubic = F(1728, 231)
        found = [each for each in made if each.key.startswith("depth")]
        return [(each.label, each.value / cubic) for each in found]

    assert depths("") == [
        ("Holds at 6 in deep", 6), ("Holds at 1 ft deep", 12), ("Holds at 18 in deep", 18),
    ]  # fmt: skip
    assert depths("2 ft\n8 in\n2 ft") == [("Holds at 2 ft deep", 24), ("Holds at 8 in deep", 8)]
    with pytest.raises(TakeoffError, match="3 ft is deeper than the tank"):
        depths("1 ft\n3 ft")


def test_it_holds_what_the_round_tank_of_that_size_holds():
    tank = figures("tank", diameter="6 ft", height="5 ft")
    made = figures("frustum", top="6 ft", bottom="6 ft", height="5 ft")
    assert (made["volume"], made["sides"]) == (tank["volume"], tank["wall"])


@pytest.mark.parametrize(
    ("typed", "weight"),
    [
        # 62.4 lb to a cubic foot and 1,000 kg to a cubic metre: usual tables, from memory.
        ({"top": "2 ft", "top_width": "2 ft", "bottom": "2 ft", "bottom_width": "2 ft",
          "height": "2 ft"}, "500 lb"),
        ({"top": "2 m", "top_width": "1 m", "bottom": "2 m", "bottom_width": "1 m",
          "height": "50 cm"}, "1,000 kg"),
        ({"top": "20 m", "bottom": "20 m", "height": "5 m"}, "2,000,000 kg"),
    ],
)  # fmt: skip
def test_the_weight_of_the_water_and_the_air_inside_are_warned_of(typed, weight):
    notes = " ".join(worked("frustum", form="rectangular", **typed).notes)
    assert f"it weighs {weight} (" in notes
    assert "29 CFR 1926, subpart AA" in notes
