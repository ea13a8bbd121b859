"""Scaling by the shapes of both builds; numbers our own, worked by hand."""

from dataclasses import replace

from materials.calc.geometry import Extent
from materials.calc.types import ElementInput, TaskInput
from materials.estimates.calc.estimate import estimate
from materials.estimates.calc.how_far import HowFar
from materials.estimates.calc.types import PastBuild, Scale, Spread
from tests.calc.builders import F, labour, part, sheet

SHELL = ElementInput("shell", "B10", "Shell")
ROOF = ElementInput("roof", "B30", "Roofing")


def extent(quantity, *components, key="strut", label="Struts", unit="piece", shape="dome"):
    return Extent(shape, key, label, F(quantity), unit, frozenset(components))


def past(*rows, extents=(), area=100):
    inputs = sheet(*rows, elements=(SHELL, ROOF), tasks=(TaskInput("raise", "Raise it"),))
    return PastBuild(inputs, F(area), F(1), {}, {"raise": "shell"}, extents=tuple(extents))


STRUTS = part("Strut", received=65, received_cost=130, element="shell")
BOLTS = part("Bolt", received=130, received_cost=26, element="shell")
FELT = part("Felt", unit="sq ft", received=400, received_cost=40, element="roof")
WORK = labour("installing", own=13, task="raise")


def quantities(result):
    return {row.name: row.quantity for row in result.parts}


def test_struts_go_by_struts_and_bolts_by_the_struts_of_their_element():
    """165 struts for 65: 165 struts, 330 bolts, 33 h. Felt has no shape: by area, 800."""
    result = estimate(
        [past(STRUTS, BOLTS, FELT, WORK, extents=[extent(65, "Strut")])],
        [],
        F(200),
        [extent(165)],
    )
    assert quantities(result) == {"Strut": 165, "Bolt": 330, "Felt": 800}
    scale = Scale("Struts", F(165), F(65), "piece")
    assert [row.scale for row in result.parts] == [scale, scale, None]
    shell, roof = result.elements
    assert (shell.hours, shell.scale) == (Spread(F(33), F(33), F(33)), scale)
    assert (roof.hours, roof.scale) == (None, None)


def test_without_the_shape_in_both_it_goes_by_area():
    with_shape = past(STRUTS, extents=[extent(65, "Strut")])
    assert quantities(estimate([with_shape], [], F(200))) == {"Strut": 130}
    assert quantities(estimate([past(STRUTS)], [], F(200), [extent(165)])) == {"Strut": 130}
    # Another shape, or one measured in another way, is another.
    for other in (extent(165, shape="wall"), extent(165, unit="ft"), extent(0)):
        assert quantities(estimate([with_shape], [], F(200), [other])) == {"Strut": 130}


def test_of_several_builds_those_with_the_shape_tell_how_many():
    """65 and 35 struts on domes of 65 and 35; a shed's 40 tell what one costs, not how many."""
    shed = past(part("Strut", received=40, received_cost=120, element="shell"), area=50)
    small = past(
        part("Strut", received=35, received_cost=70, element="shell"), extents=[extent(35, "Strut")]
    )
    result = estimate(
        [past(STRUTS, extents=[extent(65, "Strut")]), small, shed], [], F(100), [extent(200)]
    )
    (strut,) = result.parts
    assert (strut.quantity, strut.scale.past, strut.builds) == (200, 100, 3)
    assert strut.of_one == Spread(F(2), F(320, 140), F(3))


def test_an_element_goes_by_what_most_of_its_money_went_by():
    """Struts for 130.00 and hoops for 30.00: bolts go by struts, hoops by their own length."""
    hoops = part("Hoop", unit="ft", received=60, received_cost=30, element="shell")
    length = {"key": "ring", "label": "Ring", "unit": "ft"}
    result = estimate(
        [past(STRUTS, BOLTS, hoops, extents=[extent(65, "Strut"), extent(60, "Hoop", **length)])],
        [],
        F(100),
        [extent(130), extent(90, **length)],
    )
    assert quantities(result) == {"Strut": 130, "Bolt": 260, "Hoop": 90}


ONE = {"key": "ring", "label": "Ring", "unit": "ft"}


