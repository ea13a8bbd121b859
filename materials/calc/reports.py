"""The cost sheet: every figure of a build from its inputs, exact, with what it leaves out."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction

from .budget import Forecast, forecast
from .exact import add_up
from .labour import Hours, at_rate, hours_by, total_hours
from .prices import retail_equivalent, saved
from .settling import PersonRow, share_build
from .sources import SOURCES, SourceRow, by_source, from_other_builds
from .stock import Position, work_out_positions
from .types import AreaInput, BuildInput, ElementInput, Key, TaskInput

ZERO = Fraction(0)
__all__ = ["SOURCES", "CostSheet", "SourceRow", "make_cost_sheet", "per"]


@dataclass(frozen=True, slots=True)
class Compared:
    """A cost beside what new would have cost.

    ``cost`` is the known money of all rows; ``retail_equivalent`` and ``savings`` are over
    the priced ones only, ``priced_cost`` being the cost on the other side of that saving.
    ``retail_equivalent`` and ``savings`` are None when no row is priced.
    """

    cost: Fraction
    priced_cost: Fraction
    retail_equivalent: Fraction | None
    unknown: int = 0

    @property
    def savings(self) -> Fraction | None:
        """Retail equivalent less the cost of the same rows."""
        new = self.retail_equivalent
        return None if new is None else new - self.priced_cost


@dataclass(frozen=True, slots=True)
class ComponentRow:
    """A component's position with its comparison."""

    position: Position
    retail_equivalent: Fraction | None
    savings: Fraction | None

    @property
    def is_unpriced(self) -> bool:
        """No retail price, and the component holds quantity or money."""
        held = self.position.in_building or self.position.known_money
        return self.retail_equivalent is None and bool(held)


@dataclass(frozen=True, slots=True)
class ElementRow:
    """An element, or the components without one (``element`` None)."""

    element: ElementInput | None
    figures: Compared


@dataclass(frozen=True, slots=True)
class TaskRow:
    """A task's hours; ``task`` None holds hours without a task, conversions' included."""

    task: TaskInput | None
    hours: Fraction


@dataclass(frozen=True, slots=True)
class AreaRow:
    """Figures per unit of a measured area; None where the area or the figure is not known.

    ``compared_cost`` is of the same components as ``retail_equivalent``.
    """

    area: AreaInput
    cost: Fraction | None
    cost_with_own_labour: Fraction | None
    retail_equivalent: Fraction | None
    compared_cost: Fraction | None


@dataclass(frozen=True, slots=True)
class CostSheet:
    """The report of a build. Money is exact and rounded only where it is shown."""

    build: BuildInput
    total: Compared
    components: tuple[ComponentRow, ...]
    elements: tuple[ElementRow, ...]
    tasks: tuple[TaskRow, ...]
    persons: tuple[PersonRow, ...]
    sources: tuple[SourceRow, ...]
    areas: tuple[AreaRow, ...]
    hours: Hours
    spent: Fraction
    committed: Fraction
    forecast: Forecast
    # What came from other builds stands beside the sources: nobody paid for it here.
    moved_in: SourceRow | None = None

    @property
    def budget(self) -> Fraction | None:
        """Budget without contingency."""
        return self.build.budget

    @property
    def contingency(self) -> Fraction | None:
        """Contingency on top of the budget."""
        share = self.build.contingency_share
        return None if self.budget is None or share is None else self.budget * share

    @property
    def remaining(self) -> Fraction | None:
        """Budget less spent and committed; contingency is not touched."""
        return None if self.budget is None else self.budget - self.spent - self.committed

    @property
    def own_labour_value(self) -> Fraction | None:
        """Own hours at the stated rate."""
        return self.hours.own_value(self.build.own_labour_rate)

    @property
    def savings(self) -> Fraction | None:
        """Saved against new retail over the priced components."""
        return self.total.savings

    @property
    def savings_percent(self) -> Fraction | None:
        """Savings in per cent of the retail equivalent."""
        new = self.total.retail_equivalent
        return None if self.savings is None or not new else self.savings / new * 100

    @property
    def savings_after_own_labour(self) -> Fraction | None:
        """Savings less own extra hours at the stated rate and paid extra labour."""
        value = at_rate(self.hours.own_extra, self.build.own_labour_rate)
        if self.savings is None or value is None:
            return None
        return self.savings - value - self.hours.paid_extra

    @property
    def saved_per_extra_hour(self) -> Fraction | None:
        """Savings for each hour of sourcing and preparing."""
        extra = self.hours.extra
        return None if self.savings is None or not extra else self.savings / extra

    @property
    def unpriced(self) -> tuple[ComponentRow, ...]:
        """Components left out of the saving for want of a retail price."""
        return tuple(row for row in self.components if row.is_unpriced)

    @property
    def priced_as_bought(self) -> tuple[ComponentRow, ...]:
        """Components whose new price is only what was paid for them new."""
        return tuple(row for row in self.components if row.position.component.is_priced_as_bought)

    @property
    def not_bought_new(self) -> tuple[ComponentRow, ...]:
        """Components that would not have been bought new: retail equivalent 0."""
        return tuple(row for row in self.components if not row.position.component.would_buy_new)

    @property
    def has_paid_prices(self) -> bool:
        """Whether anything was got at a known price, so that a forecast can rest on it."""
        return any(row.position.average is not None for row in self.components)

    @property
    def not_forecast(self) -> tuple[ComponentRow, ...]:
        """Components still needed and without any price, so left out of the forecast."""
        keys = set(self.forecast.left_out)
        return tuple(row for row in self.components if row.position.component.key in keys)

    @property
    def unknown_lines(self) -> int:
        """Received lines without a known price."""
        return sum(row.position.component.unknown_lines for row in self.components)

    @property
    def unknown_transfers(self) -> int:
        """Quantities moved in without a known cost."""
        return sum(row.position.component.unknown_transfers for row in self.components)

    @property
    def cost_unknown(self) -> tuple[ComponentRow, ...]:
        """Components whose cost is not wholly known."""
        return tuple(row for row in self.components if not row.position.is_cost_known)


