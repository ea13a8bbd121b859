"""Moving between builds: both sides at once, worked by hand, by those who may edit both.

The worked case: 20 boards at 3.00 come to 60.00. 8 lie on hand; 5 of them go to a second build
at 15.00. Here 12 boards are built in at 36.00 and 3 lie on hand at 9.00; there 5 hold 15.00.
"""

from decimal import Decimal as D

import pytest

from materials.access import NotAllowed
from materials.choices import Fate, Role
from materials.models import Change, Component, LeftOver, Member, Move, PurchaseLine
from materials.queries.checks import find_differences
from materials.queries.history import list_differences
from materials.queries.progress import list_area_costs
from materials.queries.reports import get_cost_sheet
from materials.services.builds import create_build, save_build
from materials.services.components import save_component
from materials.services.errors import LedgerError
from materials.services.records import delete_record, undo_change
from materials.services.transfers import delete_transfer, save_transfer
from tests.entries import DAY, Entries, line

pytestmark = pytest.mark.django_db


@pytest.fixture
def board(entries) -> Component:
    """20 boards at 3.00, 8 of them on hand in two entries."""
    board = entries.component("Board", contents="1 piece = 16 ft")
    entries.purchase("P1", line(board, "20 pieces", unit_price=D(3)))
    entries.left_over(board, "3 pieces", Fate.ON_HAND)
    entries.left_over(board, "5 pieces", Fate.ON_HAND)
    return board


@pytest.fixture
def there(cast, second) -> Entries:
    """Writes into the second build."""
    return Entries(cast["owner"], second)


def figures(build, name: str = "Board"):
    """In the building, on hand, material cost of a component."""
    sheet = get_cost_sheet(build, DAY)
    place = next(r.position for r in sheet.components if r.position.component.name == name)
    return place.in_building, place.component.on_hand, place.cost


def entries_on_hand(component) -> list[str]:
    rows = LeftOver.objects.filter(component=component, fate=Fate.ON_HAND)
    return sorted(rows.values_list("quantity_text", flat=True))


def no_differences(*builds) -> bool:
    return [text for build in builds for text in find_differences(build)] == []


