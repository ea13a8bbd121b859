"""Progress by hand: budgets of elements, hours against their plan, hours and savings by element."""

from dataclasses import replace
from fractions import Fraction

import pytest

from materials.calc.progress.hours import (
    LimitCheck,
    TaskPlan,
    TaskProgress,
    element_hours,
    person_hours,
    sum_work,
    task_progress,
)
from materials.calc.progress.money import element_budgets, elements_to_spent, outlook, sum_budgets
from materials.calc.types import ElementInput, LabourKind, TaskInput
from tests.calc.builders import F, labour, part, person, sheet


def element(code: str, budget=None) -> ElementInput:
    return ElementInput(code, code, f"Part {code}", None if budget is None else F(budget))


def task(name: str, planned=None) -> TaskInput:
    return TaskInput(name, name, None if planned is None else F(planned))


def plan(name: str, element=None, done=None) -> TaskPlan:
    return TaskPlan(name, element, None if done is None else F(done))


@pytest.mark.parametrize(
    ("value", "limit", "over", "within"),
    [
        (120, 100, 20, None),
        (80, 100, None, 20),
        (100, 100, None, 0),
        ("100.004", 100, None, 0),
        ("100.005", 100, F("0.005"), None),
        (None, 100, None, None),
        (80, None, None, None),
        (0, 0, None, 0),
    ],
)
def test_over_or_within(value, limit, over, within):
    held = LimitCheck(*(None if x is None else F(x) for x in (value, limit)))
    assert (held.over, held.within) == (over, within)


# 12 boards for 36, 10 in the building (30), 2 on hand; 5 ordered for 20; needed 22, new 6 + 10 %.
# Still needed: 22 - 12 - 5 = 5, at 3 is 15, new 33. On hand and still asked for: 2, worth 6.
BOARD = {
    "element": "B",
    "required": 22,
    "received": 12,
    "received_cost": 36,
    "on_hand": 2,
    "ordered": 5,
    "ordered_cost": 20,
    "retail_price": 6,
}


def of_board(budget=None, **values):
    made = sheet(
        part("Board", **BOARD | values),
        elements=(element("B", budget),),
        retail_tax_share="0.1",
    )
    (row,) = element_budgets(made)
    return row


def test_an_element_against_its_budget():
    row = of_board(60)
    assert (row.cost, row.committed, row.used, row.left) == (30, 20, 50, 10)
    assert row.used_percent == F(250, 3)
    assert (row.low, row.high) == (50 + 6 + 15, 50 + 6 + 33)
    assert (row.to_come_low, row.to_come_high, row.is_range) == (21, 39, True)
    assert (row.missing, row.unknown, row.stated) == (0, 0, True)


@pytest.mark.parametrize(
    ("budget", "over"),
    [
        (25, (5, 25, 46, 64)),
        (40, (None, 10, 31, 49)),
        (60, (None, None, 11, 29)),
        (75, (None, None, None, 14)),
        (89, (None, None, None, None)),
        (None, (None, None, None, None)),
        (0, (30, 50, 71, 89)),
    ],
)
def test_how_early_an_over_run_is_seen(budget, over):
    row = of_board(budget)
    assert (row.in_building.over, row.so_far.over, row.at_low.over, row.at_high.over) == over


def test_no_budget_and_a_budget_of_nothing():
    assert (of_board().left, of_board().used_percent) == (None, None)
    assert (of_board(0).left, of_board(0).used_percent) == (-50, None)


@pytest.mark.parametrize(
    ("values", "low", "high"),
    [
        # Nothing required: nothing is still to go in, and what is on hand may stay there.
        ({"required": None}, 50, 50),
        # 10 are in and 5 come; of the 2 on hand the building asks for 1 more of 11.
        ({"required": 11}, 50 + 3, 50 + 3),
        ({"required": 8}, 50, 50),
        # A tenth is wasted: 11 are asked for, 1 of them from those on hand.
        ({"required": 10, "waste_share": "0.1"}, 50 + 3, 50 + 3),
        # No average: new prices serve for both ends, and the other way about.
        ({"received": 0, "received_cost": 0, "on_hand": 0}, 20 + 17 * F("6.6"), 20 + 17 * F("6.6")),
        ({"retail_price": None}, 50 + 6 + 15, 50 + 6 + 15),
        # New is cheaper than what was paid: the ends are put in order.
        ({"retail_price": 2}, 50 + 6 + 11, 50 + 6 + 15),
    ],
)
def test_what_is_still_to_go_in(values, low, high):
    row = of_board(60, **values)
    assert (row.low, row.high) == (low, high)


def test_needed_without_any_price_is_counted_and_named():
    row = of_board(60, received=0, received_cost=0, on_hand=0, retail_price=None)
    assert (row.low, row.high, row.missing) == (20, 20, 1)


