"""Builds side by side: one unit of area, one currency at a time, unknown stays unknown."""

from dataclasses import replace

from materials.calc.compare_builds import AreaChoice, compare_builds, list_areas, size_in
from materials.calc.reports import make_cost_sheet
from materials.calc.types import AreaInput, ElementInput

from .builders import F, build, labour, part

FLOOR, WALL = ("floor", "Floor area"), ("wall", "Wall area")


def a_sheet(*rows, currency="USD", floor=None, unit="sq ft", wall=None, **values):
    areas = (
        AreaInput(*FLOOR, None if floor is None else F(floor), unit),
        AreaInput(*WALL, None if wall is None else F(wall), "sq ft"),
    )
    return make_cost_sheet(replace(build(*rows, **values), currency=currency, areas=areas))


def rows_of(sheets, by=AreaChoice("floor", "Floor area", "sq ft")):  # noqa: B008
    """Values of all rows by group and label."""
    return {
        (group.title, row.label): [(cell.value, cell.more) for cell in row.cells]
        for group in compare_builds(sheets, by)
        for row in group.rows
    }


def bought(cost, **values):
    return part("Board", received=10, received_cost=cost, **values)


def test_areas_are_brought_to_the_unit_of_the_first_exactly():
    """1 ft is 0.3048 m, so 92.90304 sq m are 1,000 sq ft."""
    sheets = [a_sheet(bought(500), floor=100), a_sheet(bought(500), floor="92.90304", unit="sq m")]
    (floor,) = list_areas(sheets)
    assert (floor.key, floor.unit) == ("floor", "sq ft")
    assert [size_in(sheet, floor) for sheet in sheets] == [100, 1000]
    found = rows_of(sheets)
    assert found["Cost per area", "Floor area, per sq ft"] == [(5, None), (F(1, 2), F(-9, 2))]


def test_money_of_unlike_currency_has_no_difference_and_that_of_like_one_has():
    sheets = [
        a_sheet(bought(500), currency="EUR", floor=100),
        a_sheet(bought(300), floor=100),
        a_sheet(bought(400), floor=100),
    ]
    assert rows_of(sheets)["Cost per area", "Floor area, per sq ft"] == [
        (5, None),
        (3, None),
        (4, 1),
    ]


def test_paid_labour_is_in_the_cost_of_an_area():
    paid = a_sheet(bought(500), labour("installing", paid_hours=5, paid=100), floor=100)
    assert rows_of([paid])["Cost per area", "Floor area, per sq ft"] == [(6, None)]


def test_an_area_without_a_size_or_a_unit_is_not_measured():
    sheets = [a_sheet(floor=100, unit=None), a_sheet(), replace(a_sheet(), areas=())]
    assert list_areas(sheets) == ()
    floor = AreaChoice("floor", "Floor area", "sq ft")
    assert [size_in(each, floor) for each in sheets] == [None, None, None]


def test_hours_have_a_difference_in_any_currency():
    sheets = [
        a_sheet(labour("sourcing", 10), currency="EUR", floor=100),
        a_sheet(labour("sourcing", 30), labour("installing", 20), floor=100),
    ]
    found = rows_of(sheets)
    title = "Hours per sq ft of floor area"
    assert found[title, "All hours"] == [(F(1, 10), None), (F(1, 2), F(2, 5))]
    assert found[title, "Sourcing"] == [(F(1, 10), None), (F(3, 10), F(1, 5))]
    assert found[title, "Installing"] == [(0, None), (F(1, 5), F(1, 5))]
    assert found[title, "Extra hours: sourcing and preparing"][1] == (F(3, 10), F(1, 5))


def test_what_is_not_known_stays_so_and_is_compared_with_nothing():
    sheets = [a_sheet(bought(500), floor=None, wall=50), a_sheet(bought(500), floor=100)]
    found = rows_of(sheets)
    assert found["Cost per area", "Floor area, per sq ft"] == [(None, None), (5, None)]
    assert found["Cost per area", "Wall area, per sq ft"] == [(10, None), (None, None)]
    assert found["Against retail", "Savings, %"] == [(None, None), (None, None)]


def test_own_labour_without_a_rate_is_not_known():
    sheets = [a_sheet(bought(500), labour("installing", 5), floor=100)] * 2
    with_own = "Floor area, per sq ft, with own labour"
    assert rows_of(sheets)["Cost per area", with_own] == [(None, None), (None, None)]
    rated = [a_sheet(bought(500), labour("installing", 5), floor=100, own_labour_rate=20)] * 2
    assert rows_of(rated)["Cost per area", with_own] == [(6, None), (6, 0)]


def test_savings_in_money_per_cent_and_per_extra_hour():
    one = a_sheet(bought(500, retail_price=100), labour("preparing", 10), floor=100)
    two = a_sheet(bought(250, retail_price=100), labour("sourcing", 25), floor=100)
    found = rows_of([one, two])
    assert found["Against retail", "Savings"] == [(500, None), (750, 250)]
    assert found["Against retail", "Savings, %"] == [(50, None), (75, 25)]
    assert found["Against retail", "Saved per extra hour"] == [(50, None), (30, -20)]


def test_elements_of_one_code_are_one_row_and_an_absent_one_is_said():
    walls, own = ElementInput("w", "B20", "Walls"), ElementInput("x", "X1", "Oven")
    again = ElementInput("w", "b20", "Outer walls")
    one = a_sheet(bought(500, element="w"), floor=100, elements=(walls, own))
    oven = part("Brick", received=1, received_cost=70, element="x")
    two = a_sheet(bought(300, element="w"), oven, floor=100, elements=(again, own))
    loose = part("Nail", received=1, received_cost=10)
    three = a_sheet(loose, floor=100, elements=())
    groups = compare_builds([one, two, three], AreaChoice("floor", "Floor area", "sq ft"))
    rows = {row.label: row.cells for row in groups[-1].rows}
    assert list(rows) == ["B20 Walls", "X1 Oven", "No element"]
    assert [cell.value for cell in rows["B20 Walls"]] == [5, 3, None]
    assert [cell.is_absent for cell in rows["B20 Walls"]] == [False, False, True]
    assert [cell.more for cell in rows["B20 Walls"]] == [None, -2, None]
    assert [cell.is_absent for cell in rows["X1 Oven"]] == [True, False, True]
    assert rows["X1 Oven"][1].value == F(7, 10)


def test_without_any_area_there_is_nothing_to_divide_by():
    sheets = [a_sheet(bought(500)), a_sheet(bought(300))]
    assert list_areas(sheets) == ()
    assert [group.title for group in compare_builds(sheets, None)] == ["Against retail"]
