"""Weight kept from landfill: published loads, and material followed through conversions."""

import pytest

from materials.calc.sheets.landfill import Weight, make_landfill, salvaged_shares
from materials.calc.sheets.loads import LOADS, pounds_of
from materials.calc.types import SourceInput
from tests.calc.builders import F, build, made, part, worked

# (kind, pounds per loose cubic yard, part of the name of who published it, how it was read)
PUBLISHED = [
    # W01: USGBC LEED reference guide, 2009, waste table, as reprinted
    ("mixed", 350, "LEED"),
    ("drywall", 500, "LEED"),
    ("masonry", 1400, "LEED"),
    ("wood", 300, "LEED"),
    ("cardboard", 100, "LEED"),
    # W02: EPA, Measuring Recycling, 1997, appendix B, as reprinted
    ("pallets", 286, "EPA"),
    # W03: NAHB residential waste study, 1995, as reprinted
    ("wood", 267, "NAHB"),
    ("engineered wood", 280, "NAHB"),
    ("drywall", 400, "NAHB"),
    ("cardboard", 30, "NAHB"),
    ("masonry", 1000, "NAHB"),
    ("mixed", 95, "NAHB"),
    # W04: California integrated waste board table, read in the state's page copy
    ("broken concrete", 2400, "California"),
    ("wood", 400, "California"),
    ("gravel", 2600, "California"),
    ("earth", 2100, "California"),
]


@pytest.mark.parametrize(("kind", "pounds", "who"), PUBLISHED)
def test_published_weights_stand_with_their_source(kind, pounds, who):
    (found,) = [weight for weight in LOADS[kind].weights if who in weight.source]
    assert found.pounds == pounds


def test_no_load_without_a_published_weight():
    """W06, W08, W09: what could not be read is not here, and each weight names its source."""
    result = sorted((kind, one.pounds) for kind, load in LOADS.items() for one in load.weights)
    assert result == sorted((kind, pounds) for kind, pounds, _ in PUBLISHED)
    assert not any("2016" in one.source for load in LOADS.values() for one in load.weights)


def test_eight_yards_of_drywall():
    """W07, arithmetic: 8 cu yd at 500 lb are 4,000 lb, two short tons; W08: sources differ."""
    assert pounds_of("drywall", F(8)) == (3200, 4000)


def own(pounds):
    return Weight(F(pounds), F(pounds), ("stated",))


def salvage(component, usable):
    return SourceInput("salvage", component, F(usable), F(0))


def test_only_salvage_counts_and_what_was_scrapped_comes_off_by_its_share():
    """20 boards, 15 of them salvage; 4 scrapped, so 3 of the salvaged ones: 12 × 22 lb."""
    inputs = build(
        part("Board", received=20, scrapped=4),
        part("Bolt", received=9),
        part("Door", received=2),
        sources=(salvage("Board", 15), SourceInput("retail", "Bolt", F(9), F(3)),
                 SourceInput("retail", "Board", F(5), F(9)), salvage("Door", 2)),
    )  # fmt: skip
    made_of = make_landfill(inputs, {"Board": own(22), "Bolt": own(1)})
    (row,) = made_of.rows
    assert (row.salvaged, row.scrapped, row.low, row.high) == (15, 3, 264, 264)
    assert [row.component.key for row in made_of.without] == ["Door"]
    assert made_of.without[0].low is None
    assert made_of.low == 264


def test_material_is_followed_through_conversions():
    """10 beams of 100 lb, half of them salvage, sawn into 40 boards of 20 lb: 200 lb lost, 100 of
    it salvaged. 8 boards scrapped: 160 lb, half of it salvaged. 500 − 100 − 80 = 320 lb."""
    inputs = build(
        part("Beam", received=10),
        part("Board", scrapped=8),
        worked("Beam", 10, made("Board", 40)),
        sources=(salvage("Beam", 5), SourceInput("seconds", "Beam", F(5), F(0))),
    )
    shares = salvaged_shares(inputs, {"Beam": F(5)})
    assert shares == {"Beam": F(1, 2), "Board": F(1, 2)}
    made_of = make_landfill(inputs, {"Beam": own(100), "Board": own(20)})
    beam, board = made_of.rows
    assert (beam.lost_low, beam.low, beam.is_loss_known) == (100, 400, True)
    assert (board.salvaged, board.scrapped, board.low) == (0, 4, -80)
    assert made_of.low == made_of.high == 320


def test_what_a_conversion_lost_is_not_known_without_both_weights():
    inputs = build(
        part("Beam", received=4),
        part("Peg"),
        worked("Beam", 4, made("Peg", 90)),
        sources=(salvage("Beam", 4),),
    )
    (beam,) = make_landfill(inputs, {"Beam": own(100)}).rows
    assert (beam.is_loss_known, beam.low) == (False, 400)


