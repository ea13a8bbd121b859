"""Costing rules 4 to 6: averages, conversions, what is in the building and what it cost."""

from fractions import Fraction
from typing import Any

import pytest

from materials.calc.stock import ConversionCircle, Position, conversion_order, output_shares
from tests.calc.builders import F, made, part, position, positions, sheet, worked


class TestRule4Average:
    @pytest.mark.parametrize(
        ("values", "average"),
        [
            ({"received": 10, "received_cost": 25}, F(5, 2)),
            # 12 bought, 8 of them usable: the usable ones carry it all.
            ({"received": 8, "received_cost": 12}, F(3, 2)),
            ({"received": 3, "received_cost": 10}, F(10, 3)),
            ({"received": 2, "received_cost": 6, "moved_in": 2, "moved_in_cost": 10}, 4),
            ({"moved_in": 4, "moved_in_cost": 10}, F(5, 2)),
            # Free is 0, nothing that came in is not known.
            ({"received": 5, "received_cost": 0}, 0),
            ({}, None),
            ({"received": 0, "received_cost": 9}, None),
            ({"ordered": 5, "ordered_cost": 50}, None),
            ({"received": 5, "received_cost": 10, "unknown_lines": 1}, None),
            # What became of it changes no average.
            ({"received": 10, "received_cost": 25, "on_hand": 3, "scrapped": 2}, F(5, 2)),
            ({"received": 10, "received_cost": 25, "sold": 3, "proceeds": 99}, F(5, 2)),
        ],
    )
    def test_average(self, values: dict[str, Any], average: Fraction | None) -> None:
        assert position(**values).average == average

    def test_what_was_converted_in_counts(self) -> None:
        found = positions(
            part("Board", received=4, received_cost=40),
            part("Stud", received=6, received_cost=12, moved_in=2, moved_in_cost=3),
            worked("Board", 1, made("Stud", 8), extra=5),
        )
        assert found["Stud"].average == F(12 + 3 + 10 + 5, 6 + 2 + 8)
        assert found["Stud"].converted_in == 8
        assert found["Stud"].converted_in_cost == 15

    def test_value_of_what_left_for_other_builds(self) -> None:
        # Two at 10 / 4, and 3.00 as it was fixed for others.
        known = position(received=4, received_cost=10, moved=2, moved_out=1, moved_out_cost=3)
        assert known.value_moved == 8
        unknown = position(received=4, unknown_lines=1, moved=2, moved_out=1, moved_out_cost=3)
        assert unknown.value_moved is None

    def test_nothing_used_of_what_is_not_known_spoils_nothing(self) -> None:
        found = positions(
            part("Board", received=4, unknown_lines=1),
            part("Stud", received=6, received_cost=12),
            worked("Board", 0, made("Stud", 2), extra=4),
        )
        assert found["Stud"].average == F(12 + 4, 6 + 2)

    def test_value_of_a_quantity(self) -> None:
        known = position(received=4, received_cost=10)
        assert known.value_of(F(3)) == F(15, 2)
        unknown = position(received=4, unknown_lines=1)
        assert unknown.value_of(F(3)) is None
        assert unknown.value_of(F(0)) == 0


