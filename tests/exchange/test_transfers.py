"""Moves in the workbook: one side each, so that a build reads back equal wherever it goes."""

import io

import pytest
from openpyxl import load_workbook

from materials.models import LeftOver, Move
from materials.queries.checks import find_differences
from tests.exchange.small import NAME, add, bring_in, check, put, small_sheets
from tests.exchange.test_round_trip import export, report

pytestmark = pytest.mark.django_db


def with_transfers():
    """The small build, with 24 ft of plank moved in at 31.50 and 2 pieces moved away at 20.00."""
    sheets = small_sheets()
    sheets["Moved in"] = [
        ["Date", "Component", "Quantity", "Cost", "From", "Note"],
        ["2026-06-03", "Plank", "24 ft", 31.5, "Old barn", "dry"],
        ["2026-06-04", "Stove", "1 piece", None, None, None],
    ]
    sheets["Left over"][0].append("Value")
    for row in sheets["Left over"][1:]:
        row.append(None)
    add(sheets, "Left over", Date="2026-06-05", Component="Plank", Quantity="2 pieces",
        Fate="moved", Value=20, Note="to the sauna")  # fmt: skip
    add(sheets, "Left over", Date="2026-06-05", Component="Batten", Quantity="3 ft", Fate="moved")
    return sheets


def sides(build):
    out = Move.objects.filter(component__build=build)
    into = Move.objects.filter(to_component__build=build)
    return (
        list(out.order_by("pk").values_list(
            "component__name", "quantity_text", "base_qty", "value_amount", "note")),
        list(into.order_by("pk").values_list(
            "to_component__name", "to_text", "to_qty", "value_amount", "elsewhere", "note")),
    )  # fmt: skip


def test_a_build_with_moves_goes_out_and_in_again():
    first = bring_in(with_transfers())
    assert sides(first) == (
        [("Plank", "2 pieces", 24, 20, "to the sauna")],
        [
            ("Plank", "24 ft", 24, 31.5, "Old barn", "dry"),
            ("Stove", "1 piece", 1, None, "", ""),
        ],
    )
    assert LeftOver.objects.filter(fate="moved").get().quantity_text == "3 ft"
    printed = {row["component"]: row for row in report(NAME)["components"]}
    assert (printed["Plank"]["moved"], printed["Plank"]["moved_in"]) == ("24", "24")
    assert printed["Batten"]["moved"] == "3"
    assert "moved_in" not in printed["Batten"]
    assert printed["Stove"]["cost"] is None
    second = bring_in(export(first), name="Again")
    assert report("Again") == report(NAME)
    assert sides(second)[0] == sides(first)[0]
    assert list(find_differences(second)) == []


def test_both_builds_of_a_move_read_back_equal_apart(entries, second):
    """Each is imported by itself, where the other is not known."""
    board = entries.component("Board", contents="1 piece = 16 ft")
    from decimal import Decimal

    from tests.entries import Entries, line

    entries.purchase("P1", line(board, "20 pieces", unit_price=Decimal("3.333")))
    strip = Entries(entries.actor, second).component("Strip", "ft")
    entries.transfer(board, "5 pieces", second, to_component=strip)
    entries.purchase("P2", line(board, "20 pieces", unit_price=Decimal(1)))
    for build in (entries.build, second):
        again = bring_in(export(build), name=f"{build.name} again")
        assert report(again.name) == report(build.name)
    assert Move.objects.filter(component=None).get().elsewhere == "another build"


def test_a_workbook_does_not_name_builds_kept_beside_it(entries, second):
    board = entries.component("Board")
    from decimal import Decimal

    from tests.entries import line

    entries.purchase("P1", line(board, "20 pieces", unit_price=Decimal(3)))
    entries.transfer(board, "5 pieces", second)
    for build, other in ((entries.build, second), (second, entries.build)):
        book = load_workbook(io.BytesIO(export(build)))
        texts = [str(cell.value) for page in book for row in page.iter_rows() for cell in row]
        assert not any(other.name in text for text in texts)


@pytest.mark.parametrize(
    ("sheet", "row", "column", "value", "words"),
    [
        ("Moved in", 2, "Quantity", "24", "has no unit"),
        ("Moved in", 2, "Quantity", "24 gal", "say in the component's contents"),
        ("Moved in", 2, "Component", "Marble", "is not on the Components sheet"),
        ("Moved in", 2, "Date", None, "is missing"),
        ("Moved in", 2, "Cost", "some", "“some”"),
        ("Left over", 2, "Value", 5, "A value belongs to what was moved"),
        ("Left over", 5, "Quantity", "9999 pieces", "than there is"),
    ],
)
def test_faults_name_the_cell(sheet, row, column, value, words):
    sheets = with_transfers()
    put(sheets, sheet, row, column, value)
    faults = [fault for fault in check(sheets).faults if fault.sheet == sheet]
    assert any(words in str(fault) and f"row {row}" in str(fault) for fault in faults), faults


def test_what_was_moved_in_can_be_used():
    sheets = with_transfers()
    add(sheets, "Left over", Date="2026-06-06", Component="Stove", Quantity="2 pieces", Fate="sold")
    assert check(sheets).plan is not None
    del sheets["Moved in"]
    assert any("than there is" in str(fault) for fault in check(sheets).faults)
