"""How far an earlier build is; all numbers are our own and worked by hand."""

from dataclasses import replace

import pytest

from materials.calc.progress.hours import TaskPlan
from materials.calc.types import ElementInput, TaskInput
from materials.estimates.calc.estimate import estimate
from materials.estimates.calc.how_far import ELEMENTS, HOURS, HowFar, how_far
from materials.estimates.calc.types import PastBuild, Spread, StatedPart
from tests.calc.builders import F, labour, part, sheet

FRAME = ElementInput("frame", "B10", "Superstructure")
ROOF = ElementInput("roof", "B30", "Roofing")
TASKS = (TaskInput("raise", "Raise it", F(40)), TaskInput("cover", "Cover it", F(60)))
OLD = ("raise", "frame"), ("cover", "roof")


def far(*rows, raised=None, covered=None, tasks=TASKS):
    plans = [TaskPlan("raise", "frame", raised), TaskPlan("cover", "roof", covered)]
    return how_far(sheet(*rows, elements=(FRAME, ROOF), tasks=tasks), plans)


def test_done_by_its_tasks_and_open_by_its_tasks():
    """40 h done and half of 60 h: 70 of 100 planned hours."""
    found = far(labour("installing", own=38, task="raise"), raised=F(1), covered=F(1, 2))
    assert (found.done, found.open) == ({"B10"}, {"B30"})
    assert (found.share, found.by, found.is_open) == (F(7, 10), HOURS, True)
    assert found.tells("B10")
    assert not found.tells("B30")
    # What the build does not have tells nothing while it is open.
    assert not found.tells("D50")


def test_hours_logged_count_where_nothing_is_marked():
    """30 of 40 h and none of 60: 30 of 100, and neither is done. Working more adds nothing."""
    found = far(labour("installing", own=30, task="raise"))
    assert (found.share, found.open) == (F(3, 10), {"B10", "B30"})
    more = far(labour("installing", own=90, task="raise"), covered=F(0))
    assert more.share == F(4, 10)
    # All planned hours are worked, and nobody says that it is done.
    assert more.untold == {"B10"}
    assert far(labour("installing", own=40, task="raise")).untold == {"B10"}


def test_who_marks_the_work_done_knows_better_than_the_requirement():
    short = part("Stud", received=38, received_cost=76, required=40, element="frame")
    assert far(short, raised=F(1), covered=F(1)).done == {"B10", "B30"}
    assert far(short, tasks=()).open == {"B10"}


@pytest.mark.parametrize(
    ("values", "stage"),
    [
        ({"received": 40, "required": 40}, "done"),
        # The allowance for waste need not be in the building.
        ({"received": 40, "required": 40, "waste_share": "1/10"}, "done"),
        ({"received": 39, "required": 40}, "open"),
        ({"received": 45, "required": 40, "on_hand": 6}, "open"),
        ({"received": 10, "ordered": 5}, "open"),
        ({"received": 10}, "untold"),
    ],
)
def test_without_tasks_the_requirement_tells(values, stage):
    found = far(part("Stud", element="frame", received_cost=40, **values), tasks=())
    assert getattr(found, stage) == {"B10"}


def test_share_by_elements_where_no_hours_are_planned_or_they_say_all():
    """One of two elements is done: half, by elements."""
    rows = (
        part("Stud", received=40, received_cost=40, required=40, element="frame"),
        part("Slate", received=5, received_cost=5, required=50, element="roof"),
    )
    found = far(*rows, tasks=())
    assert (found.share, found.by) == (F(1, 2), ELEMENTS)
    # Marked hours say all of it; the slates say otherwise.
    planned = (TaskInput("raise", "Raise it", F(40)),)
    found = how_far(
        sheet(*rows, elements=(FRAME, ROOF), tasks=planned), [TaskPlan("raise", "frame", F(1))]
    )
    assert (found.share, found.by, found.is_open) == (F(1, 2), ELEMENTS, True)


def test_what_says_nothing_is_neither_finished_nor_open():
    found = far(part("Stud", received=4, received_cost=8), tasks=())
    assert (found.untold, found.share, found.is_untold) == ({""}, None, True)
    assert found.tells("")
    assert found.by == ""
    assert not far(tasks=()).is_untold
    # What is on no element tells nothing; that the frame is open is known.
    short = part("Stud", key="short", received=3, received_cost=6, required=4, element="frame")
    both = far(part("Stud", received=4, received_cost=8), short, tasks=())
    assert (both.untold, both.open, both.is_untold) == ({""}, {"B10"}, False)


STAGES = ("done", "open", "untold")


def stages(found):
    return {code: name for name in STAGES for code in getattr(found, name)}


@pytest.mark.parametrize(
    ("work", "marked", "planned", "stage"),
    [
        # A task that is only named tells nothing, not even that its element is there.
        (0, None, None, {}),
        (0, None, 40, {"B10": "open"}),
        (3, None, None, {"B10": "untold"}),
        (0, F(1), None, {"B10": "done"}),
        (0, F(1, 4), None, {"B10": "open"}),
    ],
)
def test_any_word_of_a_task_tells_that_its_element_is_there(work, marked, planned, stage):
    hours = None if planned is None else F(planned)
    task = TaskInput("raise", "Raise it", hours)
    # Hours of no task tell of no element.
    rows = [labour("installing", own=work, task="raise"), labour("sourcing", own=5)]
    assert stages(far(*rows, raised=marked, tasks=(task,))) == stage