class TestRule5Conversions:
    def test_one_roof_sheet_makes_three_flashings(self) -> None:
        """A 3 ft wide sheet cut into strips of 1 ft: 5 x 8 + 5 = 45 over 15 strips."""
        found = positions(
            part("Roof sheet", received=10, received_cost=80),
            part("Flashing"),
            worked("Roof sheet", 5, made("Flashing", 15), extra=5),
        )
        assert found["Roof sheet"].converted_out == 5
        assert found["Roof sheet"].converted_out_cost == 40
        assert found["Roof sheet"].known_money == 40
        assert found["Flashing"].average == 3
        assert found["Flashing"].known_money == 45

    def test_waste_carries_no_cost(self) -> None:
        """Nine tenths lost: what is left costs all of it."""
        found = positions(
            part("Board", received=10, received_cost=80),
            part("Peg"),
            worked("Board", 10, made("Peg", 1)),
        )
        assert found["Peg"].average == 80
        assert found["Board"].known_money == 0

    @pytest.mark.parametrize(
        ("outputs", "shares"),
        [
            ([made("A", 700, 1800), made("B", 300, 1200)], [F(3, 5), F(2, 5)]),
            ([made("A", 700), made("B", 300)], [F(7, 10), F(3, 10)]),
            # A value is missing, or all are 0: by quantity.
            ([made("A", 700, 1800), made("B", 300)], [F(7, 10), F(3, 10)]),
            ([made("A", 700, 0), made("B", 300, 0)], [F(7, 10), F(3, 10)]),
            ([made("A", 700, 0), made("B", 300, 5)], [0, 1]),
            ([made("A", 0), made("B", 0)], [F(1, 2), F(1, 2)]),
            ([made("A", 3)], [1]),
        ],
    )
    def test_cost_is_split_over_the_outputs(
        self, outputs: list[Any], shares: list[Fraction]
    ) -> None:
        assert output_shares(outputs) == shares

    def test_conversions_in_a_row(self) -> None:
        """Beam 100.00 -> plank (+20.00) -> lath (+6.00), listed in the wrong order."""
        found = positions(
            part("Lath"),
            part("Plank"),
            part("Beam", received=2, received_cost=200),
            worked("Plank", 3, made("Lath", 30), extra=6),
            worked("Beam", 1, made("Plank", 6), extra=20),
        )
        assert found["Plank"].average == 20
        assert found["Lath"].average == F(66, 30)
        assert [place.known_money for place in found.values()] == [66, 60, 100]
        assert list(found) == ["Lath", "Plank", "Beam"]

    def test_one_source_for_two_and_two_sources_for_one(self) -> None:
        found = positions(
            part("Door", received=2, received_cost=20),
            part("Crate", received=5, received_cost=5),
            part("Panel"),
            part("Shelf"),
            worked("Door", 1, made("Panel", 1)),
            worked("Door", 1, made("Shelf", 2), extra=2),
            worked("Crate", 4, made("Panel", 3)),
        )
        assert found["Panel"].average == F(14, 4)
        assert found["Shelf"].average == 6
        assert found["Door"].known_money == 0

    def test_free_material_hands_on_only_the_extra_cost(self) -> None:
        found = positions(
            part("Pallet", received=3, received_cost=0),
            part("Slat"),
            worked("Pallet", 3, made("Slat", 24), extra=12),
        )
        assert found["Slat"].average == F(1, 2)
        assert found["Slat"].cost == 12

    @pytest.mark.parametrize(
        "source",
        [{"received": 5, "received_cost": 10, "unknown_lines": 1}, {}],
        ids=["a price is missing", "nothing of it came in"],
    )
    def test_unknown_cost_is_handed_on(self, source: dict[str, Any]) -> None:
        found = positions(
            part("Beam", **source),
            part("Plank", received=1, received_cost=7),
            part("Lath"),
            worked("Beam", 2, made("Plank", 6), extra=20),
            worked("Plank", 3, made("Lath", 30), extra=6),
        )
        for name in ("Plank", "Lath"):
            assert found[name].average is None
            assert found[name].cost is None
        # What is known of it, here 2 a beam, goes along: two beams of five into the planks.
        of_beams = F(source.get("received_cost", 0))
        planks = 7 + 20 + of_beams * 2 / 5
        assert [place.known_money for place in found.values()] == [
            of_beams * 3 / 5,
            planks * 4 / 7,
            6 + planks * 3 / 7,
        ]

    def test_a_known_output_beside_an_unknown_one_stays_known(self) -> None:
        found = positions(
            part("Beam", unknown_lines=1, received=1),
            part("Door", received=1, received_cost=8),
            part("Plank"),
            part("Shelf"),
            worked("Beam", 1, made("Plank", 1)),
            worked("Door", 1, made("Shelf", 1)),
        )
        assert found["Shelf"].cost == 8
        assert found["Plank"].cost is None


class TestRule5Circles:
    def test_order_is_inputs_before_outputs(self) -> None:
        order = conversion_order(
            [worked("c", 1, made("d", 1)), worked("a", 1, made("b", 1), made("c", 1))]
        )
        assert order.index("a") < order.index("b")
        assert order.index("a") < order.index("c") < order.index("d")

    def test_no_conversions(self) -> None:
        assert conversion_order([]) == []

    def test_a_component_made_from_itself(self) -> None:
        with pytest.raises(ConversionCircle) as refused:
            conversion_order([worked("a", 1, made("a", 1))])
        assert refused.value.keys == ("a", "a")

    def test_a_circle_is_refused_by_name_in_the_direction_of_the_work(self) -> None:
        names = ["Beam", "Plank", "Lath"]
        parts = [part(name, key=key, received=9) for key, name in enumerate(names)]
        with pytest.raises(ConversionCircle) as refused:
            positions(
                *parts,
                worked(0, 1, made(1, 1)),
                worked(1, 1, made(2, 1)),
                worked(2, 1, made(0, 1)),
            )
        around = ["Beam → Plank → Lath → Beam", "Plank → Lath → Beam → Plank"]
        around.append("Lath → Beam → Plank → Lath")
        assert any(words in str(refused.value) for words in around)
        assert "go in a circle" in str(refused.value)

    def test_only_the_components_of_the_circle_are_named(self) -> None:
        with pytest.raises(ConversionCircle) as refused:
            positions(
                *(part(name) for name in ("Log", "Beam", "Plank", "Peg")),
                worked("Log", 1, made("Beam", 1)),
                worked("Beam", 1, made("Plank", 1), made("Peg", 1)),
                worked("Plank", 1, made("Beam", 1)),
            )
        assert set(refused.value.keys) == {"Beam", "Plank"}
        assert "Log" not in str(refused.value)

    def test_two_ways_to_the_same_material_are_no_circle(self) -> None:
        found = positions(
            *(part(name, received=1, received_cost=4) for name in "abcd"),
            worked("a", 1, made("b", 1), made("c", 1)),
            worked("b", 1, made("d", 1)),
            worked("c", 1, made("d", 1)),
        )
        assert found["d"].came_in == 3


