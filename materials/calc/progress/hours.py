"""How the work goes: hours against their plan, and what salvage took beside what it saved.

Money and hours stand side by side and are never added. ``None`` is not known.
"""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..exact import add_up
from ..labour import EXTRA_KINDS
from ..money import round_half_up
from ..reports import CostSheet, per
from ..stock import Position
from ..types import (
    ElementInput,
    Key,
    LabourInput,
    LabourKind,
    PersonInput,
    TaskInput,
)
from ..units import find_unit
from .earned_value import EarnedValue

ZERO = Fraction(0)
HOUR_PLACES = 2
# Hours are estimates: a task is over only past both, a share of its plan and so many hours.
OVER_SHARE = Fraction(5, 100)
OVER_HOURS = Fraction(2)


@dataclass(frozen=True, slots=True)
class LimitCheck:
    """A figure against its limit: how far it is ``over``, or else how much is left ``within``.

    A difference too small to be shown in ``places`` is none.
    """

    value: Fraction | None
    limit: Fraction | None
    places: int = 2

    @property
    def over(self) -> Fraction | None:
        """By how much the limit is passed; None when it is not, or nothing is known."""
        if self.value is None or self.limit is None:
            return None
        beyond = self.value - self.limit
        return beyond if round_half_up(beyond, self.places) > 0 else None

    @property
    def within(self) -> Fraction | None:
        """How much is left up to the limit, 0 when it is met; None when it is passed."""
        if self.value is None or self.limit is None or self.over is not None:
            return None
        return max(ZERO, self.limit - self.value)


@dataclass(frozen=True, slots=True)
class TaskPlan:
    """Where a task belongs and how far it is done."""

    key: Key
    element: Key | None
    done_share: Fraction | None


@dataclass(frozen=True, slots=True)
class TaskProgress:
    """A task's hours against its plan; ``task`` None holds hours without a task."""

    task: TaskInput | None
    done_share: Fraction | None
    worked: Fraction

    @property
    def planned(self) -> Fraction | None:
        return None if self.task is None else self.task.planned_hours

    @property
    def done_percent(self) -> Fraction | None:
        """How far the task is done."""
        return None if self.done_share is None else self.done_share * 100

    @property
    def forecast(self) -> Fraction | None:
        """Hours at completion: as planned before anything is worked, then at the pace so far."""
        if self.task is None:
            return None
        return per(self.worked, self.done_share) if self.worked else self.planned

    @property
    def is_done(self) -> bool:
        """Whether nothing is left to do."""
        return self.done_share is not None and self.done_share >= 1

    @property
    def is_over(self) -> bool:
        """Whether the plan is passed by more than is worth a word, or will be at this pace."""
        return self._is_much(self.most_over)

    @property
    def is_past(self) -> bool:
        """Whether it is passed so already."""
        return self._is_much(self.so_far.over or ZERO)

    def _is_much(self, over: Fraction) -> bool:
        return over > max(OVER_HOURS, (self.planned or ZERO) * OVER_SHARE)

    @property
    def most_over(self) -> Fraction:
        """Hours past the plan, worked or forecast; 0 when it is kept."""
        return max(self.so_far.over or ZERO, self.at_completion.over or ZERO)

    @property
    def so_far(self) -> LimitCheck:
        """Worked against planned."""
        return LimitCheck(self.worked, self.planned, HOUR_PLACES)

    @property
    def at_completion(self) -> LimitCheck:
        """Forecast against planned."""
        return LimitCheck(self.forecast, self.planned, HOUR_PLACES)


def task_progress(sheet: CostSheet, plans: Iterable[TaskPlan]) -> tuple[TaskProgress, ...]:
    """Every task of the cost sheet against its plan."""
    done = {plan.key: plan.done_share for plan in plans}
    return tuple(
        TaskProgress(row.task, None if row.task is None else done.get(row.task.key), row.hours)
        for row in sheet.tasks
    )


@dataclass(frozen=True, slots=True)
class WorkSums:
    """Sums over the tasks that can be summed; ``left_out`` counts those that cannot.

    ``planned`` and ``forecast``: over tasks with both. ``work_done``: planned hours of the
    part that is done, ``work_planned``: all planned hours, ``worked``: what the part took;
    these over tasks with a plan and a stated share done.
    """

    planned: Fraction | None
    forecast: Fraction | None
    left_out: int
    work_done: Fraction | None
    work_planned: Fraction | None
    worked: Fraction | None

    @property
    def at_completion(self) -> LimitCheck:
        """Forecast against planned."""
        return LimitCheck(self.forecast, self.planned, HOUR_PLACES)

    @property
    def is_over(self) -> bool:
        """Whether the forecast passes the plan by more than is worth a word."""
        over = self.at_completion.over or ZERO
        return over > max(OVER_HOURS, (self.planned or ZERO) * OVER_SHARE)

    @property
    def pace(self) -> LimitCheck:
        """What the part done took against what it was planned to take."""
        return LimitCheck(self.worked, self.work_done, HOUR_PLACES)

    @property
    def earned(self) -> EarnedValue:
        """The same in the terms of earned value, in hours; tasks have no days, so no schedule."""
        return EarnedValue(self.work_planned, self.work_done, self.worked)

    @property
    def done_percent(self) -> Fraction | None:
        """Share of the planned work that is done, in per cent."""
        return None if self.work_done is None else per(self.work_done * 100, self.work_planned)


