"""From a read workbook to a plan of what to write, or every fault that stands against it."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django.utils import timezone

from ..models import Build
from ..queries.exchange import get_existing_build
from .check_build import check_build
from .check_components import check_components, check_elements, check_prices, check_suppliers
from .check_labour import check_labour, check_tasks
from .check_lessons import check_lessons
from .check_purchases import check_purchases
from .check_settling import check_payments, check_shares
from .check_stock import Stock, check_balance, check_conversions, check_left_over, check_moved_in
from .check_ways import check_ways
from .context import Context
from .doubles import likely_doubles
from .faults import Fault, Findings
from .plan import Plan, Planned
from .reader import RawBook
from .rows import Table, read_table
from .schema import (
    BUILD,
    CHARGES,
    COMPONENTS,
    CONVERSIONS,
    ELEMENTS,
    LABOUR,
    LEFT_OVER,
    LESSONS,
    MOVED_IN,
    PAYMENTS,
    PRICES,
    PURCHASES,
    SHARES,
    SHEETS,
    SUPPLIERS,
    TASKS,
    WAYS,
    is_for_reading,
)

# Sheets whose faults leave open how much there is of anything.
QUANTITY_SHEETS = tuple(
    sheet.title for sheet in (COMPONENTS, PURCHASES, CONVERSIONS, WAYS, LEFT_OVER, MOVED_IN)
)


@dataclass(frozen=True)
class Checked:
    """``plan`` is None exactly when there are faults. Notes stop nothing.

    ``doubles``: what the build seems to have already, which a person should be asked about.
    """

    plan: Plan | None
    faults: tuple[Fault, ...]
    notes: tuple[str, ...]
    doubles: tuple[str, ...] = ()


def check_book(
    book: RawBook, *, name: str = "", build: Build | None = None, today: date | None = None
) -> Checked:
    """Check every row of every sheet.

    ``name``: the new build's name, before that of the Build sheet. ``build``: import into it.
    ``today``: the day of a new price without a date.
    """
    findings = Findings()
    existing = None if build is None else get_existing_build(build)
    planned, reader = check_build(book.sheets.get(BUILD), findings, name, existing)
    tables: dict[str, Table] = {
        sheet.title: read_table(book.sheets.get(sheet.title), sheet, reader, findings)
        for sheet in SHEETS
    }
    for other in book.others:
        if not is_for_reading(other):
            findings.note(f"The sheet {other[:40]} is not read.")
    ctx = Context(findings, planned, reader, existing, today or timezone.localdate())
    plan = _check_tables(ctx, tables)
    for place, count in findings.rounded.items():
        findings.note(
            f"{place}: {count} amount{'s were' if count > 1 else ' was'} rounded to"
            f" {reader.places} decimals of {planned.currency}."
        )
    faults = tuple(sorted(findings.faults, key=_place))
    doubles = () if faults or build is None else likely_doubles(build, plan)
    return Checked(None if faults else plan, faults, tuple(findings.notes), doubles)


def _check_tables(ctx: Context, tables: Mapping[str, Table]) -> Plan:
    ctx.create_components = not tables[COMPONENTS.title].is_present
    check_elements(ctx, tables[ELEMENTS.title])
    suppliers = check_suppliers(ctx, tables[SUPPLIERS.title])
    newest = check_components(ctx, tables[COMPONENTS.title])
    purchases = check_purchases(ctx, tables[PURCHASES.title], tables[CHARGES.title])
    stock = Stock()
    check_moved_in(ctx, tables[MOVED_IN.title], stock)
    check_conversions(ctx, tables[CONVERSIONS.title], stock)
    check_left_over(ctx, tables[LEFT_OVER.title], stock)
    ways = check_ways(ctx, tables[WAYS.title])
    older = check_prices(ctx, tables[PRICES.title])
    tasks = check_tasks(ctx, tables[TASKS.title])
    labour = check_labour(ctx, tables[LABOUR.title])
    shares = check_shares(ctx, tables[SHARES.title])
    payments = check_payments(ctx, tables[PAYMENTS.title])
    lessons = check_lessons(ctx, tables[LESSONS.title])
    if not ctx.findings.has_faults(*QUANTITY_SHEETS):
        check_balance(ctx, purchases, stock)
    return Plan(
        build=ctx.build,
        elements=tuple(ctx.new_elements),
        suppliers=tuple(
            suppliers.get(key, Planned({"name": name})) for key, name in ctx.suppliers.new.items()
        ),
        persons=tuple(Planned({"name": name}) for name in ctx.persons.new.values()),
        components=tuple(part for key in ctx.new_components if (part := ctx.components[key])),
        # Of two prices of one day the later entry counts; the Components sheet has the newest.
        prices=(*older, *newest),
        purchases=tuple(purchases),
        conversions=tuple(stock.conversions),
        ways=tuple(ways),
        left_over=tuple(stock.left_over),
        moved_out=tuple(stock.moved_out),
        moved_in=tuple(stock.moved_in),
        tasks=tuple(tasks.get(key, Planned({"name": name})) for key, name in ctx.tasks.new.items()),
        labour=tuple(labour),
        shares=tuple(shares),
        payments=tuple(payments),
        lessons=tuple(lessons),
    )


_ORDER = {title: index for index, title in enumerate((BUILD, *(sheet.title for sheet in SHEETS)))}


def _place(fault: Fault) -> tuple[int, int]:
    return _ORDER[fault.sheet], fault.row or 0
