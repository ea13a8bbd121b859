"""What is on hand goes first: conversions and left over lower stock on hand, and give them back.

The worked case: 38.2 boards came in at 1.00. A count finds 7, so 31.2 count as built in. 5 are
cut up: they come from the 7, so 31.2 are built in still and 2 lie on hand.
"""

from datetime import timedelta
from decimal import Decimal as D
from fractions import Fraction as F

import pytest

from materials.choices import Fate
from materials.models import Change, Component, Conversion, ConversionOutput, LeftOver
from materials.queries.checks import find_differences
from materials.queries.conversions import preview_conversion
from materials.queries.history import list_differences
from materials.queries.on_hand import withdrawal_of
from materials.queries.reports import get_cost_sheet
from materials.services.errors import LedgerError
from materials.services.records import delete_record, undo_change
from materials.services.stock import save_conversion, save_left_over, take_stock
from tests.entries import DAY, line

pytestmark = pytest.mark.django_db
LATER, BEFORE = DAY + timedelta(days=3), DAY - timedelta(days=3)
BUILT = F(312, 10)


@pytest.fixture
def board(entries) -> Component:
    board = entries.component("Board", contents="1 piece = 16 ft")
    entries.purchase("P1", line(board, "38.2 pieces", unit_price=D(1)), bought_on=BEFORE)
    take_stock(**entries.by, counts=[(board, "7 pieces")], counted_on=DAY)
    return board


@pytest.fixture
def stud(entries) -> Component:
    return entries.component("Stud")


def place(board) -> tuple[F, F]:
    """In the building, and on hand."""
    sheet = get_cost_sheet(board.build, LATER)
    (found,) = [r.position for r in sheet.components if r.position.component.key == board.pk]
    return found.in_building, found.component.on_hand


def convert(entries, board, stud, used, conversion=None, from_stock=True, on=LATER, **values):
    given = {"number": "C1", "converted_on": on, "source": board, "used_text": used} | values
    return save_conversion(
        **entries.by,
        conversion=conversion or Conversion(),
        values=given,
        outputs=[{"component": stud, "made_text": "4 pieces"}],
        from_stock=from_stock,
    )


def let_go(entries, board, quantity, fate=Fate.SOLD, row=None, from_stock=True, on=LATER):
    values = {"component": board, "quantity_text": quantity, "noted_on": on, "fate": fate}
    return save_left_over(
        **entries.by, left_over=row or LeftOver(), values=values, from_stock=from_stock
    )


def last_change(kind: str) -> Change:
    return Change.objects.filter(record_type=kind).order_by("-pk")[0]


def undo(entries, kind: str) -> None:
    undo_change(**entries.by, change=last_change(kind))


def test_a_count_then_a_conversion(entries, board, stud):
    assert place(board) == (BUILT, 7)
    conversion = convert(entries, board, stud, "5 pieces")
    assert place(board) == (BUILT, 2)
    assert conversion.hand_text == "5 pieces"
    assert not list(find_differences(entries.build))
    values = {row.what: row.after for row in list_differences(last_change("conversion"))}
    assert values["Taken from what was on hand"] == "5 pieces"


def test_what_counts_as_built_in_leaves_the_heap_alone(entries, board, stud):
    convert(entries, board, stud, "5 pieces", from_stock=False)
    assert place(board) == (BUILT - 5, 7)


def test_more_than_the_heap_takes_the_rest_from_the_building(entries, board, stud):
    conversion = convert(entries, board, stud, "10 pieces")
    assert place(board) == (BUILT - 3, 0)
    assert conversion.hand_text == "7 pieces"
    delete_record(**entries.by, record=conversion)
    assert place(board) == (BUILT, 7)


def test_a_heap_noted_later_than_the_day_is_not_touched(entries, board, stud):
    conversion = convert(entries, board, stud, "5 pieces", on=BEFORE)
    assert place(board) == (BUILT - 5, 7)
    assert conversion.hand_text == ""


def test_the_newest_heap_is_lowered_first(entries, board, stud):
    entries.left_over(board, "3 pieces", Fate.ON_HAND)
    convert(entries, board, stud, "4 pieces")
    rows = LeftOver.objects.filter(component=board).values_list("quantity_text", flat=True)
    assert list(rows) == ["6 pieces"]


def test_changing_a_conversion_puts_the_heap_right(entries, board, stud):
    conversion = convert(entries, board, stud, "5 pieces")
    convert(entries, board, stud, "3 pieces", conversion)
    assert place(board) == (BUILT, 4)
    convert(entries, board, stud, "9 pieces", conversion)
    assert place(board) == (BUILT - 2, 0)
    convert(entries, board, stud, "9 pieces", conversion, from_stock=False)
    assert place(board) == (BUILT - 9, 7)
    convert(entries, board, stud, "2 pieces", conversion)
    assert place(board) == (BUILT, 5)


def test_a_conversion_of_something_else_gives_the_heap_back(entries, board, stud):
    beam = entries.component("Beam")
    entries.purchase("P2", line(beam, "6 pieces", unit_price=D(1)))
    conversion = convert(entries, board, stud, "5 pieces")
    convert(entries, beam, stud, "5 pieces", conversion)
    assert place(board) == (BUILT, 7)
    assert place(beam) == (1, 0)


def test_a_note_alone_moves_nothing(entries, board, stud):
    conversion = convert(entries, board, stud, "10 pieces")
    # What is noted on hand since is not what that conversion took.
    entries.left_over(board, "2 pieces", Fate.ON_HAND, noted_on=LATER)
    before = place(board)
    count = Change.objects.filter(record_type="left over").count()
    convert(entries, board, stud, "10 pieces", conversion, note="Cut on the bench.")
    assert place(board) == before
    assert Change.objects.filter(record_type="left over").count() == count


