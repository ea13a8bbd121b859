"""What people type into the boxes of a shape, good and hostile: a sentence, never a failure."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.quantities import parse_quantity
from materials.takeoffs.calc.takeoff import SHAPES, find_shape, work_out
from materials.takeoffs.calc.types import MANY, Kind, TakeoffError
from tests.searches import TIMES
from tests.takeoffs.calc.test_takeoff import SAMPLES, worked

WRONG = [
    ("wall", "length", "12", "no unit"),
    ("wall", "length", "12 gal", "no length"),
    ("wall", "length", "0 ft", "nothing"),
    ("wall", "length", "-3 ft", "negative"),
    ("wall", "length", "6000 ft", "over 5000 ft"),
    ("wall", "length", "1e9 ft", "exponent"),
    ("wall", "length", "nan ft", "no number"),
    ("wall", "length", "2 @ 8 ft", "no length"),
    ("wall", "length", "twelve-ish", "number"),
    ("wall", "openings", "a door", "no area"),
    ("wall", "openings", "3 x 7", "with a unit"),
    ("wall", "openings", "1.5 @ 3 ft x 7 ft", "whole number"),
    ("wall", "openings", "3 gal x 7 ft", "not in lengths"),
    ("wall", "openings", "0 ft x 7 ft", "leave it out"),
    ("wall", "openings", "1 sq ft\n" * 60, "more than 40 lines"),
    ("wall", "openings", "x" * 3000, "longer than 2000"),
    ("wall", "waste", "120", "over 100"),
    ("wall", "waste", "a lot", "not a number"),
    ("wall", "waste", "lots", "not a number: write it like 0"),
    ("wall", "waste", "-3", "below zero"),
    ("gable-wall", "slope", "steep", "not a slope"),
    ("gable-wall", "slope", "6/0", "steeper"),
    ("gable-wall", "slope", "100/12", "steeper"),
    ("gable-wall", "slope", "30 degrees", "not a slope"),
    ("framed-wall", "spacing", "1 in", "below 0.25 ft"),
    ("framed-wall", "corners", "1.5", "not a whole number"),
    ("framed-wall", "plates", "0", "below 1"),
    ("framed-wall", "openings", "21 sq ft", "width x height"),
    ("pads", "form", "oval", "one of the list"),
    ("pipe", "runs", "35", "no length"),
    ("pipe", "fittings", "elbows", "how many"),
    ("raised-bed", "board_thickness", "3 ft", "fill the whole bed"),
    ("boards", "waste", "100", "less than 100"),
    ("sheathing", "sheet", "2 @ 4 ft x 8 ft", "size of one sheet"),
    ("paint", "coats", "0", "below 1"),
    ("paint", "can", "1 ft", "no volume"),
    ("lumber", "pieces", "12 @ 8 ft", "no nominal lumber"),
    ("concrete", "volumes", "3 yd", "no volume"),
    ("soil-cement", "cement", "0", "nothing"),
    ("dome", "radius", "", "needed"),
    ("dome", "frequency", "9", "one of the list"),
]


@pytest.mark.parametrize(("shape", "ask", "text", "said"), WRONG)
def test_refused_with_one_sentence_at_the_box(shape, ask, text, said):
    with pytest.raises(TakeoffError) as told:
        worked(shape, **SAMPLES[shape] | {ask: text})
    assert told.value.ask == ask
    words = str(told.value)
    assert said in words, words
    assert re.search(r"[.?]$", words), words
    assert len(words) < 300


def test_an_unknown_shape():
    with pytest.raises(TakeoffError, match="no such shape"):
        find_shape("castle")


def test_what_is_no_text_is_no_answer():
    """The measures of a file that somebody else wrote."""
    typed = {ask.name: ask.start for ask in SHAPES["wall"].asks}
    with pytest.raises(TakeoffError, match="needed"):
        work_out("wall", typed | {"length": 12, "height": ["8 ft"]})


TEXTS = st.one_of(
    st.text(max_size=40),
    st.from_regex(
        r"[0-9]{1,6}(\.[0-9]{1,4})?( ?(ft|in|m|mm|sq ft|cu yd|gal|lb|%|/12|x|@|'))?", fullmatch=True
    ),
    st.from_regex(r"[0-9]{1,4} @ [0-9]{1,4} ?(ft|m|in) x [0-9]{1,4} ?(ft|m)", fullmatch=True),
)


@settings(max_examples=60 * TIMES)
@given(code=st.sampled_from(sorted(SHAPES)), data=st.data())
def test_whatever_is_typed_gives_figures_or_a_sentence(code, data):
    typed = {ask.name: ask.start for ask in SHAPES[code].asks} | SAMPLES[code]
    for ask in SHAPES[code].asks:
        if data.draw(st.booleans()):
            text = data.draw(TEXTS)
            typed[ask.name] = f"{text}\n{data.draw(TEXTS)}" if ask.kind in MANY else text
    try:
        made = work_out(code, typed)
    except TakeoffError as error:
        said = str(error)
        made = None
    if made is None:
        assert said.strip()
        return
    for figure in made.figures:
        # What is kept reads back as what it was, to six places.
        if figure.value >= 1 and (figure.each is None or figure.each >= 1):
            parse_quantity(figure.typed)
    assert len(made.drawing.marks) < 1500


def test_every_kind_of_question_is_asked_somewhere():
    assert {ask.kind for shape in SHAPES.values() for ask in shape.asks} == set(Kind)