@pytest.mark.parametrize(
    ("values", "stage"),
    [
        ({"required": 9}, {"B10": "open"}),
        ({"ordered": 9}, {"B10": "open"}),
        ({"received": "1/2"}, {"B10": "untold"}),
        # All of it lies there still, and nothing is said to need it.
        ({"received": 9, "on_hand": 9}, {}),
        ({}, {}),
    ],
)
def test_what_lies_there_unasked_for_is_no_part_of_an_element(values, stage):
    assert stages(far(part("Stud", element="frame", received_cost=9, **values), tasks=())) == stage


def test_one_task_marked_done_does_not_speak_for_another():
    """Nails were driven, nobody said whether all; the studs say that some are missing."""
    short = part("Stud", received=3, received_cost=3, required=9, element="frame")
    tasks = (TASKS[0], TaskInput("nail", "Nail it"))
    work = labour("installing", own=2, task="nail")
    plans = [TaskPlan("raise", "frame", F(1)), TaskPlan("nail", "frame", None)]
    assert how_far(sheet(short, work, elements=(FRAME,), tasks=tasks), plans).open == {"B10"}


def test_all_hours_done_and_nothing_left_is_all_of_it_by_hours():
    found = far(raised=F(1), covered=F(1))
    assert (found.share, found.by, found.is_open) == (1, HOURS, False)


def past(*rows, area=100, far=HowFar(), **values):  # noqa: B008
    given = {"elements": (FRAME, ROOF), "tasks": TASKS} | values
    return PastBuild(sheet(*rows, **given), F(area), F(1), {}, dict(OLD), far)


BEAMS = part("Beam", received=10, received_cost=100, element="frame")
SLATES = part("Slate", received=30, received_cost=60, element="roof")
WORK = (
    labour("installing", own=8, paid_hours=2, paid=50, task="raise"),
    labour("installing", own=5, paid_hours=1, paid=20, task="cover"),
    labour("sourcing", own=4),
)
HALF = HowFar(frozenset({"B10"}), frozenset({"B30"}), share=F(1, 2), by=HOURS)


def test_an_open_build_gives_its_finished_elements_alone():
    """Beams 10 at 10.00 and 10 h by area; no slates, nothing of the sourcing; labour 50.00."""
    result = estimate([past(BEAMS, SLATES, *WORK, far=HALF)], [], F(200))
    assert [(row.code, row.cost.likely, row.hours) for row in result.elements] == [
        ("B10", 200, Spread(F(20), F(20), F(20))),
    ]  # fmt: skip
    assert result.untaught == (("B30", "Roofing"),)
    assert result.is_labour_partial
    assert result.paid_labour.likely == 100
    assert result.hours_apart == Spread()


def test_a_finished_build_beside_it_tells_of_the_rest():
    """The frame from both: 20 beams on 200 sq ft. The roof from the finished one alone: 30 on 100.

    Paid labour and hours on no element come from the finished one alone.
    """
    result = estimate(
        [past(BEAMS, SLATES, *WORK, far=HALF), past(BEAMS, SLATES, *WORK)], [], F(100)
    )
    assert {row.name: row.quantity for row in result.parts} == {"Beam": 10, "Slate": 30}
    assert (result.untaught, result.is_labour_partial) == ((), False)
    assert result.paid_labour == Spread(F(70), F(70), F(70))
    assert result.hours_apart.likely == 4
    assert {row.code: row.builds for row in result.elements} == {"B10": 2, "B30": 1}


def test_half_a_roof_never_halves_the_next_one():
    """15 of 30 slates are on: with the open roof counted, 22.5 would come out instead of 30."""
    half = part("Slate", received=15, received_cost=30, element="roof")
    result = estimate([past(half, far=HALF), past(SLATES)], [], F(100))
    assert [(row.name, row.quantity) for row in result.parts] == [("Slate", 30)]


def test_what_one_cost_is_known_before_the_roof_is_finished():
    """40 slates are stated: at 2.00 each, 80.00, though nobody knows yet how many a roof takes."""
    wanted = [StatedPart("Slate", "piece", "B30", F(40))]
    result = estimate([past(BEAMS, SLATES, far=HALF)], wanted, F(100))
    assert {row.name: row.cost.likely for row in result.parts} == {"Slate": 80, "Beam": 100}
    assert result.unknown == ()


def test_what_is_begun_and_finished_nowhere_is_told_by_code():
    """What is on no element comes last, whatever the names."""
    begun = past(BEAMS, SLATES, far=HowFar(frozenset({"C10"}), frozenset({"B30", "B10", ""})))
    assert estimate([begun], [], F(100)).untaught == (
        ("B10", "Superstructure"), ("B30", "Roofing"), ("", ""),
    )  # fmt: skip
    swapped = replace(FRAME, name="Zigzag frame")
    begun = past(BEAMS, SLATES, far=begun.how_far, elements=(ROOF, swapped))
    assert [code for code, _ in estimate([begun], [], F(100)).untaught] == ["B10", "B30", ""]


def test_pay_for_no_task_of_an_open_build_is_not_known_to_be_for_what_is_finished():
    far = HowFar(frozenset({"", "B10"}), frozenset({"B30"}))
    paid = labour("installing", paid_hours=2, paid=50)
    assert estimate([past(BEAMS, paid, far=far)], [], F(100)).paid_labour.likely == 0
