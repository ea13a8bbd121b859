"""Cost per area of several builds, by hand."""

import pytest

from materials.calc.areas import AreaInput, area_costs, by_currency
from tests.calc.builders import F, made, part, worked


def area(key: str, size, unit: str = "sq ft", currency: str = "USD", paid=0) -> AreaInput:
    return AreaInput(key, key, currency, F(size), unit, F(paid))


COMPONENTS = [
    # 10 roof sheets for 40, 4 of them cut into 8 flashings with 2 of extra cost, 1 on hand.
    ("Shed", part("Roof sheet", received=10, received_cost=40)),
    ("Shed", part("Flashing", on_hand=1)),
    ("Hut", part("Sash", received=2, received_cost=30, sold=1, proceeds=9)),
]
CONVERSIONS = [worked("Roof sheet", 4, made("Flashing", 8), extra=2)]


def test_material_and_paid_labour_by_area():
    shed, hut, bare = area_costs(
        [area("Shed", 100, paid=5), area("Hut", 7), area("Bare", 3)], COMPONENTS, CONVERSIONS
    )
    # 40 + 2 - one flashing of 18 / 8 + 5.
    assert shed.cost == F("44.75")
    assert shed.per_unit == F("0.4475")
    assert (hut.cost, hut.per_unit) == (21, 3)
    assert (bare.cost, bare.per_unit) == (0, 0)


@pytest.mark.parametrize(("unit", "cost"), [("sq yd", 27), ("sq ft", 3), ("square", 300)])
def test_another_unit_of_area(unit, cost):
    (hut,) = area_costs([area("Hut", 7)], COMPONENTS[2:], [])
    assert hut.per(unit) == cost


def test_only_builds_of_one_currency_are_compared():
    rows = area_costs([area("A", 1), area("B", 1, currency="EUR"), area("C", 1, "m²")], [], [])
    assert {
        currency: [row.build.key for row in group] for currency, group in by_currency(rows).items()
    } == {"USD": ["A", "C"]}
