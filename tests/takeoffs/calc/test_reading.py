"""What people type into the boxes of a shape, good and hostile: a sentence, never a failure."""

import re
from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.quantities import parse_quantity
from materials.takeoffs.calc.reading import is_metric
from materials.takeoffs.calc.takeoff import SHAPES, find_shape, work_out
from materials.takeoffs.calc.types import MANY, Kind, TakeoffError
from tests.searches import TIMES
from tests.takeoffs.calc.test_takeoff import SAMPLES, worked

WRONG = [
    ("dome", "radius", "12", "no unit"),
    ("dome", "rows", "5/9", "A 2V sphere has 6 rows of triangles, not 9"),
    ("dome", "rows", "0/6", "below 1"),
    ("dome", "rows", "7 of 6", "has 6 rows of triangles: enter at most that"),
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
    ("wall", "openings", "3 ft x 7 ft x 2", "not understood"),
    ("wall", "openings", "21 sq ft of door", "no area"),
    ("wall", "openings", "21", "no area"),
    ("wall", "openings", "0 sq ft", "no area"),
    ("wall", "openings", "0 @ 3 ft x 7 ft", "whole number"),
    ("wall", "openings", "2 pieces more @ 3 ft x 7 ft", "whole number"),
    ("wall", "openings", "2 ft tall @ 3 ft x 7 ft", "whole number"),
    ("wall", "openings", "1 sq in\n" * 41, "more than 40 lines"),
    ("wall", "openings", "1 sq in" + " " * 1994, "longer than 2000"),
    ("roof-surfaces", "slopes", "10000001 sq ft", "too large"),
    ("pipe", "runs", "5001 ft", "over 5000 ft"),
    ("pipe", "runs", "35 ft deep", "no length"),
    ("pipe", "fittings", "0 elbows", "how many"),
    ("concrete", "volumes", "3 cu yd wet", "no volume"),
    ("concrete", "volumes", "3", "no volume"),
    ("concrete", "volumes", "0 cu yd", "no volume"),
    ("concrete", "volumes", "1000001 cu ft", "too large"),
    ("lumber", "pieces", "1.5 @ 2x6x10", "no nominal lumber"),
    ("lumber", "pieces", "1000001 @ 2x6x10", "no nominal lumber"),
    ("gable-wall", "slope", "0/0", "steeper"),
    ("gable-wall", "slope", "49/12", "steeper"),
    ("gable-roof", "eaves", "21 ft", "over 20 ft"),
    ("paint", "coats", "21", "over 20"),
    ("framed-wall", "corners", "2 %", "not a number"),
    ("wall", "waste", "120", "over 100"),
    ("wall", "waste", "a lot", "not a number"),
    ("wall", "waste", "lots", "not a number: enter it like 0"),
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
    ("dome", "sheet", "2 @ 4 ft x 8 ft", "size of one sheet"),
    ("dome", "sheet", "32 sq ft", "size of one sheet"),
    ("dome", "entrance", "21 sq ft", "width x height"),
    ("dome", "entrance", "3 ft x 15 ft", "as high as the dome"),
    ("beds", "beds", "8 ft x 4 ft", "length x width x height"),
    ("beds", "beds", "8 x 4 x 2", "length x width x height"),
    ("beds", "beds", "8 ft x 4 ft x 2 ft x 1 ft", "length x width x height"),
    ("beds", "beds", "8 ft x 4 ft x 2 gal", "not in lengths"),
    ("beds", "beds", "8 ft x 0 ft x 2 ft", "leave it out"),
    ("beds", "beds", "1/2 @ 8 ft x 4 ft x 2 ft", "whole number"),
    ("lumber-faces", "pieces", "24 2x4x8", "like 24 @ 2x4x8"),
    ("lumber-faces", "pieces", "24 @ 2x4", "like 24 @ 2x4x8"),
    ("lumber-faces", "pieces", "2 @ 3x13x10", "not a nominal lumber size"),
    ("lumber-faces", "pieces", "2 @ 4x2x10", "thickness first"),
    ("lumber-faces", "pieces", "2 @ 2x4x6000", "over 5000 ft"),
    ("parts", "parts", "1:3", "how many parts of what"),
    ("parts", "parts", "lime", "how many parts of what"),
    ("parts", "parts", "0 lime", "how many parts of what"),
    ("parts", "parts", "1001 lime", "how many parts of what"),
    ("parts", "parts", "1/0 lime", "how many parts of what"),
    ("parts", "bags", "1 cu ft", "what one bag holds"),
    ("parts", "bags", "lime 1 ft", "no volume"),
    ("parts", "yield", "9", "below 10"),
    ("frustum", "height", "", "needed"),
    ("headroom", "rule", "mine", "one of the list"),
    ("dome", "frequency", "9", "one of the list"),
]


@pytest.mark.parametrize(("shape", "question", "text", "result"), WRONG)
def test_refused_with_one_sentence_at_the_box(shape, question, text, result):
    with pytest.raises(TakeoffError) as error:
        worked(shape, **SAMPLES[shape] | {question: text})
    assert error.value.ask == question
    words = str(error.value)
    assert result in words, words
    assert re.search(r"[.?]$", words), words
    assert len(words) < 300