def make_cost_sheet(build: BuildInput) -> CostSheet:
    """Work out the whole report. Raises ConversionCircle when conversions form a circle."""
    positions = work_out_positions(build.components, build.conversions)
    tax = build.retail_tax_share
    rows = tuple(_component_row(position, tax) for position in positions.values())
    hours = total_hours(build.labour)
    received = add_up(part.received_cost for part in build.components)
    extra_cost = add_up(conversion.extra_cost for conversion in build.conversions)
    proceeds = add_up(part.proceeds for part in build.components)
    spent = received + hours.paid_labour + extra_cost - proceeds
    committed = add_up(part.ordered_cost for part in build.components)
    total = compare(rows)
    return CostSheet(
        build=build,
        total=total,
        components=rows,
        elements=_by_element(build.elements, rows),
        tasks=_by_task(build),
        persons=share_build(build),
        sources=by_source(build),
        moved_in=from_other_builds(build),
        areas=_per_area(build, total, hours),
        hours=hours,
        spent=spent,
        committed=committed,
        forecast=forecast(positions.values(), spent, committed, tax),
    )


def _component_row(position: Position, tax_share: Fraction) -> ComponentRow:
    new = retail_equivalent(position.component, position.in_building, tax_share)
    return ComponentRow(position, new, saved(new, position.cost))


def compare(rows: Iterable[ComponentRow]) -> Compared:
    """Sum component rows into one comparison."""
    listed = list(rows)
    priced = [row for row in listed if row.savings is not None]
    return Compared(
        add_up(row.position.known_money for row in listed),
        add_up(row.position.known_money for row in priced),
        add_up(row.retail_equivalent or ZERO for row in priced) if priced else None,
        sum(not row.position.is_cost_known for row in listed),
    )


def _by_element(
    elements: Sequence[ElementInput], rows: Sequence[ComponentRow]
) -> tuple[ElementRow, ...]:
    groups: dict[Key | None, list[ComponentRow]] = defaultdict(list)
    for row in rows:
        groups[row.position.component.element].append(row)
    listed = [
        ElementRow(element, compare(groups[element.key]))
        for element in elements
        if element.key in groups or element.budget is not None
    ]
    if None in groups:
        listed.append(ElementRow(None, compare(groups[None])))
    return tuple(listed)


def _by_task(build: BuildInput) -> tuple[TaskRow, ...]:
    hours = hours_by(build.labour, "task")
    listed = [TaskRow(task, hours.get(task.key, ZERO)) for task in build.tasks]
    if hours.get(None):
        listed.append(TaskRow(None, hours[None]))
    return tuple(listed)


def _per_area(build: BuildInput, total: Compared, hours: Hours) -> tuple[AreaRow, ...]:
    cost = total.cost + hours.paid_labour
    own = hours.own_value(build.own_labour_rate)
    with_own = None if own is None else cost + own
    compared = None if total.retail_equivalent is None else total.priced_cost
    return tuple(
        AreaRow(
            area,
            per(cost, area.area),
            per(with_own, area.area),
            per(total.retail_equivalent, area.area),
            per(compared, area.area),
        )
        for area in build.areas
    )


def per(amount: Fraction | None, divisor: Fraction | None) -> Fraction | None:
    """Amount for each one; None when either is not known or there is nothing to divide by."""
    return None if amount is None or not divisor else amount / divisor
