"""The next build from earlier ones: by quantity, by area, in today's prices, with a range."""

from datetime import date

import pytest

from materials.calc.types import ElementInput, TaskInput
from materials.estimates.calc.estimate import estimate, estimate_class, spread_of
from materials.estimates.calc.price_rise import PriceRise
from materials.estimates.calc.types import PastBuild, Spread, StatedPart
from materials.lifecycle.calc.escalation import EscalationError, IndexSeries, IndexValue
from tests.calc.builders import F, build, labour, made, part, positions, sheet, worked

FRAME = ElementInput("frame", "B10", "Superstructure")
FLOOR = ElementInput("floor", "C30", "Interior finishes")


def past(*rows, area=100, factor=1, spread=None, element_of=None, **values):
    values = {"elements": (FRAME, FLOOR), "tasks": (TaskInput("raise", "Raise it"),)} | values
    element_of = {"raise": "frame"} if element_of is None else element_of
    return PastBuild(sheet(*rows, **values), F(area), F(factor), spread or {}, element_of)


def lines(result):
    return {row.code: row.cost for row in result.elements}


class TestByArea:
    def test_as_much_for_each_unit_of_area_as_in_all_earlier_builds_together(self):
        """100 + 300 sq ft held 10 + 30 beams and 20 sq ft of tile; 200 sq ft hold 20 and 10."""
        result = estimate(
            [
                past(part("Beam", received=10, received_cost=100, element="frame")),
                past(
                    part("Beam", received=30, received_cost=600, element="frame"),
                    part("Tile", unit="sq ft", received=20, received_cost=50, element="floor"),
                    area=300,
                ),
            ],
            [],
            F(200),
        )
        beam, tile = result.parts
        assert (beam.quantity, beam.of_one) == (20, Spread(F(10), F(35, 2), F(20)))
        assert (tile.quantity, tile.of_one.likely) == (10, F(5, 2))
        assert lines(result) == {
            "B10": Spread(F(200), F(350), F(400)),
            "C30": Spread(*(F(25),) * 3),
        }
        assert result.total.likely == 375
        assert result.defined == 0

    def test_prices_are_brought_to_today_build_by_build(self):
        result = estimate(
            [past(part("Beam", received=10, received_cost=100, element="frame"), factor="11/10")],
            [],
            F(50),
        )
        assert result.parts[0].of_one.likely == 11
        assert result.total.likely == 55

    def test_the_range_is_what_was_paid(self):
        result = estimate(
            [
                past(
                    part("Beam", received=10, received_cost=100, element="frame"),
                    spread={"Beam": (F(1, 2), F(3))},
                )
            ],
            [],
            F(100),
        )
        assert lines(result)["B10"] == Spread(F(50), F(100), F(300))

    def test_paid_labour_and_hours_by_area_and_element(self):
        result = estimate(
            [
                past(labour("installing", own=10, paid_hours=5, paid=150, task="raise"),
                     labour("sourcing", own=4)),
                past(labour("installing", own=60, task="raise"), area=200),
            ],
            [],
            F(100),
        )  # fmt: skip
        assert result.paid_labour == Spread(F(0), F(50), F(150))
        (frame,) = result.elements
        assert (frame.hours, frame.cost.likely) == (Spread(F(15), F(25), F(30)), 0)
        assert result.hours_apart == Spread(F(0), F(4, 3), F(4))
        assert result.hours.likely == 25 + F(4, 3)

    def test_cost_in_the_building_counts_what_was_scrapped(self):
        result = estimate(
            [past(part("Beam", received=10, received_cost=90, scrapped=1, element="frame"))],
            [],
            F(100),
        )
        assert result.parts[0].of_one.likely == 10
        assert result.parts[0].quantity == 9

    def test_labour_is_brought_to_today_too(self):
        result = estimate([past(labour("installing", paid_hours=5, paid=150), factor=2)], [], F(50))
        assert result.paid_labour.likely == 150

    def test_what_is_not_in_the_building_or_not_known_is_passed_over(self):
        """Half a beam at 4.00 and pegs; a sash on hand; tiles and lime at no known cost."""
        result = estimate(
            [
                past(
                    part("Sash", received=2, received_cost=8, on_hand=2, element="frame"),
                    part("Tile", received=2, unknown_lines=1, element="floor"),
                    part("Lime", unit="bag", received=1, unknown_lines=1),
                    part("Slate", received=3, unknown_lines=1, scrapped=3),
                    part("Beam", received="0.5", received_cost=2, element="frame"),
                    part("Peg", received=5, received_cost=5),
                ),
                past(
                    part("Sash", received=2, received_cost=8, on_hand=2, element="frame"),
                    part("tile", received=4, received_cost=8, element="floor"),
                ),
            ],
            [],
            F(100),
        )
        assert {row.name: (row.quantity, row.of_one.likely) for row in result.parts} == {
            "Beam": (F(1, 4), 4), "Peg": (F(5, 2), 1), "tile": (2, 2),
        }  # fmt: skip
        assert result.left_out == ("Lime",)
        # By code, what has none last; how many builds had anything of it.
        assert [(row.code, row.builds) for row in result.elements] == [
            ("B10", 1), ("C30", 2), ("", 1),
        ]  # fmt: skip
        assert [row.hours for row in result.elements] == [None, None, None]
        assert result.hours == Spread()

    def test_an_element_without_anything_is_no_line(self):
        bare = ElementInput("bare", "A10", "Foundations")
        result = estimate(
            [past(part("Peg", received=5, received_cost=5), elements=(bare, FRAME))], [], F(100)
        )
        assert [(row.code, row.builds) for row in result.elements] == [("", 1)]


