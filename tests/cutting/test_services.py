"""Cutting plans: kept, taken once, undone as one."""

from decimal import Decimal
from fractions import Fraction

import pytest
from django.utils import timezone

from materials.choices import Fate
from materials.cutting.queries.board_sources import board_sources
from materials.cutting.queries.plans import get_plan, read_stored
from materials.cutting.queries.starting_rows import starting_rows
from materials.cutting.services import save_plan, take_plan
from materials.models import Change, Conversion, CuttingPlan, LeftOver
from materials.queries.on_hand import on_hand
from materials.queries.reports import get_cost_sheet
from materials.queries.transfers import position_of
from materials.services.errors import LedgerError
from materials.services.records import delete_record, undo_change
from tests.entries import DAY, line

pytestmark = pytest.mark.django_db


@pytest.fixture
def boards(entries):
    return entries.component("Board", contents="1 piece = 16 ft")


@pytest.fixture
def rungs(entries):
    return entries.component("Rung", contents="1 piece = 7 ft")


@pytest.fixture
def stocked(entries, boards):
    """Ten boards at 6.00, six of them on hand."""
    entries.purchase("P1", line(boards, "10 @ 16 ft", unit_price=Decimal(6)))
    entries.left_over(boards, "6 @ 16 ft", Fate.ON_HAND)


def take(entries, plan):
    return take_plan(**entries.by, plan=plan, taken_on=DAY)


def average(build, component):
    sheet = get_cost_sheet(build, timezone.localdate())
    row = next(r for r in sheet.components if r.position.component.key == component.pk)
    return row.position.average


def test_taking_logs_what_was_cut_and_keeps_off_cuts(entries, build, boards, rungs, stocked):
    # Two boards of 16 ft give two pieces of 7 ft each and an off-cut of 2 ft less two saw cuts.
    plan = entries.cutting_plan("Cuts", boards, rungs)
    (made,) = take(entries, plan)
    off_cut = Fraction(2) - Fraction(2, 96)
    assert made.used_qty == Decimal("1.752604")
    assert [str(output) for output in made.outputs.all()] == ["4 @ 7 ft Rung"]
    texts = sorted(entry.quantity_text for entry in LeftOver.objects.filter(component=boards))
    assert "2 @ 23.75 in" in texts
    # What was on hand and is not in pieces now is on hand still.
    assert on_hand(boards) == pytest.approx(Decimal(6) - made.used_qty)
    # 32 ft less two off-cuts, at 6.00 for 16 ft, in four pieces.
    cost = (32 - 2 * off_cut) * Fraction(6, 16) / 4
    assert abs(average(build, rungs) - cost) < Fraction(1, 10**5)
    plan.refresh_from_db()
    assert plan.taken_on == DAY


def test_once_only(entries, boards, rungs, stocked):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    take(entries, plan)
    with pytest.raises(LedgerError, match="took this plan already"):
        take(entries, plan)
    plan.refresh_from_db()
    with pytest.raises(LedgerError, match="took this plan already"):
        save_plan(
            **entries.by, plan=plan, values={"note": "x"}, hand=[], buy=[], needs=[], result={}
        )
    assert Conversion.objects.count() == 1


def test_undone_as_one(entries, build, boards, rungs, stocked):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    before = on_hand(boards)
    take(entries, plan)
    change = Change.objects.get(action="taken")
    undo_change(**entries.by, change=change)
    assert not Conversion.objects.exists()
    assert on_hand(boards) == before
    plan.refresh_from_db()
    assert (plan.taken_on, plan.taken.count()) == (None, 0)
    # It can be taken anew, but what is gone does not come back by undoing the undoing.
    undone = Change.objects.filter(action="undone", record_type="cutting plan").first()
    with pytest.raises(LedgerError):
        undo_change(**entries.by, change=undone)
    assert len(take(entries, plan)) == 1


def test_off_cuts_of_boards_that_were_bought_go_with_the_undoing(entries, build, boards, rungs):
    entries.purchase("P1", line(boards, "2 @ 16 ft", unit_price=Decimal(6)))
    buy = [{"length_text": "16 ft", "price": Decimal(6), "most": None, "trim_text": ""}]
    plan = entries.cutting_plan("Cuts", boards, rungs, hand=[], buy=buy)
    take(entries, plan)
    assert [entry.quantity_text for entry in LeftOver.objects.all()] == ["2 @ 23.75 in"]
    undo_change(**entries.by, change=Change.objects.get(action="taken"))
    assert not LeftOver.objects.exists()


def test_all_or_nothing_where_there_are_not_that_many(entries, boards, rungs):
    entries.purchase("P1", line(boards, "1 @ 16 ft", unit_price=Decimal(6)))
    plan = entries.cutting_plan("Cuts", boards, rungs)
    with pytest.raises(LedgerError):
        take(entries, plan)
    assert not Conversion.objects.exists()
    plan.refresh_from_db()
    assert plan.taken_on is None


def test_pieces_without_a_component_are_named(entries, boards, stocked):
    plan = entries.cutting_plan("Cuts", boards, None)
    with pytest.raises(LedgerError, match="pieces of 7 ft become"):
        take(entries, plan)


