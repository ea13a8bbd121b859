"""A box for lengths suggests lengths, whatever is wrong with what was typed."""

import pytest

from materials.calc.measures import LENGTH_EXAMPLE, QuantityError
from materials.cutting.calc.reading import read_length
from materials.takeoffs.calc.takeoff import work_out
from materials.takeoffs.calc.types import TakeoffError

WRONG = ["", "abc", "ft", "8 ft &", "nan", "x" * 200, "3 ft x 4 ft", "12 @ 8 ft", "\x00", "/ ft"]


@pytest.mark.parametrize("text", WRONG)
def test_a_length_of_a_cutting_plan(text):
    with pytest.raises(QuantityError) as caught:
        read_length(text)
    assert "gal" not in str(caught.value)
    assert "2x8x12" not in str(caught.value)


@pytest.mark.parametrize("text", [*WRONG[1:], "2400"])
@pytest.mark.parametrize("ask", ["length", "across"])
def test_a_length_of_a_takeoff(text, ask):
    shape = "slab" if ask == "length" else "boards"
    with pytest.raises(TakeoffError) as caught:
        work_out(shape, {ask: text})
    assert "gal" not in str(caught.value)
    assert "2x8x12" not in str(caught.value)


@pytest.mark.parametrize("text", ["abc", "8 ft &", "nan", "x" * 130])
@pytest.mark.parametrize(
    ("shape", "ask"), [("pipe", "runs"), ("sheathing", "areas"), ("concrete", "volumes")]
)
def test_one_a_line(text, shape, ask):
    with pytest.raises((TakeoffError, QuantityError)) as caught:
        work_out(shape, {ask: text})
    assert "gal" not in str(caught.value)


def test_feet_metres_and_millimetres_are_suggested():
    assert "8 ft, 7' 6\", 2.4 m or 2400 mm" in LENGTH_EXAMPLE
    with pytest.raises(QuantityError, match="2400 mm"):
        read_length("abc")
    with pytest.raises(TakeoffError, match="2400 mm"):
        work_out("slab", {"length": "2400"})
