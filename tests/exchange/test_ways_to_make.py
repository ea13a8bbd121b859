"""The sheet Ways to make: read, refused with a sentence, and left alone where it is stated."""

import pytest

from materials.models import WayToMake
from materials.services.imports import import_plan

from .small import check, small_sheets

HEAD = ["From", "Quantity used", "To", "Quantity made", "Lost %", "Hours for one"]


def sheets_with(*rows):
    sheets = small_sheets()
    sheets["Ways to make"] = [[*HEAD, "Extra cost of one", "Note"], *map(list, rows)]
    return sheets


ROW = ("Plank", "1 piece", "Batten", "24 ft", 4, "0:06", 0.02, "thin blade")


@pytest.mark.django_db
def test_a_way_comes_in_and_stays_as_it_is():
    checked = check(sheets_with(ROW))
    assert checked.faults == ()
    build = import_plan(actor=None, plan=checked.plan)
    way = WayToMake.objects.get(build=build)
    assert (str(way), way.used_text, way.made_text) == ("Batten from Plank", "1 piece", "24 ft")
    assert (str(way.lost_percent), str(way.hours_each)) == ("4.0000", "0.1000")
    assert str(way.extra_each) == "0.020000"
    # Stated already, it is left alone, and what is new comes in beside it.
    again = check({"Ways to make": sheets_with(ROW)["Ways to make"]}, build=build)
    assert again.plan.ways == ()
    assert "Ways to make: what is stated already stays as it is." in again.notes


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ([(*ROW[:2], "Plank", *ROW[3:])], "Nothing is made of itself"),
        ([(*ROW[:4], 100, *ROW[5:])], "Nothing is left of it: enter less than 100."),
        ([(*ROW[:3], "9 gal", *ROW[4:])], "gal"),
        ([ROW, ROW], "on row 2 already: keep one."),
        ([("Log", *ROW[1:])], "is not on the Components sheet"),
    ],
)
@pytest.mark.django_db
def test_what_cannot_be_is_said_at_its_cell(rows, said):
    checked = check(sheets_with(*rows))
    assert checked.plan is None
    (fault,) = checked.faults
    assert fault.sheet == "Ways to make"
    assert said in fault.text
