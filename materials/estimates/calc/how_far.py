"""How far an earlier build is, by its hours and its elements: none is finished for want of a word.

An element is done where all its tasks are marked done, or else where all that it requires is in the
building. It is open where a task is not done, or planned hours are not worked yet and nothing says
that it is done, or something is missing. Where nothing tells either, that is said.
"""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from ...calc.progress.hours import TaskPlan, TaskProgress, task_progress
from ...calc.reports import CostSheet, per
from ...calc.stock import Position

ZERO, ONE = Fraction(0), Fraction(1)
HOURS, ELEMENTS = "hours", "elements"


class Stage(StrEnum):
    """How far an element is."""

    DONE = "done"
    OPEN = "open"
    UNTOLD = "untold"


@dataclass(frozen=True, slots=True)
class HowFar:
    """How far a build is: codes of its elements by stage; "" holds what is on no element.

    ``share``: of one, None where nothing tells; ``by``: what it is counted in, planned ``HOURS``
    or ``ELEMENTS``. Of an open build it is never the whole.
    """

    done: frozenset[str] = frozenset()
    open: frozenset[str] = frozenset()
    untold: frozenset[str] = frozenset()
    share: Fraction | None = None
    by: str = ""

    @property
    def is_open(self) -> bool:
        """Whether something is known to be left to do."""
        return bool(self.open)

    @property
    def is_untold(self) -> bool:
        """Whether nothing tells of some of it, and nothing is known to be left to do."""
        return bool(self.untold) and not self.open

    def tells(self, code: str) -> bool:
        """Whether an element can be learned from: done, or in a build that is not open."""
        return not self.open or code in self.done


def how_far(sheet: CostSheet, plans: Iterable[TaskPlan]) -> HowFar:
    """How far a build is."""
    plans = list(plans)
    codes = {element.key: element.code for element in sheet.build.elements}
    element_of = {plan.key: plan.element for plan in plans}
    tasks: dict[str, list[TaskProgress]] = defaultdict(list)
    for task in task_progress(sheet, plans):
        if task.task is not None and (task.worked or task.planned or task.done_share is not None):
            tasks[codes.get(element_of.get(task.task.key), "")].append(task)
    parts: dict[str, list[Position]] = defaultdict(list)
    for row in sheet.components:
        part = row.position.component
        if row.position.in_building > 0 or part.required or part.ordered:
            parts[codes.get(part.element, "")].append(row.position)
    stages: dict[Stage, set[str]] = {stage: set() for stage in Stage}
    for code in {*tasks, *parts}:
        stages[_stage(tasks.get(code, []), parts.get(code, []))].add(code)
    done, left = frozenset(stages[Stage.DONE]), frozenset(stages[Stage.OPEN])
    share, by = _share([task for rows in tasks.values() for task in rows]), HOURS
    if share is None or (left and share >= 1):
        share, by = per(Fraction(len(done)), Fraction(len(done) + len(left))), ELEMENTS
    by = "" if share is None else by
    return HowFar(done, left, frozenset(stages[Stage.UNTOLD]), share, by)


def _stage(tasks: list[TaskProgress], parts: list[Position]) -> Stage:
    told = [_task_stage(task) for task in tasks]
    if Stage.OPEN in told:
        return Stage.OPEN
    if told and all(stage is Stage.DONE for stage in told):
        # Who marks the work done knows better than what was once required.
        return Stage.DONE
    of_parts = [_part_stage(position) for position in parts]
    if Stage.OPEN in of_parts:
        return Stage.OPEN
    return Stage.DONE if Stage.DONE in (*told, *of_parts) else Stage.UNTOLD


def _task_stage(task: TaskProgress) -> Stage:
    if task.done_share is not None:
        return Stage.DONE if task.is_done else Stage.OPEN
    return Stage.OPEN if task.planned and task.worked < task.planned else Stage.UNTOLD


def _part_stage(position: Position) -> Stage:
    part = position.component
    if part.required is None:
        return Stage.OPEN if part.ordered else Stage.UNTOLD
    return Stage.DONE if position.in_building >= part.required else Stage.OPEN


def _share(tasks: list[TaskProgress]) -> Fraction | None:
    """Share of the planned hours that is done: as stated, else as worked, at most all of it."""
    planned = sum((task.planned or ZERO for task in tasks), ZERO)
    done = ZERO
    for task in tasks:
        if task.planned:
            worked = min(ONE, task.worked / task.planned)
            done += task.planned * (worked if task.done_share is None else task.done_share)
    return per(done, planned)