def test_a_measure_of_nothing_is_none_and_one_of_one_is_one():
    """Of no struts nothing is learned: 13 h and 65 struts by area, twice as large. Of 1, 1/65."""
    dome = past(STRUTS, WORK, extents=[extent(65, "Strut")])
    for new in ([extent(0)], [extent(165, shape="wall")]):
        result = estimate([dome], [], F(200), new)
        assert quantities(result) == {"Strut": 130}
        assert result.elements[0].hours == Spread(F(26), F(26), F(26))
    result = estimate([dome], [], F(200), [extent(1)])
    assert (quantities(result), result.elements[0].hours.likely) == ({"Strut": 1}, F(13, 65))
    # Of one strut once, and a build whose shape came to nothing: 9 and 4 struts.
    few = past(
        part("Strut", received=9, received_cost=9, element="shell"), extents=[extent(1, "Strut")]
    )
    none = past(
        part("Strut", received=4, received_cost=4, element="shell"), extents=[extent(0, "Strut")]
    )
    assert quantities(estimate([few, none], [], F(100), [extent(2)])) == {"Strut": 18}


def test_what_has_no_measure_weighs_nothing_in_its_element():
    """Canvas for 900.00 has none: bolts go by the struts, though these cost less."""
    canvas = part("Canvas", received=1, received_cost=900, element="shell")
    result = estimate(
        [past(STRUTS, BOLTS, canvas, extents=[extent(65, "Strut")])], [], F(100), [extent(130)]
    )
    assert quantities(result) == {"Strut": 130, "Bolt": 260, "Canvas": 2}


def test_pennies_decide_too_and_an_unknown_cost_decides_nothing():
    """Struts for 0.60, hoops for 0.30, and pegs nobody knows the cost of."""
    rows = (
        part("Strut", received=60, received_cost="3/5", element="shell"),
        part("Hoop", unit="ft", received=60, received_cost="3/10", element="shell"),
        part("Peg", received=30, unknown_lines=1, element="shell"),
        part("Bolt", received=60, received_cost=6, element="shell"),
    )
    extents = [extent(60, "Strut", "Peg"), extent(60, "Hoop", **ONE)]
    result = estimate([past(*rows, extents=extents)], [], F(100), [extent(120), extent(90, **ONE)])
    assert quantities(result) == {"Strut": 120, "Hoop": 90, "Bolt": 120}


def test_what_is_on_no_element_goes_by_its_own_measure_alone():
    """Struts on no element by struts, and the bolts beside them by area."""
    rows = (part("Strut", received=65, received_cost=65), part("Bolt", received=9, received_cost=9))
    result = estimate([past(*rows, extents=[extent(65, "Strut")])], [], F(300), [extent(130)])
    assert quantities(result) == {"Strut": 130, "Bolt": 27}


def test_a_measure_of_a_shell_that_is_not_finished_tells_nothing():
    """The dome's shell is open and its roof done: struts come by area from the shed, 40 for 50."""
    dome = replace(
        past(STRUTS, extents=[extent(65, "Strut")]),
        how_far=HowFar(frozenset({"B30"}), frozenset({"B10"})),
    )
    shed = past(part("Strut", received=40, received_cost=120, element="shell"), area=50)
    (strut,) = estimate([dome, shed], [], F(100), [extent(200)]).parts
    assert (strut.quantity, strut.scale) == (80, None)


def test_hours_go_by_the_builds_that_have_the_measure():
    """13 h on 65 struts; 90 h on a shed without struts tell nothing of a dome."""
    shed = past(labour("installing", own=90, task="raise"), area=50)
    shell = estimate(
        [past(STRUTS, WORK, extents=[extent(65, "Strut")]), shed], [], F(100), [extent(130)]
    ).elements[0]
    assert (shell.hours.likely, shell.scale.past) == (26, 65)


def test_what_no_build_with_the_measure_had_goes_by_area():
    """30 bolts are in a shed of 50 alone, the struts on a dome of 100: 20 bolts on 100 of area."""
    shed = past(part("Bolt", received=30, received_cost=3, element="shell"), area=50)
    result = estimate([past(STRUTS, extents=[extent(65, "Strut")]), shed], [], F(100), [extent(65)])
    assert quantities(result) == {"Strut": 65, "Bolt": 20}
