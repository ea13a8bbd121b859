"""Does a conversion make more than it used? Compared in the strongest dimension both state."""

from fractions import Fraction

import pytest

from materials.calc.quantities import parse_contents, parse_quantity
from materials.calc.units import find_unit
from materials.calc.yields import Side, measure, too_much, yield_share


def side(name: str, quantity: str, unit: str, contents: str = "") -> Side:
    base = find_unit(unit)
    return Side(name, parse_quantity(quantity, base), base, parse_contents(contents))


PLANK = ("2x12x9", "piece", "1 piece = 18 bf")
SHELF = ("2x12x3", "piece", "1 piece = 6 bf")


class TestNoMoreThanWasUsed:
    @pytest.mark.parametrize(
        ("used", "made"),
        [
            # 2 x 12 x 9 / 12 = 18 board feet give three shelves of 2 x 12 x 3 / 12 = 6.
            (side("plank", "1 @ 2x12x9", "piece"), [side("shelf", "3 @ 2x12x3", "piece")]),
            (side("plank", "1", "piece", PLANK[2]), [side("shelf", "3", "piece", SHELF[2])]),
            (side("board", "16 ft", "ft"), [side("board", "16 ft", "ft")]),
            (side("board", "16 ft", "ft"), [side("a", "8 ft", "ft"), side("b", "2 yd", "ft")]),
            (side("slab", "1 cu yd", "cu yd"), [side("block", "27 cu ft", "cu ft")]),
            (side("scrap", "10 lb", "lb"), [side("casting", "160 oz", "lb")]),
            (side("ply", "32 sq ft", "sq ft"), [side("panel", "30 sq ft", "sq ft")]),
            # Cut lengthwise: more length, no more of it; lengths alone tell nothing.
            (side("sheet", "8 ft", "ft"), [side("flashing", "24 ft", "ft")]),
            (
                side("board", "10 ft", "ft", "1 ft = 1 bf"),
                [side("lath", "40 ft", "ft", "1 ft = 0.25 bf")],
            ),
            # Off by less than what is stored.
            (side("board", "1 ft", "ft"), [side("peg", "1.000009 ft", "ft")]),
            # A thousandth more comes of rounded contents.
            (side("board", "1000 bf", "bf"), [side("peg", "1001 bf", "bf")]),
            # The volume of one side alone says nothing.
            (side("board", "1 ft", "ft"), [side("peg", "9 ft", "ft", "1 ft = 1 bf")]),
            (side("board", "1 ft", "ft", "1 ft = 1 bf"), [side("peg", "9 ft", "ft")]),
        ],
    )
    def test_passes(self, used: Side, made: list[Side]) -> None:
        assert too_much(used, made) is None

    @pytest.mark.parametrize(
        ("used", "made", "shown"),
        [
            (
                side("plank", "1 @ 2x12x9", "piece"),
                [side("shelf", "4 @ 2x12x3", "piece")],
                "24 board feet from 18",
            ),
            (side("scrap", "10 lb", "lb"), [side("casting", "161 oz", "lb")], "from 10"),
            (side("board", "1000 bf", "bf"), [side("peg", "1001.5 bf", "bf")], "from 1000"),
            # By volume only one of two is known and fits; by weight both are, and do not.
            (
                side("scrap", "10 lb", "lb", "1 lb = 1 bf"),
                [side("bar", "5 bf", "bf", "1 bf = 9 lb"), side("casting", "1 lb", "lb")],
                "46 pounds from 10",
            ),
            (side("ply", "32 sq ft", "sq ft"), [side("panel", "33 sq ft", "sq ft")], "from 32"),
            (
                side("board", "10 ft", "ft", "1 ft = 1 bf"),
                [side("lath", "41 ft", "ft", "1 ft = 0.25 bf")],
                "10.25 board feet from 10",
            ),
        ],
    )
    def test_refused_with_both_sides(self, used: Side, made: list[Side], shown: str) -> None:
        sentence = too_much(used, made)
        assert sentence is not None
        assert shown in sentence
        be = "is" if len(made) == 1 else "are"
        assert sentence.startswith(f"More {' and '.join(one.name for one in made)} {be} made")
        assert f"than {used.name} used" in sentence

    def test_the_way_out_is_named_where_the_material_may_have_been_split(self) -> None:
        by_area = too_much(side("ply", "1 sq ft", "sq ft"), [side("tile", "2 sq ft", "sq ft")])
        assert by_area is not None
        assert "‘1 sq ft = 2 bf’" in by_area


