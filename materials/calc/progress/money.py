"""How the money goes: elements against their budgets, and from them to what is spent."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from ..exact import add_up
from ..prices import average_and_new
from ..reports import CostSheet, per
from ..stock import Position
from ..trace.parts import MOVED_OUT, Part
from ..types import ElementInput, Key
from .hours import LimitCheck

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class ElementBudget:
    """An element's material against its budget; ``element`` None holds what has no element.

    ``cost``: material in the building. ``committed``: ordered for it. ``low`` and ``high``:
    both with what is still to go in, at the average so far and at new prices. ``missing``
    counts components that are needed and have no price, ``unknown`` those whose cost is not
    wholly known, and ``stated`` says whether any is required at all.
    """

    element: ElementInput | None
    cost: Fraction
    committed: Fraction
    low: Fraction
    high: Fraction
    stated: bool
    missing: int
    unknown: int
    places: int

    @property
    def budget(self) -> Fraction | None:
        return None if self.element is None else self.element.budget

    @property
    def used(self) -> Fraction:
        """In the building and ordered."""
        return self.cost + self.committed

    @property
    def is_range(self) -> bool:
        """Whether the two ends differ when they are shown."""
        return LimitCheck(self.high, self.low, self.places).over is not None

    @property
    def to_come_low(self) -> Fraction:
        """Money still to go in, at the lower prices."""
        return self.low - self.used

    @property
    def to_come_high(self) -> Fraction:
        """Money still to go in, at the higher prices."""
        return self.high - self.used

    @property
    def left(self) -> Fraction | None:
        """Budget less what is in the building and ordered; below 0 when it is passed."""
        return None if self.budget is None else self.budget - self.used

    @property
    def used_percent(self) -> Fraction | None:
        """In the building and ordered, in per cent of the budget."""
        return per(self.used * 100, self.budget)

    @property
    def in_building(self) -> LimitCheck:
        """Material in the building against the budget."""
        return LimitCheck(self.cost, self.budget, self.places)

    @property
    def so_far(self) -> LimitCheck:
        """With what is ordered, against the budget."""
        return LimitCheck(self.used, self.budget, self.places)

    @property
    def at_low(self) -> LimitCheck:
        """With what is still to go in, at the lower prices, against the budget."""
        return LimitCheck(self.low, self.budget, self.places)

    @property
    def at_high(self) -> LimitCheck:
        """With what is still to go in, at the higher prices, against the budget."""
        return LimitCheck(self.high, self.budget, self.places)


def element_budgets(sheet: CostSheet) -> tuple[ElementBudget, ...]:
    """Every element of the cost sheet against its budget."""
    positions: dict[Key | None, list[Position]] = defaultdict(list)
    for row in sheet.components:
        positions[row.position.component.element].append(row.position)
    tax, places = sheet.build.retail_tax_share, sheet.build.places
    made = []
    for listed in sheet.elements:
        element = listed.element
        mine = positions.get(None if element is None else element.key, [])
        committed = add_up(position.component.ordered_cost for position in mine)
        to_come = [(position, *_to_come(position, tax)) for position in mine]
        used = listed.figures.cost + committed
        ends = [used + add_up(ends[i] or ZERO for ends in to_come) for i in (1, 2)]
        made.append(
            ElementBudget(
                element,
                listed.figures.cost,
                committed,
                min(ends),
                max(ends),
                any(position.component.required is not None for position in mine),
                sum(average is None for _, average, _ in to_come),
                listed.figures.unknown,
                places,
            )
        )
    return tuple(made)


def _to_come(
    position: Position, tax_share: Fraction
) -> tuple[Fraction, Fraction] | tuple[None, None]:
    """Money still to go in, at the average and at new prices; None without any price.

    What is still needed, and of what is on hand as much as the building still asks for.
    """
    part = position.component
    if position.still_needed is None or part.wanted is None:
        return ZERO, ZERO
    asked = max(ZERO, part.wanted - position.in_building)
    positions = position.value_of(min(part.on_hand, asked)) or ZERO
    if not position.still_needed:
        return positions, positions
    so_far, new = average_and_new(part, position.average, tax_share)
    if so_far is None or new is None:
        return None, None
    return positions + position.still_needed * so_far, positions + position.still_needed * new


@dataclass(frozen=True, slots=True)
class BudgetSums:
    """Sums over the elements that have a budget; ``divided`` holds them to the build's own."""

    budget: Fraction
    cost: Fraction
    committed: Fraction
    divided: LimitCheck

    @property
    def left(self) -> Fraction:
        """Budgets less what is in the building and ordered."""
        return self.budget - self.cost - self.committed


def sum_budgets(rows: Sequence[ElementBudget], sheet: CostSheet) -> BudgetSums:
    """Sum the elements that have a budget."""
    listed = [row for row in rows if row.budget is not None]
    budgets = add_up(row.budget or ZERO for row in listed)
    return BudgetSums(
        budgets,
        add_up(row.cost for row in listed),
        add_up(row.committed for row in listed),
        LimitCheck(budgets, sheet.budget, sheet.build.places),
    )


@dataclass(frozen=True, slots=True)
class Outlook:
    """The whole build against its budget: now, and at both ends of the forecast."""

    now: LimitCheck
    at_low: LimitCheck
    at_high: LimitCheck
    contingency: Fraction | None

    @property
    def worst(self) -> Fraction | None:
        """By how much the budget is passed at worst; None when it is not."""
        over = [ends.over for ends in (self.now, self.at_low, self.at_high) if ends.over]
        return max(over, default=None)

    @property
    def is_covered(self) -> bool:
        """Whether the contingency would cover the worst."""
        worst = self.worst
        return worst is not None and self.contingency is not None and worst <= self.contingency


def outlook(sheet: CostSheet) -> Outlook:
    """Where the build stands against its budget; contingency is not counted in."""
    places = sheet.build.places
    return Outlook(
        LimitCheck(sheet.spent + sheet.committed, sheet.budget, places),
        LimitCheck(sheet.forecast.low, sheet.budget, places),
        LimitCheck(sheet.forecast.high, sheet.budget, places),
        sheet.contingency,
    )


def elements_to_spent(sheet: CostSheet) -> tuple[Part, ...]:
    """From the material in the elements to what is spent."""
    on_hand = add_up(
        row.position.value_of(row.position.component.on_hand) or ZERO for row in sheet.components
    )
    moved = add_up(
        row.position.value_of(row.position.component.moved) or ZERO for row in sheet.components
    )
    moved_out = add_up(row.position.component.moved_out_cost for row in sheet.components)
    moved_in = add_up(row.position.component.moved_in_cost for row in sheet.components)
    parts = [
        Part("", "Material in the building", sheet.total.cost, "figure:material_cost"),
        Part("+", "Material on hand", on_hand, "left_on_hand"),
        Part("+", "Paid labour", sheet.hours.paid_labour, "figure:paid_labour"),
    ]
    if moved:
        parts.append(Part("+", "Value moved to other builds", moved, "left_moved"))
    if moved_out:
        parts.append(Part("+", MOVED_OUT, moved_out, "moves_out"))
    if moved_in:
        parts.append(Part("−", "Moved in from other builds", moved_in, "moves_in"))
    return (*parts, Part("=", "Spent", sheet.spent, "figure:spent"))