def test_both_sides_of_a_move(entries, there, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    assert (transfer.value_amount, transfer.to_text, transfer.to_qty) == (15, "5 pieces", 5)
    assert figures(entries.build) == (12, 3, 36)
    assert figures(second) == (5, 0, 15)
    assert get_cost_sheet(second, DAY).spent == 0
    assert get_cost_sheet(entries.build, DAY).spent == 60
    made = transfer.to_component
    assert (made.build, made.unit, made.contents) == (second, "piece", "1 piece = 16 ft")
    assert no_differences(entries.build, second)


def test_what_counts_as_built_in_can_be_moved_and_leaves_the_heaps_alone(entries, board, second):
    entries.transfer(board, "2 pieces", second)
    assert figures(entries.build) == (10, 8, 30)
    assert entries_on_hand(board) == ["3 pieces", "5 pieces"]


def test_heaps_are_lowered_newest_first(entries, board, second):
    entries.transfer(board, "6 pieces", second, on_hand=True)
    assert entries_on_hand(board) == ["2 pieces"]
    entries.transfer(board, "32 ft", second, on_hand=True)
    assert entries_on_hand(board) == []


def test_not_more_than_lies_on_hand_nor_than_is_there(entries, board, second):
    with pytest.raises(LedgerError, match="Only 8 pieces of Board are on hand, not 9 pieces"):
        entries.transfer(board, "9 pieces", second, on_hand=True)
    with pytest.raises(LedgerError, match="more Board than there is"):
        entries.transfer(board, "13 pieces", second)
    assert not Move.objects.exists()
    assert not second.components.exists(), "what was made for it went with it"
    assert not Change.objects.filter(build=second).exists()


def test_the_value_stays_though_prices_change_until_it_is_asked_for_again(entries, board, second):
    """Twenty more at 1.00: the average falls to 2.00, and 5 x 3.00 stays what was moved."""
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    entries.purchase("P2", line(board, "20 pieces", unit_price=D(1)))
    assert figures(entries.build) == (32, 3, 80 - 15 - 6)
    assert figures(second) == (5, 0, 15)
    values = {"moved_on": DAY, "component": board, "quantity_text": "5 pieces", "note": "later"}
    values |= {"was_on_hand": True, "to_component": transfer.to_component}
    transfer = save_transfer(**entries.by, transfer=transfer, values=values, to_build=second)
    assert (transfer.value_amount, transfer.note) == (15, "later")
    transfer = save_transfer(
        **entries.by, transfer=transfer, values=values, to_build=second, value_again=True
    )
    assert transfer.value_amount == 10
    assert figures(entries.build) == (32, 3, 80 - 10 - 6)
    assert figures(second) == (5, 0, 10)


def test_another_quantity_is_worth_its_own(entries, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    values = {"moved_on": DAY, "component": board, "quantity_text": "7 pieces", "note": ""}
    values |= {"was_on_hand": True, "to_component": transfer.to_component}
    save_transfer(**entries.by, transfer=transfer, values=values, to_build=second)
    assert (figures(entries.build), figures(second)) == ((12, 1, 36), (7, 0, 21))
    assert no_differences(entries.build, second)


def test_a_cost_that_is_not_known_is_known_on_neither_side(entries, second):
    sash = entries.component("Sash")
    purchase = entries.purchase("P1", line(sash, "4 pieces"))
    transfer = entries.transfer(sash, "2 pieces", second)
    assert transfer.value_amount is None
    assert figures(entries.build, "Sash") == (2, 0, None)
    assert figures(second, "Sash") == (2, 0, None)
    assert get_cost_sheet(second, DAY).unknown_transfers == 1
    # The price turns up: here the average counts, there nobody has said so yet.
    purchase.lines.update(unit_price=D(5))
    entries.change(sash, unit="piece", contents="1 piece = 2 ft", name="Sash")
    assert PurchaseLine.objects.get().landed_amount == 20
    assert figures(entries.build, "Sash") == (2, 0, 10)
    assert figures(second, "Sash") == (2, 0, None)


def test_free_material_goes_free(entries, second):
    sash = entries.component("Sash")
    entries.purchase("P1", line(sash, "4 pieces", line_price_amount=D(0)))
    assert entries.transfer(sash, "2 pieces", second).value_amount == 0
    assert figures(second, "Sash") == (2, 0, 0)


def test_to_another_unit_through_the_contents(entries, there, board, second):
    strip = there.component("Strip", "ft")
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True, to_component=strip)
    assert (transfer.to_text, transfer.to_qty) == ("80 ft", 80)
    assert figures(second, "Strip") == (80, 0, 15)
    paint = there.component("Paint", "gal")
    with pytest.raises(LedgerError, match="say in the component's contents") as refused:
        entries.transfer(board, "1 piece", second, to_component=paint)
    assert refused.value.field == "quantity_text"


def test_each_side_is_worked_out_again_by_itself(entries, there, board, second):
    strip = there.component("Strip", "ft", contents="1 piece = 8 ft")
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True, to_component=strip)
    save_component(**entries.by, component=board, values={"contents": "1 piece = 12 ft"})
    save_component(**there.by, component=strip, values={"unit": "piece"})
    transfer.refresh_from_db()
    assert (transfer.base_qty, transfer.to_qty) == (5, 10)
    with pytest.raises(LedgerError, match="The move of 2026-05-04 no longer fits"):
        save_component(**there.by, component=strip, values={"unit": "gal"})
    assert no_differences(entries.build, second)


def test_another_currency_is_refused_in_a_sentence(entries, board, cast, second):
    foreign = create_build(actor=cast["owner"], values={"name": "Alm", "currency": "EUR"})
    with pytest.raises(LedgerError, match="kept in USD and Alm in EUR"):
        entries.transfer(board, "1 piece", foreign)
    entries.transfer(board, "1 piece", second)
    with pytest.raises(LedgerError, match="both keep one currency"):
        save_build(actor=cast["owner"], build=second, values={"currency": "EUR"})
    with pytest.raises(LedgerError, match="different build"):
        entries.transfer(board, "1 piece", entries.build)


def test_undoing_and_deleting_take_back_both_sides(entries, board, second):
    before = figures(entries.build)
    for take_back in ("delete", "undo here", "undo there"):
        transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
        if take_back == "delete":
            delete_record(**entries.by, record=transfer)
        else:
            build = entries.build if take_back == "undo here" else second
            change = Change.objects.filter(build=build, record_type="move").first()
            undo_change(actor=entries.actor, build=build, change=change)
        assert figures(entries.build) == before, take_back
        assert figures(second) == (0, 0, 0)
        latest = [
            Change.objects.filter(build=build, record_type="move").first().action
            for build in (entries.build, second)
        ]
        assert latest == ["deleted", "deleted"]
    assert no_differences(entries.build, second)