def sum_work(tasks: Sequence[TaskProgress]) -> WorkSums:
    """Sum what has the same things known."""
    named = [task for task in tasks if task.task is not None]
    both = [task for task in named if task.planned is not None and task.forecast is not None]
    stated = [task for task in named if task.planned is not None and task.done_share is not None]

    def over(rows: Sequence[TaskProgress], values: Iterable[Fraction | None]) -> Fraction | None:
        return add_up(value or ZERO for value in values) if rows else None

    return WorkSums(
        over(both, (task.planned for task in both)),
        over(both, (task.forecast for task in both)),
        len(named) - len(both),
        over(stated, ((task.planned or ZERO) * (task.done_share or ZERO) for task in stated)),
        over(stated, (task.planned for task in stated)),
        over(stated, (task.worked for task in stated)),
    )


@dataclass(frozen=True, slots=True)
class PersonHours:
    """A person's hours by kind; ``person`` None holds those of conversions."""

    person: PersonInput | None
    by_kind: tuple[tuple[LabourKind, Fraction], ...]

    @property
    def total(self) -> Fraction:
        return add_up(value for _, value in self.by_kind)


def person_hours(sheet: CostSheet) -> tuple[PersonHours, ...]:
    """Hours by person and kind, those who worked; conversions' last."""
    sums: dict[Key | None, dict[LabourKind, Fraction]] = defaultdict(lambda: defaultdict(Fraction))
    for entry in sheet.build.labour:
        sums[entry.person][entry.kind] += entry.own_hours + entry.paid_hours
    people: list[PersonInput | None] = [*sheet.build.persons, None]
    return tuple(
        PersonHours(person, tuple((kind, sums[key][kind]) for kind in LabourKind))
        for person in people
        if (key := None if person is None else person.key) in sums
    )


@dataclass(frozen=True, slots=True)
class ElementHours:
    """Hours of an element's tasks beside what its material saved.

    ``quantity`` is what is in the building when it can be added up: all of it measured in one
    unit, or all of it pieces of one component, for 58 studs and a door are not 59 of anything.
    ``units`` are those in use, ``parts`` the names of the components.
    """

    element: ElementInput
    extra: Fraction
    installing: Fraction
    savings: Fraction | None
    quantity: Fraction | None
    units: tuple[str, ...]
    parts: tuple[str, ...]
    places: int

    @property
    def cost_above_new(self) -> Fraction | None:
        """By how much the material cost more than new; None when it did not."""
        return LimitCheck(ZERO, self.savings, self.places).over

    @property
    def saved_per_extra_hour(self) -> Fraction | None:
        """Saved for each hour of sourcing and preparing."""
        return per(self.savings, self.extra)

    @property
    def hours_per_unit(self) -> Fraction | None:
        """Installing hours for each unit in the building; None when nothing was installed."""
        return per(self.installing, self.quantity) if self.installing else None


@dataclass(frozen=True, slots=True)
class HoursApart:
    """Sourcing and preparing hours that belong to no element."""

    tasks_without_element: Fraction
    without_task: Fraction
    conversions: Fraction

    @property
    def total(self) -> Fraction:
        return self.tasks_without_element + self.without_task + self.conversions


def element_hours(
    sheet: CostSheet, plans: Iterable[TaskPlan]
) -> tuple[tuple[ElementHours, ...], HoursApart]:
    """Elements with what their tasks took, and the extra hours that reach no element."""
    element_of = {plan.key: plan.element for plan in plans}
    entries: dict[Key, list[LabourInput]] = defaultdict(list)
    apart: dict[str, list[Fraction]] = defaultdict(list)
    for entry in sheet.build.labour:
        element = element_of.get(entry.task)
        if element is not None:
            entries[element].append(entry)
        elif entry.kind in EXTRA_KINDS:
            without = "conversions" if entry.person is None else "without_task"
            where = without if entry.task is None else "tasks_without_element"
            apart[where].append(entry.own_hours + entry.paid_hours)
    savings = {row.element.key: row.figures.savings for row in sheet.elements if row.element}
    built_in: dict[Key | None, list[Position]] = defaultdict(list)
    for row in sheet.components:
        if row.position.in_building:
            built_in[row.position.component.element].append(row.position)
    listed = tuple(
        ElementHours(
            element,
            _hours_of(entries[element.key], EXTRA_KINDS),
            _hours_of(entries[element.key], (LabourKind.INSTALLING,)),
            savings.get(element.key),
            _added_up(built_in[element.key]),
            tuple(sorted({position.component.unit for position in built_in[element.key]})),
            tuple(position.component.name for position in built_in[element.key]),
            sheet.build.places,
        )
        for element in sheet.build.elements
        if element.key in entries or element.key in savings
    )
    names = ("tasks_without_element", "without_task", "conversions")
    return listed, HoursApart(*(add_up(apart[name]) for name in names))


def _added_up(positions: Sequence[Position]) -> Fraction | None:
    """One quantity of all that an element holds; None where that would add unlike things."""
    units = {position.component.unit for position in positions}
    if len(units) != 1 or (len(positions) > 1 and find_unit(units.pop()).is_counted):
        return None
    return add_up(position.in_building for position in positions)


def _hours_of(entries: Iterable[LabourInput], kinds: Sequence[LabourKind]) -> Fraction:
    return add_up(entry.own_hours + entry.paid_hours for entry in entries if entry.kind in kinds)