class TestByStatedQuantity:
    PAST = past(
        part("Beam", received=10, received_cost=100, element="frame"),
        part("Peg", received=4, received_cost=12, element="frame"),
    )

    def test_a_stated_quantity_goes_before_the_area(self):
        result = estimate([self.PAST], [StatedPart("beam ", "piece", "B10", F(33))], F(100))
        beam, peg = result.parts
        assert (beam.quantity, beam.is_stated, beam.cost.likely) == (33, True, 330)
        assert (peg.quantity, peg.is_stated) == (4, False)
        assert result.elements[0].stated == 330
        assert result.defined == F(330, 342)

    def test_what_earlier_builds_do_not_know_is_new_or_not_known(self):
        wanted = [
            StatedPart("Door", "piece", "B20", F(2), F(80)),
            StatedPart("Stove", "piece", "D30", F(1)),
            StatedPart("Beam", "ft", "B10", F(9)),
        ]
        result = estimate([self.PAST], wanted, F(100))
        assert [(row.name, row.builds) for row in result.parts] == [("Door", 0), ("Peg", 1)]
        assert lines(result)["B20"].likely == 160
        assert [one.name for one in result.unknown] == ["Stove", "Beam"]

    def test_an_unknown_cost_tells_nothing(self):
        unknown = past(
            part("Beam", received=10, received_cost=100, unknown_lines=1, element="frame")
        )
        assert estimate([unknown], [], F(100)).elements == ()
        assert estimate([], [], F(100)).defined is None


class TestSpread:
    def test_lowest_and_highest_of_what_was_paid(self):
        inputs = build(part("Beam", received=10, received_cost=100))
        held = positions(*inputs.components).values()
        assert spread_of(inputs, held, {"Beam": (F(5), F(20))}) == {"Beam": (F(1, 2), F(2))}
        assert spread_of(inputs, held, {}) == {"Beam": (F(1), F(1))}

    def test_what_is_made_varies_as_what_it_is_made_of(self):
        """Boards: 100 of beams that went from half to twice, and 100 bought at one price."""
        rows = (
            part("Beam", received=10, received_cost=100),
            part("Board", received=5, received_cost=100),
            worked("Beam", 10, made("Board", 40)),
        )
        inputs = build(*rows)
        result = spread_of(inputs, positions(*rows).values(), {"Beam": (F(5), F(20))})
        assert result["Board"] == (F(3, 4), F(3, 2))

    def test_each_output_varies_by_its_share(self):
        """100 of beams at half to twice: 30 into boards with 70 bought, 70 into pegs with 30."""
        rows = (
            part("Empty"),
            part("Tile", received=2, received_cost=8),
            part("Beam", received=10, received_cost=100),
            part("Board", received=7, received_cost=70),
            part("Peg", received=3, received_cost=30),
            worked("Beam", 10, made("Board", 3), made("Peg", 7)),
        )
        result = spread_of(build(*rows), positions(*rows).values(), {
            "Beam": (F(5), F(20)), "Tile": (F(2), F(8)),
        })  # fmt: skip
        assert result == {
            "Empty": (1, 1),
            "Tile": (F(1, 2), 2),
            "Beam": (F(1, 2), 2),
            "Board": (1 - F(3, 20), 1 + F(3, 10)),
            "Peg": (1 - F(7, 20), 1 + F(7, 10)),
        }

    def test_nothing_in_is_no_spread(self):
        inputs = build(part("Beam"))
        assert spread_of(inputs, positions(*inputs.components).values(), {}) == {"Beam": (1, 1)}


@pytest.mark.parametrize(
    ("defined", "number"),
    [
        (None, 5),
        ("0", 5),
        ("0.01", 5),
        ("0.05", 4),
        ("0.12", 4),
        ("0.35", 3),
        ("0.5", 3),
        ("1", 3),
        ("2", 5),
    ],
)
def test_the_class_is_the_roughest_that_fits_and_never_better_than_3(defined, number):
    """AACE 18R-97 as reprinted (rows V10 to V14): how far the work is defined."""
    assert estimate_class(None if defined is None else F(defined)).number == number


class TestRise:
    ON = date(2026, 6, 10)

    def test_a_rate_by_whole_years_and_evenly_within_one(self):
        rise = PriceRise(self.ON, yearly=F(10, 100))
        assert rise.since(date(2024, 6, 30)) == F(121, 100)
        assert rise.since(date(2025, 12, 1)) == F(105, 100)
        assert rise.since(None) == rise.since(self.ON) == rise.since(date(2027, 1, 1)) == 1
        assert rise.summary() == "Prices raised by 10% for each year since they were paid."

    def test_an_index_names_the_months_it_was_read_at(self):
        """X10: a month without a value takes the last published before it, and says so."""
        series = IndexSeries(
            "Own index",
            [IndexValue(date(2025, 1, 1), F(100)), IndexValue(date(2026, 4, 1), F(110), True)],
        )
        rise = PriceRise(self.ON, series=series)
        assert rise.since(date(2025, 1, 20)) == F(11, 10)
        assert rise.summary().startswith(
            "Prices brought to today by Own index: January 2025 to April 2026."
        )
        assert "April 2026 is preliminary" in rise.summary()
        with pytest.raises(EscalationError, match="no value up to"):
            rise.since(date(2024, 12, 31))

    def test_neither(self):
        rise = PriceRise(self.ON)
        assert rise.since(date(2001, 1, 1)) == 1
        assert rise.summary() == "Prices as they were paid."