def test_what_was_deleted_comes_back_on_both_sides(entries, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    delete_transfer(actor=entries.actor, transfer=transfer)
    change = Change.objects.filter(build=second, record_type="move").first()
    undo_change(actor=entries.actor, build=second, change=change)
    assert (figures(entries.build), figures(second)) == ((12, 3, 36), (5, 0, 15))
    twin = Change.objects.filter(build=entries.build, record_type="move", action="deleted").first()
    with pytest.raises(LedgerError, match="changed again since"):
        undo_change(actor=entries.actor, build=entries.build, change=twin)


def test_a_change_is_undone_with_its_heaps(entries, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    values = {"moved_on": DAY, "component": board, "quantity_text": "8 pieces", "note": ""}
    values |= {"was_on_hand": True, "to_component": transfer.to_component}
    save_transfer(**entries.by, transfer=transfer, values=values, to_build=second)
    assert (figures(entries.build), figures(second)) == ((12, 0, 36), (8, 0, 24))
    change = Change.objects.filter(build=second, record_type="move").first()
    undo_change(actor=entries.actor, build=second, change=change)
    assert (figures(entries.build), figures(second)) == ((12, 3, 36), (5, 0, 15))


def test_what_is_used_over_there_cannot_be_taken_back(entries, there, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    there.left_over(transfer.to_component, "4 pieces")
    with pytest.raises(LedgerError, match="more Board than there is"):
        delete_transfer(actor=entries.actor, transfer=transfer)
    assert Move.objects.filter(pk=transfer.pk).exists()
    assert figures(entries.build) == (12, 3, 36)


def test_one_entry_in_each_history_and_neither_names_the_other(entries, board, second):
    entries.transfer(board, "5 pieces", second, on_hand=True)
    here = Change.objects.get(build=entries.build, record_type="move")
    there = Change.objects.get(build=second, record_type="move")
    assert here.summary == "5 pieces Board moved out"
    assert there.summary == "5 pieces Board moved in"
    board.name = "Secret larch"
    board.save()
    shown = str(list_differences(there))
    assert "Secret larch" not in shown
    assert second.name not in str(list_differences(here))
    assert "15" in shown


@pytest.mark.parametrize("role", [Role.VIEWER, None])
@pytest.mark.parametrize("side", ["here", "there"])
def test_rights_on_both_builds_are_needed(role, side, entries, board, second, cast):
    """A co-builder here who may only read there (or not even that), and the other way round."""
    hand = cast["stranger"]
    allowed, other = (entries.build, second) if side == "here" else (second, entries.build)
    Member.objects.create(build=allowed, user=hand, role=Role.CO_BUILDER)
    if role:
        Member.objects.create(build=other, user=hand, role=role)
    as_hand = Entries(hand, entries.build)
    with pytest.raises(NotAllowed):
        as_hand.transfer(board, "1 piece", second)
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    with pytest.raises(NotAllowed):
        delete_transfer(actor=hand, transfer=transfer)
    change = Change.objects.filter(build=allowed, record_type="move").first()
    with pytest.raises(NotAllowed):
        undo_change(actor=hand, build=allowed, change=change)
    deleted = entries.transfer(board, "1 piece", second)
    delete_transfer(actor=entries.actor, transfer=deleted)
    change = Change.objects.filter(build=allowed, record_type="move").first()
    with pytest.raises(NotAllowed):
        undo_change(actor=hand, build=allowed, change=change)
    assert figures(second) == (5, 0, 15)


def test_to_and_fro_is_no_circle(entries, there, board, second):
    """Five go at 15.00, two of them come back at 6.00: 51.00 here, 9.00 there, 60.00 in all."""
    transfer = entries.transfer(board, "5 pieces", second)
    back = there.transfer(transfer.to_component, "2 pieces", entries.build)
    assert back.to_component == board
    assert (back.value_amount, figures(second)) == (6, (3, 0, 9))
    # 66.00 for 22 boards in all that came in; 8 of them on hand at 3.00.
    assert figures(entries.build) == (9, 8, 27)
    assert no_differences(entries.build, second)


def test_cost_per_area_of_many_builds_follows_moves(entries, board, second):
    entries.transfer(board, "5 pieces", second, on_hand=True)
    costs = {row.build.name: row.cost for row in list_area_costs([entries.build, second])}
    assert costs == {"Hill shed": 36, "Tool house": 15}


def test_what_came_in_can_be_used_and_worked_up(entries, there, board, second):
    transfer = entries.transfer(board, "5 pieces", second, on_hand=True)
    stud = there.component("Stud", contents="1 piece = 8 ft")
    there.conversion("C1", transfer.to_component, "2 pieces", (stud, "4 pieces"))
    assert figures(second, "Stud") == (4, 0, 6)
    with pytest.raises(LedgerError, match="more Board than there is"):
        there.left_over(transfer.to_component, "4 pieces")


def test_a_stored_figure_that_is_wrong_is_told(entries, board, second):
    entries.transfer(board, "5 pieces", second)
    Move.objects.update(base_qty=D(4), to_qty=D(6))
    found = list(find_differences(entries.build)) + list(find_differences(second))
    assert [text for text in found if "transfer" in text] == [
        "transfer out of Board on 2026-05-04: stored 4.000000, worked out 5.000000.",
        "transfer into Board on 2026-05-04: stored 6.000000, worked out 5.000000.",
    ]
    Move.objects.update(base_qty=D(5), to_qty=D(5))
    second.currency = "EUR"
    second.save()
    assert any("is kept in EUR" in text for text in find_differences(entries.build))
