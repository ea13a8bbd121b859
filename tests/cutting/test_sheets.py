"""Plans of sheets and of ripped boards: typed, kept, taken, undone, begun from what there is."""

from decimal import Decimal
from fractions import Fraction as F

import pytest
from django.urls import reverse

from materials.choices import Fate
from materials.cutting.queries.board_sources import board_sources
from materials.cutting.queries.plans import get_plan
from materials.cutting.queries.starting_rows import starting_rows
from materials.cutting.queries.starting_sheets import size_of
from materials.cutting.queries.uses import read_any
from materials.cutting.services import take_plan
from materials.models import Change, Conversion, CuttingMethod, CuttingPlan, LeftOver
from materials.queries.on_hand import on_hand
from materials.services.records import undo_change
from tests.entries import DAY, line, panel, sized

pytestmark = pytest.mark.django_db


@pytest.fixture
def ply(entries):
    """Three sheets of 8 ft by 4 ft at 22, and a remnant on hand."""
    found = entries.component("Shuttering ply", contents="1 piece = 32 sq ft")
    entries.purchase("P1", line(found, "3 @ 8 ft x 4 ft", line_price_amount=Decimal(66)))
    entries.left_over(found, "1 @ 4 ft x 3 ft", Fate.ON_HAND)
    return found


@pytest.fixture
def shelf(entries):
    return entries.component("Shelf panel", contents="1 piece = 3 sq ft")


def taken(entries, plan):
    return take_plan(**entries.by, plan=plan, taken_on=DAY)


def test_remnants_on_hand_go_first_and_new_ones_stay(entries, build, ply, shelf):
    """A sheet holds ten panels of 23 in by 17 in, five by two; the remnant holds four."""
    wanted = [panel("23 in", "17 in", 13, shelf, may_turn=True)]
    plan = entries.sheet_plan("Shelves", ply, shelf, needs=wanted)
    shown = read_any(get_plan(build, plan.pk), str)
    counts: dict[int, int] = {}
    for cut in shown.plan.cuts:
        counts[cut.sheet] = counts.get(cut.sheet, 0) + dict(cut.pieces)[0] * cut.count
    assert sum(counts.values()) == 13
    assert set(counts) == {0, 1}
    assert (shown.plan.cost, shown.plan.proved) == (22, True)
    made = taken(entries, plan)
    outputs = [str(output) for each in made for output in each.outputs.all()]
    assert sum(int(text.split()[0]) for text in outputs) == 13
    # What was used is what became panels, saw cuts and waste: 44 sq ft less the remnants.
    area = sum(F(each.used_qty) for each in made) * 32
    remnants = sum(
        box.wide * box.tall * cut.count
        for cut in shown.plan.cuts
        for box in cut.boxes
        if box.kind == "remnant"
    )
    foot = F(3048, 10000) ** 2
    used = shown.plan.used / foot
    assert abs(area - (used - remnants / foot)) < F(1, 1000)
    # They begin the next plan.
    noted = LeftOver.objects.filter(component=ply, note="Off-cuts of Shelves").count()
    assert noted == len({size for _, size in shown.off_cuts}) > 0
    found = starting_rows(ply)
    assert len(found["hand"]) >= noted
    assert found["buy"][0] == {
        "length_text": "8 ft", "width_text": "4 ft", "price": Decimal("22.0000")
    }  # fmt: skip


def test_undone_as_one(entries, build, ply, shelf):
    plan = entries.sheet_plan("Shelves", ply, shelf)
    before = on_hand(ply)
    taken(entries, plan)
    undo_change(**entries.by, change=Change.objects.get(action="taken"))
    assert not Conversion.objects.exists()
    assert on_hand(ply) == before
    assert CuttingPlan.objects.get().taken_on is None


def test_ripped_boards_are_boards_by_length(entries, build):
    boards = entries.component("Floorboard", contents="1 piece = 12 ft")
    battens = entries.component("Batten", contents="1 piece = 5 ft")
    entries.purchase("P1", line(boards, "4 @ 12 ft", line_price_amount=Decimal(20)))
    entries.left_over(boards, "2 @ 12 ft", Fate.ON_HAND)
    plan = entries.sheet_plan(
        "Battens",
        boards,
        battens,
        method=CuttingMethod.RIPPED,
        keep_text="1 in",
        hand=[sized("12 ft", "7-1/4 in", count=2, trim_text="")],
        buy=[],
        needs=[panel("5 ft", "1-1/2 in", 12, battens)],
    )
    shown = read_any(get_plan(build, plan.pk), str)
    # Four strips of 1-1/2 in with three cuts of 1/8 in: two battens of each strip, eight a board.
    assert sum(cut.count for cut in shown.plan.cuts) == 2
    (row,) = board_sources(get_plan(build, plan.pk), shown, DAY)
    assert (row.count, row.on_hand, row.built_in) == (2, 2, 0)
    (made,) = taken(entries, plan)
    assert (made.used_text, [str(o) for o in made.outputs.all()]) == (
        "2 @ 12 ft", ["12 @ 5 ft Batten"]
    )  # fmt: skip


