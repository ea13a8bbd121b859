"""Cost basis and replacement cost new: what is in them and what is kept out."""

from datetime import date

from materials.calc.sheets.cost_basis import make_cost_basis
from materials.calc.sheets.replacement import Priced, make_replacement
from materials.calc.types import ElementInput
from tests.calc.builders import D, F, labour, part, sheet

ON = date(2026, 5, 4)
BEFORE = date(2025, 11, 2)


def report(**values):
    return sheet(
        part("Stud", received=10, received_cost=30, retail_price=10, element="frame", on_hand=2),
        part("Peg", received=5, received_cost=20, element="frame"),
        part("Mantel", received=1, received_cost=15, would_buy_new=False, retail_price=90),
        part("Beam", received=2, received_cost=4, unknown_lines=1, retail_price=50),
        labour("installing", own=12, paid_hours=3, paid=90),
        labour("upkeep", own=1, paid_hours=1, paid=25),
        elements=(ElementInput("frame", "B10", "Superstructure"),),
        retail_tax_share=F(10, 100),
        own_labour_rate=40,
        **values,
    )


class TestCostBasis:
    """Own labour is no part of the basis of a house one builds oneself: IRS Publication 523 as
    quoted in public threads (T01); the paragraph of Publication 551 was not read."""

    def test_what_was_paid(self):
        """Material: 30 − 2 on hand at 3 = 24, and 20, 15, 4: 63. Labour 90 without 25 upkeep."""
        basis = make_cost_basis(report(), F(7))
        assert (basis.material, basis.paid_labour, basis.total) == (63, 90, 153)
        assert (basis.paid_upkeep, basis.on_hand, basis.own_distance) == (25, 6, 7)
        assert basis.unknown_lines == 1
        assert [(row.element and row.element.code, row.figures.cost) for row in basis.rows] == [
            ("B10", 44),
            (None, 19),
        ]

    def test_t02_hours_and_their_rate_change_nothing(self):
        """T01, T02: the sheet leaves hours × rate out, whatever the rate."""
        with_rate = make_cost_basis(report(), F(0))
        assert with_rate.own_hours == 13
        assert report().own_labour_value == 520
        without = make_cost_basis(sheet(*report().build.components), F(0))
        assert without.material == with_rate.material

    def test_rows_with_nothing_in_them_are_left_out_and_those_not_known_are_not(self):
        basis = make_cost_basis(
            sheet(
                part("Stud", received=4, received_cost=8, on_hand=4, element="frame"),
                part("Tile", received=2, unknown_lines=1, on_hand=1, element="roof"),
                elements=(ElementInput("frame", "B10", "Frame"), ElementInput("roof", "B30", "")),
            ),
            F(0),
        )
        assert [row.element and row.element.code for row in basis.rows] == ["B30"]
        assert (basis.material, basis.on_hand) == (0, 8)


class TestReplacement:
    def test_new_prices_with_tax_by_element_and_the_rest_named(self):
        """8 studs at 11.00 and 2 beams at 55.00; pegs have no price, the mantel is not bought."""
        prices = {"Stud": Priced(BEFORE, "Yard"), "Beam": Priced(ON, "")}
        made = make_replacement(report(), prices, ON)
        assert made.amount == D("88") + D("110")
        assert [
            (group.element and group.element.code, group.amount) for group in made.elements
        ] == [
            ("B10", 88),
            (None, 110),
        ]
        assert made.oldest == BEFORE
        assert [row.position.component.key for row in made.without_price] == ["Peg"]
        assert [row.position.component.key for row in made.not_bought_new] == ["Mantel"]

    def test_only_what_is_in_the_building_and_would_be_bought(self):
        made = make_replacement(
            sheet(
                part("Stud", received=2, retail_price=3, element="frame"),
                part("Rail", received=2, retail_price=5, element="frame"),
                part("Post", received=2, retail_price=7, element="frame"),
                part("Sash", received=2, on_hand=2, retail_price=9, element="roof"),
                part("Peg", received=2, scrapped=2),
                part("Mantel", received=1, would_buy_new=False, retail_price=90),
                part("Bolt", received=1),
                elements=tuple(ElementInput(key, key, "") for key in ("frame", "roof", "floor")),
            ),
            {"Stud": Priced(ON, ""), "Rail": Priced(BEFORE, "Yard")},
            ON,
        )
        (frame,) = made.elements
        assert [row.part.position.component.key for row in frame.rows] == ["Stud", "Rail", "Post"]
        assert (frame.amount, frame.oldest, made.oldest) == (30, BEFORE, BEFORE)
        assert [row.position.component.key for row in made.without_price] == ["Bolt"]
        assert [row.position.component.key for row in made.not_bought_new] == ["Mantel"]

    def test_a_price_without_a_day_has_no_oldest_day(self):
        stud = part("Stud", received=2, retail_price=3)
        made = make_replacement(sheet(stud), {}, ON)
        assert (made.amount, made.oldest) == (6, None)

    def test_nothing_priced_is_not_known(self):
        made = make_replacement(sheet(part("Peg", received=1)), {}, ON)
        assert (made.amount, made.oldest) == (None, None)
