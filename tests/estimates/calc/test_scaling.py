"""Scaling by the shapes of both builds; numbers our own, worked by hand."""

from materials.calc.geometry import Extent
from materials.calc.types import ElementInput, TaskInput
from materials.estimates.calc.estimate import estimate
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
