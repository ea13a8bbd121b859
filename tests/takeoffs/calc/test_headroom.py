"""Floor under sloping ceilings, by the rules of the code and of the standard."""

from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.takeoffs.calc.headroom import HIGH, LEAST_ROOM, LEAST_SIDE, LOW, Section
from tests.searches import TIMES
from tests.takeoffs.calc.test_takeoff import figures, worked

FEET = st.integers(0, 96).map(lambda n: F(n, 8))
SECTIONS = st.builds(
    Section,
    width=st.integers(8, 400).map(lambda n: F(n, 8)),
    low=FEET,
    slope=st.integers(1, 24).map(lambda n: F(n, 12)),
    has_two_slopes=st.booleans(),
)


def verdict(**typed) -> str:
    return worked("headroom", **typed).figures[0].label


def test_the_heights_and_sizes_of_the_rules():
    """G47: International Residential Code, as reprinted in a forum of code officials.

    R304.1 (2015): 70 sq ft; R304.3 (2012): 7 ft in any horizontal dimension; R304.4 (2012): under
    5 ft nothing counts; R305.1 (2015): half of the required floor needs 7 ft.
    """
    assert (LEAST_ROOM, LEAST_SIDE, LOW, HIGH) == (70, 7, 5, 7)


def test_half_of_what_is_required_needs_seven_feet():
    """G47: 12 ft between heights of 5 ft need 6 ft with 7 ft, as reprinted (the same forum)."""
    room = {"length": "10 ft", "width": "12 ft", "low": "5 ft", "required": "120 sq ft"}
    made = figures("headroom", slope="8/12", **room)
    assert (made["usable"], made["high"], made["width-7"]) == (120, 60, 6)
    assert verdict(slope="8/12", **room) == "Usable floor"
    assert verdict(slope="7.9/12", **room) == "Too little of it with 7 ft above it"


def test_more_floor_than_the_room_needs_may_be_low():
    """G47: only the required floor has to have it: 35 of 70 sq ft."""
    room = {"length": "10 ft", "width": "16 ft", "slope": "6/12"}
    assert figures("headroom", low="4 ft", **room)["high"] == 40
    assert verdict(low="4 ft", **room) == "Usable floor"
    assert verdict(low="3 ft", **room) == "Too little of it with 7 ft above it"
    assert verdict(low="4 ft", required="141 sq ft", **room).startswith("Too little floor")


def test_half_of_the_floor_that_counts_needs_seven_feet():
    """G48: ANSI Z765-2021, as reprinted by an appraiser: at least half of it 7 ft, none below 5."""
    # 5 ft over all of it, 7 ft over 8 of 16 ft; then over a little less.
    room = {"length": "10 ft", "width": "16 ft", "low": "5 ft", "rule": "measured"}
    assert verdict(slope="6/12", **room) == "Usable floor"
    assert worked("headroom", slope="6/12", **room).notes[1] == (
        "Here 50% of it has 7 ft: it counts."
    )
    assert verdict(slope="5.9/12", **room) == "Too little of it with 7 ft above it"
    assert "none of it counts" in worked("headroom", slope="5.9/12", **room).notes[1]
    assert "49%" in worked("headroom", slope="5.9/12", **room).notes[1]


def test_a_narrow_room_is_told_of():
    """G47: R304, 7 ft each way."""
    assert "7 ft of floor each way" in " ".join(
        worked("headroom", length="6' 11\"", width="20 ft", low="8 ft").notes
    )
    wide = worked("headroom", length="7 ft", width="20 ft", low="8 ft").notes
    assert "each way" not in " ".join(wide)
    assert wide[-1].startswith("Your local code decides.")


def test_a_level_ceiling_of_just_the_height_counts():
    level = figures("headroom", length="10 ft", width="9 ft", low="7 ft", slope="0/12")
    assert (level["usable"], level["high"], level["peak"]) == (90, 90, 7)
    assert "sloping" not in level
    assert Section(F(9), F(7), F(0), True).sloping == 0


def test_where_nothing_is_high_enough():
    made = figures("headroom", length="10 ft", width="6 ft", low="3 ft", slope="6/12")
    assert (made["usable"], made["high"]) == (0, 0)
    assert "width-5" not in made
    for rule in ("code", "measured"):
        label = verdict(length="10 ft", width="6 ft", low="3 ft", slope="6/12", rule=rule)
        assert label == "Too little floor with 5 ft above it", rule


@settings(max_examples=60 * TIMES)
@given(made=SECTIONS, height=FEET, more=FEET)
def test_less_floor_has_more_height(made, height, more):
    assert 0 <= made.wide_at(height + more) <= made.wide_at(height) <= made.width


@settings(max_examples=60 * TIMES)
@given(made=SECTIONS, step=FEET)
def test_a_higher_wall_or_a_steeper_slope_never_takes_floor(made, step):
    higher = Section(made.width, made.low + step, made.slope, made.has_two_slopes)
    steeper = Section(made.width, made.low, made.slope + step, made.has_two_slopes)
    for height in (LOW, HIGH):
        assert higher.wide_at(height) >= made.wide_at(height)
        assert steeper.wide_at(height) >= made.wide_at(height)


@settings(max_examples=60 * TIMES)
@given(made=SECTIONS, height=FEET)
def test_at_the_edge_of_the_floor_the_ceiling_is_just_so_high(made, height):
    """The ceiling worked out from the edge again."""
    wide = made.wide_at(height)
    if made.low < height <= made.peak:
        edge = (made.width - wide) / (2 if made.has_two_slopes else 1)
        assert made.low + edge * made.slope == height


@pytest.mark.parametrize("flat", [F(7), F(10), F(30)])
def test_a_flat_ceiling_takes_floor_only_above_it(flat):
    whole = Section(F(20), F(4), F(1), True)
    cut = Section(F(20), F(4), F(1), True, flat)
    assert cut.wide_at(7) == whole.wide_at(7)
    assert cut.peak == min(flat, whole.peak)
    assert cut.wide_at(flat + 1) == 0
