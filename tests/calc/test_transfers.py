"""Material moved between builds: its value, how much arrives, and that no cost is lost or made."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from materials.calc.progress.money import elements_to_spent
from materials.calc.quantities import QuantityError, parse_contents, parse_quantity
from materials.calc.reports import make_cost_sheet
from materials.calc.trace.explain import trace
from materials.calc.transfers import arriving, value_moved
from materials.calc.types import BuildInput, ComponentInput
from materials.calc.units import find_unit

from .builders import D, F, made, part, position, positions, sheet, worked


@pytest.mark.parametrize(
    ("quantity", "average", "places", "value"),
    [
        (3, F(10, 3), 2, "10.00"),
        (1, F(10, 3), 2, "3.33"),
        (1, F("0.005"), 2, "0.01"),
        (7, F(100, 3), 0, "233"),
        (4, F(0), 2, "0.00"),
        (4, None, 2, None),
    ],
)
def test_the_value_is_quantity_at_the_average_rounded_once(quantity, average, places, value):
    found = value_moved(F(quantity), average, places)
    assert found == (None if value is None else D(value))


# typed, contents where it leaves, unit it arrives in, contents there -> how much arrives
ARRIVALS = [
    ("15 pieces", "", "piece", "", 15),
    ("15 pieces", "1 piece = 16 ft", "ft", "", 240),
    ("15 pieces", "", "ft", "1 piece = 16 ft", 240),
    ("240 ft", "", "piece", "1 piece = 16 ft", 15),
    ("240 ft", "1 piece = 16 ft", "piece", "", 15),
    ("2 bundles", "1 bundle = 8 pieces", "ft", "1 piece = 4 ft", 64),
    ("10 @ 2x8x12", "", "ft", "", 120),
    # A piece here is twice a piece there.
    ("15 pieces", "1 piece = 16 ft", "piece", "1 piece = 8 ft", 30),
    # Where the two say different things of a piece, it is the leaving material that is moved.
    ("15 pieces", "1 piece = 16 ft", "ft", "1 piece = 8 ft", 240),
    ("15 pieces", "1 piece = 22 lb", "piece", "1 piece = 8 ft", 15),
    ("3 ft", "", "m", "", F("0.9144")),
    # The measure that both speak of carries over, whatever else is said there before it.
    ("15 pieces", "1 piece = 16 ft", "piece", "1 piece = 22 lb; 1 piece = 8 ft", 30),
    ("15 pieces", "1 piece = 16 ft", "piece", "1 gal = 350 sq ft; 1 piece = 8 ft", 30),
    # What is said there alone goes before both mixed: 2 x 22 x 5, not 2 x 2 x 3.
    ("2 pieces", "1 piece = 2 sq ft", "ft", "1 piece = 22 lb; 1 lb = 5 ft; 1 sq ft = 3 ft", 220),
]


@pytest.mark.parametrize(("typed", "own", "unit", "there", "arrives"), ARRIVALS)
def test_what_arrives(typed, own, unit, there, arrives):
    found = arriving(
        parse_quantity(typed), parse_contents(own), find_unit(unit), parse_contents(there)
    )
    assert found == arrives


def test_a_missing_content_is_named():
    with pytest.raises(QuantityError, match="say in the component's contents how many feet"):
        arriving(
            parse_quantity("3 pieces"), parse_contents(""), find_unit("ft"), parse_contents("")
        )


class TestTheEngine:
    """10 came in at 3.00 each; 4 left at 12.00, before 10 more came in at 1.00 each."""

    place = position(received=20, received_cost=40, moved_out=4, moved_out_cost=12)

    def test_the_value_stays_as_it_was_fixed_though_the_average_is_two(self):
        assert self.place.average == 2
        assert self.place.value_moved == 12
        assert self.place.known_money == self.place.cost == 28
        assert (self.place.moved, self.place.left_over, self.place.in_building) == (4, 4, 16)

    def test_a_plain_left_over_still_goes_at_the_average(self):
        place = position(received=20, received_cost=40, moved=4)
        assert (place.value_moved, place.cost) == (8, 32)

    def test_both_add_up(self):
        place = position(received=20, received_cost=40, moved=4, moved_out=4, moved_out_cost=12)
        assert (place.moved, place.value_moved, place.cost, place.in_building) == (8, 20, 20, 12)

    def test_moved_in_at_an_unknown_cost_spoils_the_average_and_what_is_made_of_it(self):
        found = positions(
            part("Board", received=5, received_cost=10, moved_in=5, unknown_transfers=1),
            part("Stud"),
            worked("Board", 2, made("Stud", 4)),
        )
        assert found["Board"].average is None
        assert found["Board"].cost is None
        # Ten that are known lie on ten boards, of which two became studs.
        assert found["Board"].known_money == 8
        assert found["Stud"].known_money == 2
        assert found["Stud"].cost is None

    def test_moved_in_counts_as_needed_and_as_cost_but_not_as_cash(self):
        made_of = sheet(part("Board", required=10, moved_in=4, moved_in_cost=12, retail_price=5))
        (row,) = made_of.components
        assert row.position.still_needed == 6
        assert (made_of.total.cost, made_of.spent, made_of.savings) == (12, 0, 8)
        assert (made_of.moved_in.cost, made_of.moved_in.retail_equivalent) == (12, 20)
        assert [row.cost for row in made_of.sources] == [0, 0, 0]

    def test_nothing_moved_in_is_no_source(self):
        assert sheet(part("Board", received=1, received_cost=1)).moved_in is None


def test_the_parts_of_the_figures_sum_to_them():
    report = sheet(
        part("Board", received=20, received_cost=40, moved_out=4, moved_out_cost=12, moved=1),
        part("Stud", moved_in=2, moved_in_cost=7),
    )
    for traced in (trace(report, "material_cost").parts, elements_to_spent(report)[:-1]):
        total = sum(-p.amount if p.sign == "−" else p.amount for p in traced)
        assert total == (report.total.cost if traced[0].sign == "+" else report.spent)
    names = [p.link for p in trace(report, "material_cost").parts]
    assert "moves_out" in names
    assert "moves_in" in names


def test_an_unknown_cost_moved_in_is_told():
    report = sheet(part("Board", moved_in=2, unknown_transfers=1))
    assert report.unknown_transfers == 1
    assert any("Moved in" in text for text in trace(report, "material_cost").left_out)


EVENTS = st.lists(
    st.tuples(
        st.sampled_from(["buy", "move"]),
        st.integers(0, 2),
        st.integers(1, 2),
        st.integers(1, 40),
        st.integers(0, 9_999),
    ),
    min_size=1,
    max_size=25,
)


# The machine may be busy: how long one example takes says nothing.
@settings(deadline=None)
@given(EVENTS, st.sampled_from([0, 2, 3]))
def test_no_minor_unit_is_lost_or_made_between_builds(events, places):
    """Three builds buy and transfer to and fro, in circles too; the sum of what they hold is
    kept."""
    held = [{name: F(0) for name in FIELDS} for _ in range(3)]
    paid = Fraction(0)
    for what, here, step, quantity, units in events:
        there = (here + step) % 3
        if what == "buy":
            price = F(Decimal(units).scaleb(-places))
            held[here]["received"] += quantity
            held[here]["received_cost"] += price
            paid += price
            continue
        place = position(**held[here])
        moved = min(F(quantity), place.in_building)
        value = value_moved(moved, place.average, places)
        if not moved:
            continue
        assert value is not None
        held[here]["moved_out"] += moved
        held[here]["moved_out_cost"] += F(value)
        held[there]["moved_in"] += moved
        held[there]["moved_in_cost"] += F(value)
    sheets = [
        make_cost_sheet(BuildInput("B", "USD", places, (ComponentInput("a", "a", **fields),)))
        for fields in held
    ]
    assert sum(sheet.total.cost for sheet in sheets) == paid
    assert sum(sheet.spent for sheet in sheets) == paid
    in_buildings = sum(row.position.in_building for s in sheets for row in s.components)
    assert in_buildings == sum(fields["received"] for fields in held)


FIELDS = ("received", "received_cost", "moved_in", "moved_in_cost", "moved_out", "moved_out_cost")


def test_builds_that_move_to_and_fro_have_no_circle():
    """A sends 4 to B, B sends 2 of them back: every value is fixed, so each sheet stands alone."""
    a = position(
        received=10, received_cost=30, moved_out=4, moved_out_cost=12, moved_in=2, moved_in_cost=6
    )
    b = position(moved_in=4, moved_in_cost=12, moved_out=2, moved_out_cost=6)
    assert (a.cost, b.cost, a.in_building, b.in_building) == (24, 6, 8, 2)