def test_a_stored_plan_reads_back_and_a_damaged_one_is_none(entries, build, boards, rungs):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    shown = read_stored(get_plan(build, plan.pk), str)
    assert (shown.plan.boards, shown.waste, shown.plan.proved) == (2, "4 ft", True)
    for damage in ({}, {"cuts": 3}, plan.result | {"cuts": []}, plan.result | {"used": "x"}, []):
        CuttingPlan.objects.update(result=damage)
        assert read_stored(get_plan(build, plan.pk), str) is None


def test_a_plan_that_was_deleted_comes_back_with_its_rows(entries, build, boards, rungs):
    plan = entries.cutting_plan("Cuts", boards, rungs)
    delete_record(**entries.by, record=plan)
    assert not CuttingPlan.objects.exists()
    undo_change(**entries.by, change=Change.objects.filter(action="deleted").first())
    again = CuttingPlan.objects.get()
    assert (again.hand.count(), again.needs.get().component) == (1, rungs)


def test_what_the_ledger_knows_begins_a_plan(entries, boards, stocked):
    entries.left_over(boards, "1 @ 9 ft 4 in", Fate.ON_HAND)
    entries.left_over(boards, "30 ft", Fate.ON_HAND)
    entries.price(boards, "11.20")
    known = starting_rows(boards)
    assert known["hand"] == [
        {"length_text": "16 ft", "count": 6},
        {"length_text": "9 ft 4 in", "count": 1},
    ]
    assert known["buy"] == [{"length_text": "16 ft", "price": Decimal("11.2000")}]
    assert "30 ft" in known["notes"][0]


def test_without_heaps_it_begins_with_what_came_in(entries, boards):
    entries.purchase("P1", line(boards, "3 @ 12 ft", line_price_amount=Decimal(27)))
    known = starting_rows(boards)
    assert known["hand"] == [{"length_text": "12 ft", "count": 3}]
    assert known["buy"] == [{"length_text": "12 ft", "price": Decimal("9.0000")}]
    assert "Take out what is built in" in known["notes"][0]


def test_it_begins_with_no_more_than_whole_boards_of_what_is_usable(entries, build, boards):
    """42 came in and 3.8 were scrapped: 38.2 are usable, so 38 whole ones."""
    entries.purchase("P1", line(boards, "42 @ 16 ft", line_price_amount=Decimal(84)))
    entries.left_over(boards, "3.8 pieces", Fate.SCRAPPED)
    known = starting_rows(boards)
    assert known["hand"] == [{"length_text": "16 ft", "count": 38}]
    assert "38.2 pieces" in known["notes"][0]
    entries.left_over(boards, "38 pieces", Fate.SCRAPPED)
    assert starting_rows(boards)["hand"] == []


def test_longer_boards_come_first_among_what_is_usable(entries, build, boards):
    entries.purchase("P1", line(boards, "3 @ 16 ft", line_price_amount=Decimal(9)))
    entries.purchase("P2", line(boards, "4 @ 8 ft", line_price_amount=Decimal(9)))
    entries.left_over(boards, "1.2 pieces", Fate.SCRAPPED)
    assert starting_rows(boards)["hand"] == [
        {"length_text": "16 ft", "count": 3},
        {"length_text": "8 ft", "count": 1},
    ]


def test_off_cuts_of_one_length_stay_when_another_is_cut(entries, boards, rungs):
    """Boards of 16 and of 9 ft, both on hand: the second takes nothing of the first's off-cuts."""
    entries.purchase("P1", line(boards, "10 @ 16 ft", unit_price=Decimal(6)))
    entries.left_over(boards, "2 @ 16 ft", Fate.ON_HAND)
    entries.left_over(boards, "3 @ 9 ft", Fate.ON_HAND)
    hand = [
        {"length_text": "16 ft", "count": 1, "trim_text": ""},
        {"length_text": "9 ft", "count": 3, "trim_text": ""},
    ]
    plan = entries.cutting_plan("Cuts", boards, rungs, hand=hand)
    before = on_hand(boards)
    made = take(entries, plan)
    assert len(made) == 2
    texts = [entry.quantity_text for entry in LeftOver.objects.filter(component=boards)]
    kept = {text for text in texts if text.endswith(" in")}
    assert kept == {"1 @ 23.75 in", "2 @ 23.875 in"}
    assert on_hand(boards) == pytest.approx(before - sum(each.used_qty for each in made))


def test_where_the_boards_come_from_is_what_taking_does(entries, build, boards, rungs):
    """Half a board lies there and two are cut: one and a half come out of the building."""
    entries.purchase("P1", line(boards, "10 @ 16 ft", unit_price=Decimal(6)))
    entries.left_over(boards, "0.5 pieces", Fate.ON_HAND)
    plan = entries.cutting_plan("Cuts", boards, rungs)
    shown = read_stored(get_plan(build, plan.pk), str)
    (row,) = board_sources(plan, shown, DAY)
    assert (row.on_hand, row.built_in) == (Fraction(1, 2), Fraction(3, 2))
    assert row.sentence == (
        "2 × 16 ft: 0.5 from what is on hand, 1.5 from what counts as built in."
    )
    before = position_of(boards, DAY).in_building
    take(entries, plan)
    assert position_of(boards, DAY).in_building == before - Fraction(3, 2)
    entries.left_over(boards, "5 pieces", Fate.ON_HAND)
    (row,) = board_sources(plan, shown, DAY)
    assert row.sentence == "2 × 16 ft: from what is on hand."
