"""A kept estimate read back, and how good it was."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from ...calc.money import round_money
from ...calc.progress.hours import TaskPlan
from ...calc.progress.money import element_budgets
from ...calc.reports import CostSheet, per
from ...calc.types import Key
from .accuracy import EstimateClass
from .estimate import estimate_class
from .types import ElementSums, Scale, Spread

ZERO = Fraction(0)


@dataclass(frozen=True, slots=True)
class KeptElement:
    """An element of a kept estimate."""

    code: str
    name: str
    cost: Spread
    stated: Fraction
    hours: Spread | None
    builds: int
    scale: Scale | None = None


@dataclass(frozen=True, slots=True)
class KeptPart:
    """A component of a kept estimate."""

    name: str
    unit: str
    code: str
    quantity: Fraction
    of_one: Spread
    cost: Spread
    is_stated: bool
    builds: int
    is_borrowed: bool
    scale: Scale | None = None


@dataclass(frozen=True, slots=True)
class KeptPast:
    """An earlier build that was not finished (``is_open``), or of which nothing told whether.

    ``percent``: how far it was, None where nothing told; ``by``: “hours” or “elements”.
    ``done``: how many of its elements were finished.
    """

    percent: Fraction | None
    by: str
    is_open: bool
    done: int
    is_used: bool


@dataclass(frozen=True, slots=True)
class KeptEstimate(ElementSums):
    """A kept estimate, its figures as rounded when it was kept."""

    elements: tuple[KeptElement, ...]
    parts: tuple[KeptPart, ...]
    paid_labour: Spread
    hours_apart: Spread
    unknown: tuple[str, ...]
    left_out: tuple[str, ...]
    untaught: tuple[tuple[str, str], ...] = ()
    is_labour_partial: bool = False
    pasts: tuple[KeptPast, ...] = ()

    @property
    def borrowed(self) -> int:
        """How many quantities stand in the new build that nobody measured for it."""
        return sum(part.is_borrowed for part in self.parts)

    @property
    def defined_percent(self) -> Fraction | None:
        """The same in per cent."""
        return None if self.defined is None else self.defined * 100

    @property
    def class_reached(self) -> EstimateClass:
        """The class such an estimate deserves."""
        return estimate_class(self.defined)

    @property
    def class_range(self) -> tuple[Fraction, Fraction]:
        """Where the likely total may end by the wide range of that class."""
        return self.class_reached.widest(self.total.likely)


def read_figures(figures: Mapping[str, Any]) -> KeptEstimate:
    """What ``estimates.services.as_figures`` wrote."""
    return KeptEstimate(
        tuple(
            KeptElement(
                row["code"],
                row["name"],
                _spread(row["cost"]),
                Fraction(row["stated"]),
                None if row["hours"] is None else _spread(row["hours"]),
                row["builds"],
                _scale(row.get("scale")),
            )
            for row in figures["elements"]
        ),
        tuple(
            KeptPart(
                row["name"],
                row["unit"],
                row["code"],
                Fraction(row["quantity"]),
                _spread(row["of_one"]),
                _spread(row["cost"]),
                row["is_stated"],
                row["builds"],
                row["is_borrowed"],
                _scale(row.get("scale")),
            )
            for row in figures["parts"]
        ),
        _spread(figures["paid_labour"]),
        _spread(figures["hours_apart"]),
        tuple(figures["unknown"]),
        tuple(figures["left_out"]),
        # What was kept before these were known says nothing of them.
        tuple((code, name) for code, name in figures.get("untaught", ())),
        figures.get("is_labour_partial", False),
        tuple(_past(row) for row in figures.get("pasts", ())),
    )


def _past(row: Mapping[str, Any]) -> KeptPast:
    percent = None if row["percent"] is None else Fraction(row["percent"])
    return KeptPast(percent, row["by"], row["is_open"], row["done"], row["is_used"])


def _scale(texts: Sequence[str] | None) -> Scale | None:
    if texts is None:
        return None
    label, new, past, unit = texts
    return Scale(label, Fraction(new), Fraction(past), unit)


def _spread(texts: Sequence[str]) -> Spread:
    low, likely, high = (Fraction(text) for text in texts)
    return Spread(low, likely, high)


@dataclass(frozen=True, slots=True)
class Outcome:
    """An amount beside its estimate.

    ``now``: so far; ``low`` and ``high``: what it will come to, without the ``missing``
    components that are still needed and have no price.
    """

    label: str
    code: str
    estimated: Spread
    now: Fraction
    low: Fraction
    high: Fraction
    missing: int = 0

    @property
    def off_percent(self) -> Fraction | None:
        """How far the middle of what it will come to is above the likely amount, in per cent."""
        middle = (self.low + self.high) / 2
        return per((middle - self.estimated.likely) * 100, self.estimated.likely)

    @property
    def is_within(self) -> bool:
        """Whether what it will come to can lie within the estimated range."""
        return self.low <= self.estimated.high and self.high >= self.estimated.low


@dataclass(frozen=True, slots=True)
class Check:
    """How good an estimate was, by element and for the whole, money and hours apart.

    ``is_final``: nothing more is needed or ordered, so the figures will hardly change.
    """

    elements: tuple[Outcome, ...]
    total: Outcome
    hours: tuple[tuple[str, str, Spread, Fraction], ...]
    hours_estimated: Spread
    hours_worked: Fraction
    is_final: bool


def check_estimate(kept: KeptEstimate, sheet: CostSheet, plans: Iterable[TaskPlan]) -> Check:
    """Beside the cost sheet of today."""
    now = {row.element.code if row.element else "": row for row in element_budgets(sheet)}
    listed = []
    for row in kept.elements:
        budget = now.pop(row.code, None)
        used = ZERO if budget is None else budget.cost
        exact = (ZERO, ZERO) if budget is None else (budget.low, budget.high)
        # An estimate is kept to the minor unit; what is finer is no difference from it.
        low, high = (Fraction(round_money(end, sheet.build.currency)) for end in exact)
        missing = 0 if budget is None else budget.missing
        listed.append(Outcome(row.name, row.code, row.cost, used, low, high, missing))
    for code, budget in now.items():
        if budget.used or budget.high:
            name = budget.element.name if budget.element else ""
            ends = (budget.low, budget.high, budget.missing)
            listed.append(Outcome(name, code, Spread(), budget.cost, *ends))
    element_of = {plan.key: plan.element for plan in plans}
    worked: dict[Key | None, Fraction] = {}
    for entry in sheet.build.labour:
        key = element_of.get(entry.task) if entry.task is not None else None
        worked[key] = worked.get(key, ZERO) + entry.own_hours + entry.paid_hours
    keys = {element.code: element.key for element in sheet.build.elements}
    total = Outcome(
        "",
        "",
        kept.total,
        sheet.total.cost + sheet.hours.paid_labour,
        sheet.forecast.low,
        sheet.forecast.high,
        sum(row.missing for row in element_budgets(sheet)),
    )
    is_final = (
        sheet.total.cost > 0
        and not sheet.committed
        and not any(row.position.still_needed for row in sheet.components)
    )
    return Check(
        tuple(listed),
        total,
        tuple(
            (row.code, row.name, row.hours, worked.get(keys.get(row.code, object()), ZERO))
            for row in kept.elements
            if row.hours is not None
        ),
        kept.hours,
        sheet.hours.total,
        is_final,
    )