def test_nothing_gained_by_a_conversion_that_makes_more_weight():
    inputs = build(
        part("Beam", received=1),
        part("Board"),
        worked("Beam", 1, made("Board", 5)),
        sources=(salvage("Beam", 1),),
    )
    assert make_landfill(inputs, {"Beam": own(10), "Board": own(9)}).low == 10


def test_a_range_where_sources_differ_and_nothing_known_where_nothing_is():
    inputs = build(part("Rubble", received=2), sources=(salvage("Rubble", 2),))
    made_of = make_landfill(inputs, {"Rubble": Weight(F(1000), F(1400), ("a", "b"))})
    assert (made_of.low, made_of.high) == (2000, 2800)
    assert made_of.rows[0].high == 2800
    assert (make_landfill(build(), {}).low, make_landfill(build(), {}).high) == (None, None)
    without = make_landfill(inputs, {}).without[0]
    assert (without.low, without.high) == (None, None)


def test_what_is_not_waste_stands_apart():
    inputs = build(
        part("Board", received=2),
        part("Beam", received=3),
        sources=(salvage("Board", 2), salvage("Beam", 3)),
    )
    made_of = make_landfill(inputs, {"Board": own(20), "Beam": own(9)}, ["Beam"])
    assert [row.component.key for row in made_of.rows] == ["Board"]
    assert [row.component.key for row in made_of.not_waste] == ["Beam"]
    assert made_of.low == 40


def test_what_came_from_another_build_is_counted_there():
    inputs = build(
        part("Board", received=4, moved_in=12, scrapped=8), sources=(salvage("Board", 4),)
    )
    (row,) = make_landfill(inputs, {"Board": own(10)}).rows
    # A quarter of the boards, and so of the scrap, was salvaged here: 4 less 2 of 10 lb.
    assert (row.scrapped, row.low) == (2, 20)


def ranged(low, high):
    return Weight(F(low), F(high), ("stated",))


@pytest.mark.parametrize(
    ("board", "peg", "lost"),
    [
        # 4 boards into 4 pegs; at the lowest weights 4 x 4 lb are lost, at the highest nothing.
        (ranged(10, 10), ranged(6, 12), (16, 0)),
        (ranged(6, 12), ranged(6, 6), (0, 24)),
    ],
)
def test_a_loss_on_the_way_is_seen_though_none_of_it_was_salvaged_itself(board, peg, lost):
    """Beams, all salvage, become boards, and those pegs."""
    inputs = build(
        part("Beam", received=1),
        part("Board"),
        part("Peg"),
        worked("Beam", 1, made("Board", 4)),
        worked("Board", 4, made("Peg", 4)),
        sources=(salvage("Beam", 1),),
    )
    made_of = make_landfill(inputs, {"Beam": ranged(40, 40), "Board": board, "Peg": peg})
    (row,) = [row for row in made_of.rows if row.component.key == "Board"]
    assert (row.salvaged, row.scrapped, row.lost_low, row.lost_high) == (0, 0, *lost)


def test_a_loss_that_cannot_be_known_is_listed_though_nothing_else_is():
    inputs = build(
        part("Beam", received=1),
        part("Board"),
        part("Peg"),
        worked("Beam", 1, made("Board", 4)),
        worked("Board", 4, made("Peg", 4)),
        sources=(salvage("Beam", 1),),
    )
    made_of = make_landfill(inputs, {"Beam": own(40), "Peg": own(6)})
    (row,) = [row for row in made_of.without if row.component.key == "Board"]
    assert (row.salvaged, row.is_loss_known) == (0, False)


def test_each_conversion_is_judged_by_itself():
    """New wood first, then a loss that cannot be known, then one that is: 4 x 10 - 4 x 6 lb."""
    inputs = build(
        part("New", received=9),
        part("Door", received=1),
        part("Sash", received=1),
        part("Beam", received=4),
        part("Peg"),
        part("Pin"),
        worked("New", 9, made("Peg", 1)),
        worked("Door", 1, made("Peg", 1), made("Pin", 1)),
        worked("Sash", 1, made("Peg", 1)),
        worked("Beam", 2, made("Peg", 2)),
        worked("Beam", 2, made("Peg", 2)),
        sources=(salvage("Door", 1), salvage("Sash", 1), salvage("Beam", 4)),
    )
    weights = {"Beam": own(10), "Peg": own(6), "Door": own(50), "New": own(1)}
    found = make_landfill(inputs, weights)
    rows = {row.component.key: row for row in (*found.rows, *found.without)}
    # The pin's weight is not known, nor the sash's.
    assert [rows[key].is_loss_known for key in ("Door", "Sash", "Beam")] == [False, False, True]
    assert rows["Beam"].lost_low == 16
    assert "New" not in rows