FATES = {"on_hand": 8, "scrapped": 4, "given_away": 2, "sold": 6, "moved": 10}


class TestRule6InTheBuilding:
    def place(self, **values: Any) -> Position:
        """100 came in at 3.00 each: 60 bought, 20 moved in, 20 made; 15 converted away."""
        return positions(
            part("Stud", received=60, received_cost=150, moved_in=20, moved_in_cost=70, **values),
            part("Board", received=5, received_cost=75),
            part("Peg"),
            worked("Board", 5, made("Stud", 20), extra=5),
            worked("Stud", 15, made("Peg", 90)),
        )["Stud"]

    def test_quantity(self) -> None:
        place = self.place(**FATES)
        assert place.came_in == 100
        assert place.left_over == 30
        assert place.in_building == 100 - 15 - 30
        assert place.usable_on_site == 55 + 8

    @pytest.mark.parametrize(
        ("fate", "proceeds", "cost"),
        [
            # 100 at 3.00 less 15 converted away is 255.
            (None, 0, 255),
            ("on_hand", 0, 255 - 30),
            ("moved", 0, 255 - 30),
            ("sold", 12, 255 - 12),
            ("sold", 0, 255),
            ("scrapped", 0, 255),
            ("given_away", 0, 255),
        ],
    )
    def test_material_cost(self, fate: str | None, proceeds: int, cost: int) -> None:
        values = {} if fate is None else {fate: 10, "proceeds": proceeds}
        place = self.place(**values)
        assert place.average == 3
        assert place.cost == cost
        assert place.in_building == (85 if fate is None else 75)

    def test_all_fates_at_once(self) -> None:
        place = self.place(**FATES, proceeds=20)
        assert place.cost == 255 - 8 * 3 - 10 * 3 - 20

    def test_selling_at_a_gain_lowers_the_cost_below_0(self) -> None:
        assert position(received=1, received_cost=5, sold=1, proceeds=9).cost == -4

    def test_unknown_cost_stays_unknown_whatever_is_left(self) -> None:
        place = position(received=10, received_cost=20, unknown_lines=1, on_hand=4, moved=2)
        assert place.cost is None
        # The 20 that are known belong to all ten.
        assert place.known_money == 20 * 4 / F(10)
        assert place.in_building == 4

    def test_haulage_of_what_has_no_price_lies_where_the_material_lies(self) -> None:
        """Ten pieces fetched for 30, their price not known: none built in, so nothing of it is."""
        found = {
            lying: position(received=10, received_cost=30, unknown_lines=1, on_hand=lying)
            for lying in (0, 4, 10)
        }
        assert {lying: place.known_money for lying, place in found.items()} == {0: 30, 4: 18, 10: 0}
        assert all(place.average is None for place in found.values())

    def test_material_left_without_any_coming_in(self) -> None:
        """More went out than is recorded: shown as it is, never an error."""
        place = position(on_hand=2)
        assert place.in_building == -2
        assert place.average is None
        assert place.cost == 0

    def test_money_that_came_in_is_all_somewhere(self) -> None:
        report = sheet(
            part("Stud", received=60, received_cost=150, moved_in=20, moved_in_cost=70, **FATES),
            part("Board", received=5, received_cost=75, proceeds=0),
            part("Peg", on_hand=30),
            worked("Board", 5, made("Stud", 20), extra=5),
            worked("Stud", 15, made("Peg", 90)),
        )
        kept = sum(
            row.position.value_of(row.position.component.on_hand + row.position.component.moved)
            or 0
            for row in report.components
        )
        assert report.total.cost + kept == 150 + 70 + 75 + 5