def test_one_requirement_of_several_is_one():
    made = sheet(
        part("Nail", element="B", received=1, received_cost=4),
        part("Board", **BOARD),
        part("Peg", required=3, ordered=1, ordered_cost=2),
        elements=(element("B"),),
    )
    board, apart = element_budgets(made)
    assert (board.stated, apart.stated) == (True, True)
    # What has no element is listed with what is ordered and needed of it.
    assert (apart.committed, apart.missing) == (2, 1)


def test_a_cost_that_is_not_wholly_known_is_counted():
    assert of_board(60, unknown_lines=1).unknown == 1


def test_components_without_an_element_come_last():
    made = sheet(
        part("Board", **BOARD),
        part("Nail", received=1, received_cost=4),
        elements=(element("B", 60), element("C", 10), element("D")),
    )
    rows = element_budgets(made)
    assert [(row.element and row.element.code, row.budget, row.cost) for row in rows] == [
        ("B", 60, 30),
        ("C", 10, 0),
        (None, None, 4),
    ]
    sums = sum_budgets(rows, made)
    assert (sums.budget, sums.cost, sums.committed, sums.left) == (70, 30, 20, 20)
    assert (sums.divided.over, sums.divided.within) == (None, None)


@pytest.mark.parametrize(("budget", "over", "within"), [(50, 10, None), (90, None, 30)])
def test_budgets_of_elements_against_the_builds_own(budget, over, within):
    made = sheet(part("Board", **BOARD), elements=(element("B", 60),), budget=budget)
    held = sum_budgets(element_budgets(made), made).divided
    assert (held.over, held.within) == (over, within)


# Spent 36 + 8 paid labour = 44, ordered 20; 5 still needed: 15 at the average, 33 new.
@pytest.mark.parametrize(
    ("budget", "contingency", "over", "worst", "covered"),
    [
        (60, "0.5", (4, 19, 37), 37, False),
        (60, "0.7", (4, 19, 37), 37, True),
        # It covers the worst to the last cent.
        (74, "0.5", (None, 5, 23), 23, True),
        (46, "0.5", (18, 33, 51), 51, False),
        (80, "0.2125", (None, None, 17), 17, True),
        (70, "0.1", (None, 9, 27), 27, False),
        (90, "0.1", (None, None, 7), 7, True),
        (90, None, (None, None, 7), 7, False),
        (97, "0.1", (None, None, None), None, False),
        (None, None, (None, None, None), None, False),
    ],
)
def test_the_whole_against_its_budget(budget, contingency, over, worst, covered):
    made = sheet(
        part("Board", **BOARD),
        labour("installing", paid_hours=1, paid=8),
        retail_tax_share="0.1",
        budget=budget,
        contingency_share=contingency,
    )
    found = outlook(made)
    assert (found.now.over, found.at_low.over, found.at_high.over) == over
    assert (found.worst, found.is_covered) == (worst, covered)


def test_from_the_elements_to_what_is_spent():
    made = sheet(
        part("Board", **BOARD),
        part("Stud", received=4, received_cost=8, moved=1, moved_in=1, moved_in_cost=2),
        part("Sash", received=2, received_cost=10, sold=1, proceeds=7),
        labour("installing", paid_hours=1, paid=8),
    )
    *parts, spent = elements_to_spent(made)
    assert [(row.sign, row.label, row.amount) for row in parts] == [
        ("", "Material in the building", 30 + 8 + 3),
        ("+", "Material on hand", 6),
        ("+", "Paid labour", 8),
        ("+", "Value moved to other builds", 2),
        ("−", "Moved in from other builds", 2),
    ]
    total = sum(-row.amount if row.sign == "−" else row.amount for row in parts)
    assert (spent.sign, spent.amount) == ("=", total) == ("=", 36 + 8 + 10 + 8 - 7)


def test_what_has_no_known_value_is_no_part_of_it():
    lost = part("Lost", received=4, unknown_lines=1, on_hand=1, moved=1)
    *parts, spent = elements_to_spent(sheet(part("Board", **BOARD), lost))
    assert [row.amount for row in parts] == [30, 6, 0]
    assert spent.amount == 36


def test_what_did_not_move_is_not_listed():
    labels = [row.label for row in elements_to_spent(sheet(part("Board", **BOARD)))]
    assert not [label for label in labels if "oved" in label]


# planned, done, worked -> forecast, over the plan at completion, over it already
TASKS = [
    (10, "0.5", 6, 12, 2, None),
    (10, "0.5", 5, 10, None, None),
    (10, "0.5", 4, 8, None, None),
    (10, 1, 12, 12, 2, 2),
    (10, 0, 3, None, None, None),
    (10, None, 3, None, None, None),
    (10, None, 11, None, None, 1),
    (10, None, 0, 10, None, None),
    (10, 0, 0, 10, None, None),
    (10, "0.5", 0, 10, None, None),
    (None, "0.5", 6, 12, None, None),
    (None, None, 0, None, None, None),
    (0, "0.5", 1, 2, 2, 1),
]