class TestNothingToCompare:
    @pytest.mark.parametrize(
        ("used", "made"),
        [
            (side("door", "1", "piece"), [side("panel", "40", "piece")]),
            (side("door", "1", "piece", "1 piece = 20 sq ft"), [side("peg", "40", "piece")]),
            (side("board", "10 ft", "ft"), [side("peg", "400", "piece", "1 piece = 1 ft")]),
            (side("earth", "1 cu yd", "cu yd"), [side("bag", "100", "bag")]),
        ],
    )
    def test_no_common_dimension_passes(self, used: Side, made: list[Side]) -> None:
        assert too_much(used, made) is None

    def test_volume_counts_before_weight_and_area(self) -> None:
        """Lighter but larger is refused: nothing makes more volume."""
        used = side("block", "1", "piece", "1 piece = 1 cu ft; 1 piece = 90 lb")
        made = side("tile", "10", "piece", "1 piece = 0.2 cu ft; 1 piece = 1 lb")
        assert too_much(used, [made]) is not None

    def test_weight_counts_before_area(self) -> None:
        """Resawn sheet: twice the area from the same weight."""
        used = side("sheet", "1 piece", "piece", "1 piece = 32 sq ft; 1 piece = 40 lb")
        made = side("veneer", "2 piece", "piece", "1 piece = 32 sq ft; 1 piece = 20 lb")
        assert too_much(used, [made]) is None


class TestMeasure:
    @pytest.mark.parametrize(
        ("quantity", "unit", "contents", "to", "expected"),
        [
            ("2 @ 2x8x12", "piece", "", "bf", 32),
            ("2", "piece", "1 piece = 16 bf", "bf", 32),
            # The size as typed counts before the contents.
            ("2 @ 2x8x6", "piece", "1 piece = 16 bf", "bf", 16),
            ("3 yd", "ft", "", "ft", 9),
            ("3 yd", "ft", "1 ft = 2 lb", "lb", 18),
            ("3", "piece", "", "bf", None),
        ],
    )
    def test_measure(
        self, quantity: str, unit: str, contents: str, to: str, expected: Fraction | None
    ) -> None:
        assert measure(side("x", quantity, unit, contents), find_unit(to)) == expected


@pytest.mark.parametrize(
    ("used", "made", "share"),
    [
        # 20 board feet into battens of 2-1/2 each.
        (
            side("plank", "1 @ 2x12x10", "piece"),
            [side("batten", "6 @ 1x3x10", "piece")],
            (Fraction(3, 4), "volume"),
        ),
        (
            side("plank", "1 @ 2x12x10", "piece"),
            [side("batten", "3 @ 1x3x10", "piece"), side("peg", "5 bf", "bf")],
            (Fraction(5, 8), "volume"),
        ),
        (side("scrap", "10 lb", "lb"), [side("casting", "128 oz", "lb")], (Fraction(4, 5), "mass")),
        (
            side("ply", "32 sq ft", "sq ft"),
            [side("panel", "24 sq ft", "sq ft")],
            (Fraction(3, 4), "area"),
        ),
        # Cut into three: three times the length, and no fault.
        (side("sheet", "8 ft", "ft"), [side("flashing", "24 ft", "ft")], (Fraction(3), "length")),
        # One of two has no volume stated: judged by what both have.
        (
            side("board", "10 ft", "ft", "1 ft = 1 bf"),
            [side("lath", "8 ft", "ft", "1 ft = 0.25 bf"), side("peg", "1 ft", "ft")],
            (Fraction(9, 10), "length"),
        ),
        (side("board", "10 ft", "ft"), [side("peg", "3", "piece")], None),
        (side("board", "0 ft", "ft"), [side("lath", "1 ft", "ft")], None),
        (side("board", "10 ft", "ft"), [], None),
    ],
)
def test_share_of_what_was_used_that_became_something(
    used: Side, made: list[Side], share: tuple[Fraction, str] | None
) -> None:
    assert yield_share(used, made) == share
