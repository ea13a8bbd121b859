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
    told = sorted((kind, one.pounds) for kind, load in LOADS.items() for one in load.weights)
    assert told == sorted((kind, pounds) for kind, pounds, _ in PUBLISHED)
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
    assert (beam.lost_low, beam.low) == (100, 400)
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
    made_of = make_landfill(inputs, {"Rubble": Weight(F(1000), F(1400), ("a", "b"), False)})
    assert (made_of.low, made_of.high) == (2000, 2800)
    assert make_landfill(build(), {}).low is None