def test_an_earlier_day_still_finds_what_was_taken(entries, board, stud):
    conversion = convert(entries, board, stud, "5 pieces", on=LATER)
    convert(entries, board, stud, "5 pieces", conversion, on=DAY)
    assert place(board) == (BUILT, 2)


def test_undoing_each_way(entries, board, stud):
    conversion = convert(entries, board, stud, "5 pieces")
    convert(entries, board, stud, "3 pieces", conversion)
    undo(entries, "conversion")
    assert place(board) == (BUILT, 2)
    delete_record(**entries.by, record=conversion)
    assert place(board) == (BUILT, 7)
    undo(entries, "conversion")
    assert place(board) == (BUILT, 2)
    assert Conversion.objects.get().hand_text == "5 pieces"
    undo(entries, "conversion")
    assert place(board) == (BUILT, 7)
    assert not Conversion.objects.exists()


def test_undoing_that_the_heap_no_longer_allows_is_refused(entries, board, stud):
    conversion = convert(entries, board, stud, "5 pieces")
    delete_record(**entries.by, record=conversion)
    change = last_change("conversion")
    take_stock(**entries.by, counts=[(board, "1 piece")], counted_on=LATER)
    with pytest.raises(LedgerError, match="Only 1 piece of Board is on hand, not 5"):
        undo_change(**entries.by, change=change)
    assert place(board) == (F(372, 10), 1)


@pytest.mark.parametrize("fate", [Fate.SOLD, Fate.GIVEN_AWAY, Fate.SCRAPPED, Fate.MOVED])
def test_what_goes_is_taken_from_the_heap(fate, entries, board):
    row = let_go(entries, board, "5 pieces", fate)
    assert place(board) == (BUILT, 2)
    let_go(entries, board, "6 pieces", fate, row)
    assert place(board) == (BUILT, 1)
    undo(entries, "left over")
    assert place(board) == (BUILT, 2)
    delete_record(**entries.by, record=LeftOver.objects.get(pk=row.pk))
    assert place(board) == (BUILT, 7)
    undo(entries, "left over")
    assert place(board) == (BUILT, 2)


def test_a_heap_adds_up_whatever_is_said(entries, board):
    let_go(entries, board, "2 pieces", Fate.ON_HAND)
    assert place(board) == (BUILT - 2, 9)


def test_a_heap_that_is_sold_takes_from_no_other(entries, board):
    entry = entries.left_over(board, "3 pieces", Fate.ON_HAND)
    let_go(entries, board, "3 pieces", Fate.SOLD, entry)
    assert place(board) == (BUILT - 3, 7)
    undo(entries, "left over")
    assert place(board) == (BUILT - 3, 10)


def test_what_was_sold_comes_back_as_a_heap_once(entries, board):
    row = let_go(entries, board, "5 pieces")
    let_go(entries, board, "5 pieces", Fate.ON_HAND, row)
    assert place(board) == (BUILT, 7)
    undo(entries, "left over")
    assert place(board) == (BUILT, 2)


def test_a_new_unit_that_what_was_taken_cannot_follow_is_refused(entries, board, stud):
    convert(entries, board, stud, "160 ft")
    assert place(board) == (BUILT - 3, 0)
    with pytest.raises(LedgerError, match="no longer fits"):
        entries.change(board, unit="ft", contents="")


@pytest.mark.parametrize(
    ("used", "from_stock", "expected"),
    [
        ("5 pieces", True, (7, 5, 2, 0, F(382, 10), "")),
        ("10 pieces", True, (7, 7, 0, 3, F(382, 10), "")),
        ("5 pieces", False, (7, 0, 7, 5, BUILT, "")),
        ("32 pieces", False, (7, 0, 7, 32, BUILT, "31.2 pieces can be worked up")),
    ],
)
def test_the_preview_names_the_heap(used, from_stock, expected, board, stud):
    shown = look(board, stud, used, from_stock)
    result = (
        shown.on_hand,
        shown.from_stock,
        shown.left_on_hand,
        shown.from_building,
        shown.available,
    )
    assert result == expected[:5]
    assert expected[5] in shown.refusal
    assert bool(expected[5]) == bool(shown.refusal)


def test_the_preview_of_a_change_has_back_what_was_taken(entries, board, stud):
    saved = convert(entries, board, stud, "10 pieces")
    shown = look(board, stud, "4 pieces", True, withdrawal_of(saved))
    assert (shown.on_hand, shown.from_stock, shown.left_on_hand, shown.available) == (
        7,
        4,
        3,
        F(382, 10),
    )
    shown = look(board, stud, "4 pieces", False, withdrawal_of(saved))
    assert (shown.on_hand, shown.from_stock, shown.available) == (7, 0, BUILT)


def look(board, stud, used, from_stock, already=None):
    typed = Conversion(
        build=board.build, source=board, used_text=used, converted_on=LATER,
        extra_cost_amount=D(0), hours=D(0),
    )  # fmt: skip
    made = [ConversionOutput(component=stud, made_text="4 pieces")]
    return preview_conversion(board.build, typed, made, LATER, already, from_stock)


def test_a_count_of_several_things_is_undone_as_one(entries, board, stud):
    entries.purchase("P3", line(stud, "9 pieces", unit_price=D(1)), bought_on=BEFORE)
    before = place(board), place(stud)
    counts = [(board, "0 pieces"), (stud, "4 pieces")]
    act = take_stock(**entries.by, counts=counts, counted_on=LATER)
    assert act.change.summary == "Stock counted: 2 components"
    assert (place(board), place(stud)) == ((F(382, 10), F(0)), (F(5), F(4)))
    undo_change(**entries.by, change=act.change)
    assert (place(board), place(stud)) == before