# shape, question, text -> figure, value
READ = [
    ("wall", "openings", "1 sq ft\n\n; 2 sq ft;", "openings", 3),
    ("wall", "openings", "1 sq ft\n" * 40, "openings", 40),
    ("wall", "openings", "1 sq ft" + " " * 1993, "openings", 1),
    ("wall", "openings", "1 @ 3 ft x 7 ft", "openings", 21),
    ("wall", "openings", "2 pieces @ 3 ft x 7 ft", "openings", 42),
    ("wall", "openings", "100000 @ 0.1 sq in", "openings", F(10_000, 144)),
    ("lumber", "pieces", "100000 @ 2x6x10", "board-feet", 10**6),
    # A side without a unit is in that of the other.
    ("wall", "openings", "3 x 7 ft", "openings", 21),
    ("wall", "openings", "3 ft x 7", "openings", 21),
    ("wall", "waste", "10 %", "with-waste", "211.2"),
    ("gable-wall", "slope", "0/12", "peak", 8),
    ("gable-wall", "slope", "48/12", "peak", 56),
    ("gable-roof", "eaves", "0 ft", "rise", 6),
    ("gable-roof", "eaves", "20 ft", "eaves-edge", 80),
    ("roof-surfaces", "slopes", "10000000 sq ft", "area", 10**7),
    ("pipe", "runs", "5000 ft", "pipe", 5000),
    ("concrete", "volumes", "1000000 cu ft", "volume", F(10**6, 27)),
    ("paint", "coats", "20", "painted", None),
    # A side without a unit is in that of the next one that has it.
    ("beds", "beds", "2 @ 8 x 4 x 2 ft", "boards", 2 * 5 * 24),
    ("beds", "beds", "2 @ 8 ft x 4 x 2", "boards", 2 * 5 * 24),
    ("lumber-faces", "pieces", "2x4x96 in", "pieces", 1),
    ("lumber-faces", "pieces", "3 @ 2 x 4 x 8 ft", "area", "20.21875"),
    ("parts", "parts", "½ lime; 1 1/2 parts of sharp sand", "part-1", "1.5"),
    ("parts", "parts", "lime 1\nsand = 3", "part-1", "1.5"),
    # Beside lengths in feet a bare number is feet.
    ("wall", "length", "17", "net", 136),
    ("wall", "length", "17 1/2", "net", 140),
    ("wall", "length", "17.5", "net", 140),
    # 96 x 1 x 1/2 = 48 cu ft.
    ("concrete", "volumes", "96 ft x 12 in x 6 in", "volume", F(48, 27)),
    ("concrete", "volumes", "2 @ 96 ft x 12 in x 6 in", "volume", F(96, 27)),
]


@pytest.mark.parametrize(("shape", "question", "text", "key", "value"), READ)
def test_read_to_the_limit(shape, question, text, key, value):
    sizes = {"length": "24 ft", "width": "24 ft", "height": "8 ft"}
    typed = SAMPLES[shape] | {name: each for name, each in sizes.items() if name in SAMPLES[shape]}
    if shape == "gable-roof":
        typed |= {"length": "40 ft", "rakes": ""}
    found = {each.key: each.value for each in worked(shape, **typed | {question: text}).figures}
    assert found[key] == (20 * found["area"] if value is None else F(value))


def test_the_first_measure_typed_says_whether_all_are_metric():
    questions = SHAPES["wall"].questions
    assert is_metric(questions, {"length": "", "height": "2 m"})
    assert is_metric(questions, {"length": 12, "height": "2 m"})
    assert not is_metric(questions, {"length": "6 ft", "height": "2 m"})
    assert not is_metric(questions, {})


def test_a_bare_number_is_in_the_unit_of_the_others():
    metric = worked("wall", **SAMPLES["wall"] | {"length": "5", "height": "2 m", "openings": ""})
    stated = worked("wall", **SAMPLES["wall"] | {"length": "5 m", "height": "2 m", "openings": ""})
    assert metric == stated
    for height in ("8", "96 in"):
        with pytest.raises(TakeoffError, match="no unit"):
            worked("wall", **SAMPLES["wall"] | {"length": "17", "height": height})


@pytest.mark.parametrize(
    ("frequency", "rows", "plain"),
    [
        ("3", "5/9", "5"),
        ("3", "5/8", "5"),
        ("3", "3/8", "4"),
        ("4", "6 of 12", "6"),
        ("2", "3/6", "3"),
    ],
)
def test_a_dome_is_called_by_a_part_of_the_sphere(frequency, rows, plain):
    given = SAMPLES["dome"] | {"frequency": frequency}
    assert worked("dome", **given | {"rows": rows}) == worked("dome", **given | {"rows": plain})


def test_an_unknown_shape():
    with pytest.raises(TakeoffError, match="no such shape"):
        find_shape("castle")


def test_what_is_no_text_is_no_answer():
    """The measures of a file that somebody else wrote."""
    typed = {question.name: question.start for question in SHAPES["wall"].questions}
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
    typed = {question.name: question.start for question in SHAPES[code].questions} | SAMPLES[code]
    for question in SHAPES[code].questions:
        if data.draw(st.booleans()):
            text = data.draw(TEXTS)
            typed[question.name] = f"{text}\n{data.draw(TEXTS)}" if question.kind in MANY else text
    try:
        made = work_out(code, typed)
    except TakeoffError as error:
        sentence = str(error)
        made = None
    if made is None:
        assert sentence.strip()
        return
    for figure in made.figures:
        # What is kept reads back as what it was, to six places.
        if figure.value >= 1 and (figure.each is None or figure.each >= 1):
            parse_quantity(figure.typed)
    assert len(made.drawing.marks) < 1500


def test_every_kind_of_question_is_asked_somewhere():
    assert {question.kind for shape in SHAPES.values() for question in shape.questions} == set(Kind)
