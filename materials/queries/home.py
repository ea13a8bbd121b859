"""What the first page of a build shows."""

from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from fractions import Fraction
from typing import Any

from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.utils.timezone import make_aware

from ..calc.progress.money import outlook
from ..calc.reports import AreaRow, CostSheet
from ..choices import State
from ..models import Build, ImportJob, Purchase, PurchaseLine
from ..models.imports import JobState
from .deadlines import PASSED, with_deadline
from .kept import keep, stamp_of
from .needed import NeededRow, get_shopping_of
from .reports import get_cost_sheet
from .safety import list_cautions

LISTED = 4
# Which of these are shown depends on the time of day, so a few more are kept.
DUE_LISTED, DUE_KEPT = 6, 60


@dataclass(frozen=True)
class NextThing:
    """One component to get: how much of it, where, and what it comes to there."""

    component: Any
    name: str
    quantity: Fraction
    unit: str
    place: str
    cost: Decimal | None


@dataclass(frozen=True)
class Figures:
    """Figures of a build on a day, as the cost sheet and the lists they come from have them.

    ``over`` is how far the forecast at prices so far passes the budget, None where it does not
    or no budget is stated. ``left_out`` counts components that a figure here does not hold.
    """

    currency: str
    budget: Fraction | None
    spent: Fraction
    committed: Fraction
    remaining: Fraction | None
    forecast_low: Fraction
    forecast_high: Fraction
    over: Fraction | None
    savings: Fraction | None
    savings_percent: Fraction | None
    area: AreaRow | None
    area_figure: str
    next_things: tuple[NextThing, ...]
    to_get: int
    to_make: int
    to_get_cost: Decimal | None
    to_get_unpriced: int
    requirements: int
    left_out: int
    cautions: int
    is_empty: bool
    latest: tuple[Purchase, ...]
    offers: tuple[Purchase, ...]
    due: tuple[Purchase, ...]

    @property
    def is_overspent(self) -> bool:
        """Whether more is spent and ordered than the budget."""
        return self.remaining is not None and self.remaining < 0

    @property
    def overspent(self) -> Fraction | None:
        """By how much."""
        return None if self.remaining is None else max(-self.remaining, Fraction(0))


def get_figures(build: Build, on: date) -> Figures:
    """The figures of a build on a day; one query where nothing has changed."""
    stamp = stamp_of(build)

    def make() -> Figures:
        sheet = keep("sheet", stamp, on, lambda: get_cost_sheet(build, on))
        return _work_out(build, on, sheet)

    return keep("home", stamp, on, make)


def count_waiting(build: Build) -> int:
    """Tables that are not brought in yet."""
    return ImportJob.objects.filter(build=build).exclude(state=JobState.DONE).count()


def _work_out(build: Build, on: date, sheet: CostSheet) -> Figures:
    shopping = get_shopping_of(build, on, sheet)
    rows = [row for each in (*shopping.lists, shopping.trifles) for row in each.rows]
    measured = ((at, row) for at, row in enumerate(sheet.areas) if row.cost is not None)
    place, area = next(measured, (0, None))
    return Figures(
        currency=build.currency,
        budget=sheet.budget,
        spent=sheet.spent,
        committed=sheet.committed,
        remaining=sheet.remaining,
        forecast_low=sheet.forecast.low,
        forecast_high=sheet.forecast.high,
        over=outlook(sheet).at_low.over,
        savings=sheet.savings,
        savings_percent=sheet.savings_percent,
        area=area,
        area_figure=f"area_{place}",
        next_things=tuple(_next_things(rows)),
        to_get=len(rows),
        to_make=len(shopping.making.makings),
        to_get_cost=shopping.total,
        to_get_unpriced=shopping.without_price,
        requirements=shopping.stated,
        left_out=len(
            {row.position.component.key for row in (*sheet.unpriced, *sheet.cost_unknown)}
            | set(sheet.forecast.left_out)
        ),
        cautions=sum(bool(row.open) for row in list_cautions(build)),
        latest=tuple(list_latest(build)),
        offers=tuple(list_open_offers(build, on)),
        due=tuple(list_dated(build, on)),
        is_empty=not sheet.components and not sheet.hours.total,
    )


def _next_things(rows: list[NeededRow]) -> list[NextThing]:
    """The most expensive first: they move the budget most. Those without any price come last."""
    rows = sorted(rows, key=lambda row: (row.cost is None, -(row.cost or 0)))
    return [
        NextThing(
            row.position.component.key,
            row.position.component.name,
            row.get.quantity,
            row.get.unit,
            row.best.name if row.best else "",
            row.cost,
        )
        for row in rows[:LISTED]
    ]


def list_latest(build: Build) -> QuerySet[Purchase]:
    """What was logged last, with the name of its first component."""
    return named(Purchase.objects.filter(build=build).exclude(state=State.OFFER)).order_by("-pk")[
        :LISTED
    ]


def list_open_offers(build: Build, on: date) -> QuerySet[Purchase]:
    """Offers that are neither taken nor declined, newest first, less those that end soon."""
    open_ones = Purchase.objects.filter(build=build, state=State.OFFER)
    rest = open_ones.filter(Q(due_at=None) | Q(due_at__lt=_begin_of(on) - PASSED))
    return named(rest).order_by("-pk")[:LISTED]


def _begin_of(on: date) -> datetime:
    return make_aware(datetime.combine(on, time()))


def list_dated(build: Build, on: date) -> QuerySet[Purchase]:
    """Offers and orders with a deadline, the first one first; long passed ones left out."""
    return named(with_deadline(build, _begin_of(on)))[:DUE_KEPT]


def named(rows: QuerySet[Purchase]) -> QuerySet[Purchase]:
    """Purchases with their supplier, the name of their first component and how many more."""
    first = PurchaseLine.objects.filter(purchase=OuterRef("pk")).order_by("position", "pk")
    return rows.select_related("supplier").annotate(
        first_name=Subquery(first.values("component__name")[:1]),
        others=F("line_count") - 1,
    )
