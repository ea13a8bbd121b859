"""What a component is, guessed from its name, unit and contents."""

import pytest

from materials.calc.kinds import Kind, Known, guess, guess_kind, kind_of, known_kind

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
    # Hardware is none of what it fastens.
    ("Plywood screws", "lb", "", Kind.FASTENER),
    ("Brick ties", "piece", "", Kind.FASTENER),
    ("Drain pipe, old", "piece", "", Kind.PIPE),
    ("Copper tubing", "ft", "", Kind.PIPE),
    ("Cedar shingles", "bundle", "", Kind.COVERING),
    ("Wool batts", "piece", "", Kind.COVERING),
    ("Foam insulation", "piece", "", Kind.SHEET),
    ("Paint brushes", "piece", "", Kind.OTHER),
    ("Wash sink", "piece", "", Kind.OTHER),
    ("Straw bales", "piece", "", Kind.BLOCK),
    ("Foam board, 2 in", "bf", "", Kind.SHEET),
    ("Lime", "bag", "", Kind.LOOSE),
    ("Flashings", "piece", "", None),
    ("Foam board 4x8", "piece", "", Kind.SHEET),
    ("", "piece", "", None),
    ("Thing", "piece", "1 piece = ", None),
    # A unit that this version does not know tells nothing.
    ("Barn paint", "firkin", "", Kind.LIQUID),
    ("Barn paint", "piece", "1 piece = 3 gal", Kind.LIQUID),
    # Two words together, with others before and behind them.
    ("Old crushed stone", "piece", "", Kind.LOOSE),
    ("Lorry of crushed stone", "piece", "", None),
    ("Crushed stone remnant", "piece", "", Kind.LOOSE),
    # No lumber is sold by such a size, and no word gains a letter.
    ("Glass 31x47", "piece", "", None),
    ("Cla", "piece", "", None),
]


@pytest.mark.parametrize(("name", "unit", "contents", "kind"), CASES)
def test_what_a_component_is(name, unit, contents, kind):
    assert guess_kind(name, unit, contents) is kind


@pytest.mark.parametrize(
    ("name", "unit", "contents", "kind", "because"),
    [
        ("Barn boards", "piece", "", Kind.LUMBER, "“boards” in its name"),
        ("Foam Board, pink", "piece", "", Kind.SHEET, "“foam board” in its name"),
        ("Barn boards heap", "piece", "", Kind.LUMBER, "“boards” in its name"),
        ("Heap by the gate", "cu yd", "", Kind.LOOSE, "its unit"),
        ("From the roof", "piece", "1 piece = 200 W", Kind.ELECTRICAL, "its contents"),
        ("Old 2x8", "piece", "", Kind.LUMBER, "“2x8” in its name"),
        ("Flashings", "piece", "", None, ""),
    ],
)
def test_a_guess_says_what_it_rests_on(name, unit, contents, kind, because):
    assert guess(name, unit, contents) == Known(kind, because)
    assert guess(name, unit, contents).is_guess is (kind is not None)


def test_what_is_stated_goes_before_any_guess():
    assert known_kind("pipe", "Barn boards", "bf") == Known(Kind.PIPE)
    assert not known_kind("pipe", "Barn boards", "bf").is_guess
    assert kind_of("other", "Barn boards", "bf") is Kind.OTHER
    assert kind_of("", "Barn boards", "piece") is Kind.LUMBER
    # A word of an older or a newer version is no kind, and nothing breaks on it.
    assert kind_of("liver", "Barn boards", "piece") is Kind.LUMBER