@pytest.mark.parametrize(("planned", "done", "worked", "forecast", "over", "already"), TASKS)
def test_a_task_against_its_plan(planned, done, worked, forecast, over, already):
    row = TaskProgress(task("Frame", planned), None if done is None else F(done), F(worked))
    assert row.forecast == forecast
    assert (row.at_completion.over, row.so_far.over) == (over, already)
    most = max(over or 0, already or 0)
    assert row.most_over == most
    assert row.is_over is (most > 2 and most > planned * F("0.05"))


@pytest.mark.parametrize(
    ("planned", "worked", "is_past"),
    [
        (10, 12, False),
        (10, "12.01", True),
        # Two hours and a bit are not 5 % of 100.
        (100, "102.5", False),
        (100, 105, False),
        (100, "105.01", True),
        (None, 50, False),
        (0, 3, True),
    ],
)
def test_a_task_is_over_past_both_limits_only(planned, worked, is_past):
    row = TaskProgress(task("Frame", planned), F(1), F(worked))
    assert (row.is_past, row.is_over) == (is_past, is_past)
    assert sum_work([row]).is_over is is_past


@pytest.mark.parametrize(
    ("done", "percent", "is_done"),
    [(None, None, False), ("0.75", 75, False), ("0.99", 99, False), (1, 100, True)],
)
def test_how_far_a_task_is_done(done, percent, is_done):
    row = TaskProgress(task("Frame", 10), None if done is None else F(done), F(5))
    assert (row.done_percent, row.is_done) == (percent, is_done)


def test_only_tasks_that_have_both_are_summed():
    rows = [
        TaskProgress(task("Frame", 10), F("0.5"), F(6)),
        # No pace yet, no plan, nothing told; and hours without a task.
        TaskProgress(task("Roof", 20), F(0), F(3)),
        TaskProgress(task("Runs"), F("0.5"), F(4)),
        TaskProgress(task("Paint", 40), None, F(2)),
        TaskProgress(None, None, F(9)),
    ]
    work = sum_work(rows)
    assert (work.planned, work.forecast, work.left_out) == (10, 12, 3)
    assert (work.work_done, work.work_planned, work.worked) == (5, 30, 9)


def test_hours_without_a_task_have_no_plan():
    row = TaskProgress(None, None, F(5))
    assert (row.planned, row.forecast, row.done_percent, row.is_over) == (None, None, None, False)


HOURS = [
    labour("sourcing", own=3, task="Frame", person="Ann"),
    labour("preparing", own=1, paid_hours=2, paid=40, task="Frame", person="Ben"),
    labour("installing", own=6, task="Frame", person="Ann"),
    labour("installing", own=4, task="Roof", person="Ann"),
    labour("sourcing", own=5, task="Runs", person="Ben"),
    labour("preparing", own=7, person="Ann"),
    labour("installing", own=1, person="Ann"),
    labour("preparing", own=9),
]
PLANS = [plan("Frame", "B", "0.75"), plan("Roof", "C", 1), plan("Runs"), plan("Paint", "C")]


def worked(**values):
    given = {
        "elements": (element("B"), element("C"), element("D")),
        "tasks": (task("Frame", 10), task("Roof", 5), task("Runs"), task("Paint", 8)),
        "persons": (person("Ann"), person("Ben"), person("Cai")),
    }
    parts = (
        part("Stud", element="B", received=6, received_cost=12, retail_price=5),
        part("Sheet", element="C", unit="sheet", received=2, received_cost=30, retail_price=10),
        part("Nail", element="C", unit="lb", received=1, received_cost=1),
    )
    return sheet(*parts, *HOURS, **given | values)


def test_tasks_of_a_build():
    rows = task_progress(worked(), PLANS)
    assert [(row.task and row.task.name, row.worked, row.forecast) for row in rows] == [
        ("Frame", 12, 16),
        ("Roof", 4, 4),
        ("Runs", 5, None),
        ("Paint", 0, 8),
        (None, 17, None),
    ]
    assert [row.done_share for row in rows] == [F("0.75"), 1, None, None, None]


def test_sums_over_the_tasks_that_can_be_summed():
    work = sum_work(task_progress(worked(), PLANS))
    # Plan and forecast: Frame 10 and 16, Roof 5 and 4, Paint 8 and 8; Runs has neither.
    assert (work.planned, work.forecast, work.left_out) == (23, 28, 1)
    assert work.at_completion.over == 5
    # Plan and share done: Frame 7.5 of 10, Roof 5 of 5, which took 12 and 4.
    assert (work.work_done, work.work_planned, work.worked) == (F("12.5"), 15, 16)
    assert work.done_percent == F(250, 3)
    assert work.pace.over == F("3.5")


