"""What of an offer the build still needs."""

from fractions import Fraction as F

import pytest

from materials.calc.offers import Need, OfferedLine, needs_of
from materials.calc.types import ComponentInput
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


def offered(component: str, usable: int) -> OfferedLine:
    return OfferedLine(component, "salvage", F(usable), F(0))


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
