"""What of an offer the build still needs."""

from fractions import Fraction as F

import pytest

from materials.calc.offers import Effect, Need, OfferedLine, needs_of, offer_effects
from materials.calc.types import AreaInput, ComponentInput
from tests.calc.builders import part, sheet


@pytest.mark.parametrize(
    ("offered", "needed", "whole", "surplus", "is_all"),
    [
        (8, 2, True, 6, False),
        (250, 0, False, 250, True),
        (3, 5, True, 0, False),
        (5, 5, False, 0, False),
        # 2.45 sheets are needed: the third is cut, so none of three is left over.
        (3, "2.45", True, 0, False),
        (10, "5.9", True, 4, False),
        (10, "5.9", False, "4.1", False),
        # Nothing needed: all of it is more, though the usable part is no whole number.
        ("4.5", 0, True, "4.5", True),
        # Less than is ever shown.
        ("85.8001", "85.8", False, 0, False),
        # The least that is shown, as 0.001.
        ("85.8005", "85.8", False, "0.0005", False),
        (10, "20009/2001", False, 0, False),
        (10, "0.0005", False, "9.9995", False),
        (10, "0.0004", False, "9.9996", True),
        (0, 0, True, 0, False),
    ],
)
def test_surplus(offered, needed, whole, surplus, is_all):
    need = Need(F(offered), F(needed), whole)
    assert need.surplus == F(surplus)
    assert need.is_all_surplus is is_all
    assert need.counted == F(offered) - F(surplus)


def test_without_a_requirement_nothing_is_surplus_and_nothing_known():
    need = Need(F(8), None)
    assert need.surplus is None
    assert not need.is_all_surplus
    assert need.counted == 8


@pytest.mark.parametrize(
    ("offered", "needed", "share"),
    [(8, 2, F(1, 4)), (8, 8, 1), (8, 20, 1), (8, 0, 0), (8, None, 1), (0, 5, 1)],
)
def test_the_share_that_serves_the_build(offered, needed, share):
    assert Need(F(offered), None if needed is None else F(needed)).useful_share == share


def offered(component: str, usable: int, landed: int = 0) -> OfferedLine:
    return OfferedLine(component, "salvage", F(usable), F(landed))


def test_need_is_required_with_waste_less_what_is_in_hand_or_ordered():
    # 40 x 1.05 = 42, less 30 received of which 2 were scrapped, less 4 ordered: 10 are needed.
    lime = part(
        "Lime", unit="bag", required=40, waste_share="0.05", received=30, scrapped=2, ordered=4
    )
    slate: ComponentInput = part("Slate", unit="sq ft")
    needs = needs_of(
        sheet(lime, slate),
        [offered("Lime", 8), offered("Slate", 5), offered("Lime", 6), offered("New thing", 3)],
    )
    assert list(needs) == ["Lime", "Slate", "New thing"]
    # Two lines of one component meet one need.
    assert needs["Lime"] == Need(F(14), F(10), True)
    assert needs["Lime"].surplus == 4
    assert needs["Slate"].surplus is None
    assert needs["New thing"].surplus is None


def test_what_an_offer_would_do_to_every_figure():
    """Worked by hand; a second area is not measured yet, and nails are not on the offer."""
    now = sheet(
        part("Lime", required=30, received=10, received_cost=40, retail_price=10),
        part("Slate"),
        part("Nail", received=1, received_cost=2, retail_price=5),
        budget=500,
        areas=(AreaInput("f", "Floor", F(100), "sq ft"), AreaInput("w", "Walls", None, None)),
    )
    lines = [offered("Lime", 3, 18), offered("Slate", 4, 8), offered("Lime", 2, 12)]
    then, effects = offer_effects(now, lines)
    assert {each.name: (each.now, each.then, each.difference) for each in effects} == {
        # 500 less 42 spent; then less 18 + 8 + 12 more.
        "remaining": (458, 420, -38),
        "spent": (42, 80, 38),
        # 20 to get at 40 / 10; then 15 at 70 / 15.
        "forecast_low": (42 + 80, 80 + 70, 28),
        # The same at 10 new.
        "forecast_high": (42 + 200, 80 + 150, -12),
        # Lime 100 - 40 and nail 5 - 2; then lime 150 - 70.
        "savings": (63, 83, 20),
        "area_0": (F("0.42"), F("0.80"), F("0.38")),
    }
    (salvage, *_) = then.sources
    assert (salvage.cost, salvage.retail_equivalent, salvage.left_out) == (38, 50, 8)
    assert [row.position.component.received for row in then.components] == [15, 4, 1]


@pytest.mark.parametrize(("now", "then"), [(None, F(1)), (F(1), None), (None, None)])
def test_a_difference_from_what_is_not_known_is_not_known(now, then):
    assert Effect("savings", now, then).difference is None