def test_nothing_to_sum_is_not_known():
    work = sum_work(task_progress(worked(tasks=(task("Runs"),)), PLANS))
    assert (work.planned, work.forecast, work.work_done, work.done_percent) == (None,) * 4
    assert (work.at_completion.over, work.at_completion.within, work.left_out) == (None, None, 1)


def test_planned_work_of_nothing_has_no_share_done():
    work = sum_work([TaskProgress(task("Frame", 0), F(1), F(2))])
    assert (work.work_done, work.done_percent) == (0, None)


def test_hours_by_person_and_kind():
    rows = person_hours(worked())
    listed = [(row.person and row.person.name, row.total, dict(row.by_kind)) for row in rows]
    assert [(name, total) for name, total, _ in listed] == [("Ann", 21), ("Ben", 8), (None, 9)]
    assert listed[0][2] == {
        LabourKind.SOURCING: 3,
        LabourKind.PREPARING: 7,
        LabourKind.INSTALLING: 11,
        LabourKind.REWORKING: 0,
        LabourKind.UPKEEP: 0,
    }
    assert sum(total for _, total, _ in listed) == worked().hours.total


def test_elements_with_what_their_tasks_took_and_saved():
    made = worked()
    (frame, roof), apart = element_hours(made, PLANS)
    # Studs: 6 at 5 new, 12 paid.
    assert (frame.element.code, frame.savings, frame.extra, frame.installing) == ("B", 18, 6, 6)
    assert frame.saved_per_extra_hour == 3
    assert (frame.quantity, frame.units, frame.hours_per_unit) == (6, ("piece",), 1)
    # Sheets: 20 new, 30 paid; the nails have no new price. Two units: no hours for one.
    assert (roof.savings, roof.extra, roof.installing) == (-10, 0, 4)
    assert roof.saved_per_extra_hour is None
    assert (roof.quantity, roof.units, roof.hours_per_unit) == (None, ("lb", "sheet"), None)
    assert (frame.cost_above_new, roof.cost_above_new) == (None, 10)
    assert (apart.tasks_without_element, apart.without_task, apart.conversions) == (5, 7, 9)
    assert frame.extra + roof.extra + apart.total == made.hours.extra


@pytest.mark.parametrize(
    ("unit", "quantity"), [("piece", None), ("sheet", None), ("sq ft", 10), ("lb", 10)]
)
def test_measures_of_two_components_add_up_but_pieces_of_unlike_things_do_not(unit, quantity):
    made = sheet(
        part("Stud", element="B", unit=unit, received=9, received_cost=12),
        part("Door", element="B", unit=unit, received=1, received_cost=12),
        *HOURS,
        elements=(element("B"),),
    )
    ((frame,), _) = element_hours(made, PLANS)
    assert (frame.quantity, frame.units, frame.parts) == (quantity, (unit,), ("Stud", "Door"))
    assert frame.hours_per_unit == (None if quantity is None else F(6, 10))


def test_an_element_with_hours_and_no_material():
    bare = element_hours(sheet(*HOURS, elements=(element("B"),)), PLANS)[0]
    (frame,) = bare
    assert (frame.savings, frame.quantity, frame.units) == (None, None, ())
    assert (frame.saved_per_extra_hour, frame.hours_per_unit, frame.cost_above_new) == (
        None,
        None,
        None,
    )


def test_an_element_with_material_and_no_hours_and_hours_that_reach_no_element():
    made = sheet(
        part("Stud", element="B", received=6, received_cost=12, retail_price=5),
        part("Nail", received=1, received_cost=1),
        labour("sourcing", own=3, paid_hours=2, paid=40, person="Ann"),
        elements=(element("B"), element("C")),
    )
    ((frame,), apart) = element_hours(made, [])
    assert (frame.element.code, frame.savings, frame.extra, frame.quantity) == ("B", 18, 0, 6)
    assert (apart.without_task, apart.total) == (5, 5)


def test_one_unit_but_nothing_left_in_the_building():
    made = sheet(
        part("Stud", element="B", received=6, received_cost=12, scrapped=6),
        *HOURS,
        elements=(element("B"),),
    )
    ((frame,), _) = element_hours(made, PLANS)
    assert (frame.units, frame.hours_per_unit) == ((), None)


def test_nothing_installed_has_no_hours_for_one():
    ((frame, _), _) = element_hours(worked(), PLANS)
    assert replace(frame, installing=Fraction(0)).hours_per_unit is None