def typed(component, **changed):
    """What the browser sends of a plan of sheets."""
    sent = {
        "name": "Panels", "component": component.pk, "planned_on": "2026-05-04", "note": "",
        "kerf_text": "1/8 in", "keep_text": "", "method": "sheets",
        "hand-TOTAL_FORMS": "1", "hand-INITIAL_FORMS": "0",
        "buy-TOTAL_FORMS": "1", "buy-INITIAL_FORMS": "0",
        "buy-0-length_text": "8 ft", "buy-0-width_text": "4 ft", "buy-0-price": "22",
        "needs-TOTAL_FORMS": "1", "needs-INITIAL_FORMS": "0",
        "needs-0-length_text": "2 ft", "needs-0-width_text": "18 in", "needs-0-count": "6",
    }  # fmt: skip
    return sent | changed


def test_the_page_shows_drawing_cuts_and_what_to_buy(clients, build, ply):
    address = reverse("cutting_plan_add", args=[build.pk])
    kept = clients["owner"].post(address, typed(ply), follow=True)
    page = kept.content.decode()
    assert CuttingPlan.objects.get().method == CuttingMethod.SHEETS
    for part in (
        "Proved: no plan costs less", "Still to buy", "Remnants to keep", "<polygon", ">A6<",
        "8 ft by 4 ft, ", "Support both parts of every cut",
    ):  # fmt: skip
        assert part in page, part


@pytest.mark.parametrize(
    ("changed", "said"),
    [
        ({"buy-0-width_text": ""}, "Enter the width too"),
        ({"needs-0-width_text": ""}, "Enter the width too"),
        ({"needs-0-width_text": "5 ft"}, "fits on no sheet there is"),
        ({"needs-0-length_text": "3 ft", "needs-0-width_text": "7 ft"}, "It would, turned"),
        ({"needs-0-is_triangle": "on", "needs-0-corner_text": "3 ft"}, "enter the longest side"),
        ({"method": "torn"}, "Select a valid choice"),
        ({"buy-0-trim_text": "2 ft"}, "leave nothing of it"),
        ({"buy-0-trim_text": "1/16 in"}, "less than one saw cut"),
        ({"buy-0-most": "1", "needs-0-count": "40"}, "do not yield all pieces"),
    ],
)
def test_a_fault_says_what_to_do_and_loses_nothing(clients, build, ply, changed, said):
    address = reverse("cutting_plan_add", args=[build.pk])
    answer = clients["owner"].post(address, typed(ply, note="for the loft") | changed)
    page = answer.content.decode()
    assert answer.status_code == 422
    assert said in page.replace("&#x27;", "'")
    assert "for the loft" in page
    assert not CuttingPlan.objects.exists()


def test_triangles_that_a_page_asks_for_stand_in_the_form(clients, build):
    address = reverse("cutting_plan_add", args=[build.pk])
    pieces = ["47.25 in|40.9375 in|30|23.625 in", "nonsense", "a|b|c|d", "1 ft|1 ft|999999|0"]
    page = clients["owner"].get(address, {"piece": pieces}).content.decode()
    assert 'value="40.9375 in"' in page
    assert "nonsense" not in page
    assert '<option value="sheets" selected' in page


@pytest.mark.parametrize(
    ("text", "sides", "count"),
    [
        ("3 @ 8 ft x 4 ft", (8, 4), 3),
        ("3 @ 4x8 ft", (8, 4), 3),
        ("16 @ 4x8 sheets", (8, 4), 16),
        ("1 @ 23.75 in x 48 in", (4, F(95, 48)), 1),
    ],
)
def test_both_sides_of_what_is_on_hand_are_read(text, sides, count):
    foot = F(3048, 10000)
    found = size_of(text)
    assert (tuple(side / foot for side in found[0]), found[1]) == (sides, count)


@pytest.mark.parametrize(
    "text", ["3 pieces", "2 @ 12 ft", "3 @ 2x8x12", "96 sq ft", "1 @ 0 x 4 ft"]
)
def test_what_says_no_two_sides(text):
    assert size_of(text) is None
