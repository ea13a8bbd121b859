"""What a component is, guessed from its name, unit and contents."""

import pytest

from materials.calc.kinds import Kind, guess_kind

CASES = [
    ("Roof sheets", "piece", "", Kind.SHEET),
    ("Foam board, pink", "piece", "", Kind.SHEET),
    ("OSB", "sq ft", "", Kind.SHEET),
    ("Ceiling, what is left", "sheet", "", Kind.SHEET),
    ("Tin off the barn", "sq ft", "", Kind.SHEET),
    ("Plywood for boards", "piece", "", Kind.SHEET),
    ("Concrete block", "piece", "", Kind.BLOCK),
    ("Bricks, old", "piece", "", Kind.BLOCK),
    ("Block, concrete", "piece", "", Kind.BLOCK),
    ("Paving stones", "piece", "", Kind.BLOCK),
    ("Crushed stone", "piece", "", Kind.LOOSE),
    ("Earth for the berm", "piece", "", Kind.LOOSE),
    ("Concrete", "piece", "", Kind.LOOSE),
    ("Wall filling", "cu yd", "", Kind.LOOSE),
    ("Barn paint", "piece", "", Kind.LIQUID),
    ("Board sealer", "piece", "", Kind.LIQUID),
    ("Mis-tint", "gal", "", Kind.LIQUID),
    ("Floor boards", "piece", "", Kind.LUMBER),
    ("Old 2x8", "piece", "", Kind.LUMBER),
    ("Barn boards", "sq ft", "", Kind.LUMBER),
    ("Ida's pile", "bf", "", Kind.LUMBER),
    ("Ida's pile", "piece", "1 piece = 2x8x12", Kind.LUMBER),
    ("Beam from the barn", "piece", "", Kind.LUMBER),
    ("Solar panels", "piece", "", Kind.ELECTRICAL),
    ("Roof panels", "piece", "", Kind.SHEET),
    ("From Marten's roof", "piece", "1 piece = 300 W", Kind.ELECTRICAL),
    ("Bank", "Ah", "", Kind.ELECTRICAL),
    ("Batteries", "piece", "", Kind.ELECTRICAL),
    # Hardware is none of what it fastens, and a tile is told by nothing.
    ("Plywood screws", "lb", "", None),
    ("Brick ties", "piece", "", None),
    ("Flashings", "piece", "", None),
    ("Foam board 4x8", "piece", "", Kind.SHEET),
    ("", "piece", "", None),
    ("Thing", "piece", "1 piece = ", None),
]


@pytest.mark.parametrize(("name", "unit", "contents", "kind"), CASES)
def test_what_a_component_is(name, unit, contents, kind):
    assert guess_kind(name, unit, contents) is kind
