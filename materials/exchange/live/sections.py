"""Sections of the cost sheet: by source, by task, by person, and what is still needed.

What each section leaves out of its rows, such as hours without a task or a name that was typed
since, stands in a row of its own, so that the rows always sum to the total.
"""

from collections.abc import Iterable
from fractions import Fraction
from typing import TYPE_CHECKING

from ...calc.prices import average_and_new
from ...calc.sources import MOVED_IN
from ...calc.stock import Position
from ...choices import State
from ..columns import Kind
from ..pages import SPARE_ROWS
from ..schema import LABOUR
from .facts import OF_LABOUR, OF_TASKS, ChangedMeanwhile
from .grids import COMPONENTS, PURCHASES
from .refs import UNKNOWN, Formula, number, quoted

if TYPE_CHECKING:
    from .cost_sheet import Cell, CostSheetPage

NOT_KNOWN = quoted(UNKNOWN)
AMOUNT, NUMBER, HOURS = Kind.AMOUNT, Kind.NUMBER, Kind.HOURS
ZERO = Fraction(0)
OF_SOURCES = ("landed cost", "retail equivalent", "without a new price")
# The totals that hold what is still needed, at what was paid so far and new.
PRICED = ("at prices so far", "bought new")


def write_sections(page: "CostSheetPage") -> None:
    """The sections one below the other; one without rows is left out."""
    _sources(page)
    _tasks(page)
    _persons(page)
    _still_needed(page)


def _sum(cells: str) -> str:
    """The sum of the cells that are known; “not known” where none is."""
    return f"IF(COUNT({cells})=0,{NOT_KNOWN},SUM({cells}))"


def _sources(page: "CostSheetPage") -> None:
    page.head("By source", "Landed cost", "Retail equivalent", "Without a new price")
    moved = page.figures.moved_in
    listed = [
        (row.source, (row.cost, row.retail_equivalent, row.left_out))
        for row in (*page.figures.sources, *([moved] if moved else []))
    ]
    for kind, values in listed:
        label = "Moved in from other builds" if kind == MOVED_IN else kind.capitalize()
        cells = [page.totals.cell(f"{key}, {kind}") for key in OF_SOURCES]
        page.line(label, *zip(cells, values, (AMOUNT,) * 3, strict=True))
    sums: list[Cell] = []
    for key, column in zip(OF_SOURCES, zip(*(v for _, v in listed), strict=True), strict=True):
        cells = [page.totals.cell(f"{key}, {kind}") for kind, _ in listed]
        sums.append((_sum(",".join(cells)), _sum_known(column), AMOUNT))
    page.sum(*sums)


def _worked(page: "CostSheetPage", key: str) -> str:
    """Hours of the entries whose cell of that key is the label of the row."""
    last = page.facts.counts[LABOUR.title] + 1 + SPARE_ROWS
    named, hours = (OF_LABOUR.span(which, 2, last) for which in (key, "hours"))
    return f"SUMPRODUCT(({named}=$A{page.row})*{hours})"


def _tasks(page: "CostSheetPage") -> None:
    if not page.facts.tasks:
        return
    by_key = {row.task.key: row for row in page.figures.tasks if row.task}
    page.head("By task", "Planned hours", "Worked hours")
    first, plans, worked = page.row, [], ZERO
    for pk, at in page.facts.tasks.items():
        row = by_key.get(pk)
        if row is None or row.task is None:
            raise ChangedMeanwhile
        stated, same = OF_TASKS.cell("planned_hours", at), OF_TASKS.cell("name", at)
        planned = f'IF({same}=$A{page.row},IF({stated}="",{NOT_KNOWN},{stated}),NA())'
        hours = (_worked(page, "task"), row.hours, HOURS)
        page.line(row.task.name, (planned, row.task.planned_hours, HOURS), hours)
        plans.append(row.task.planned_hours)
        worked += row.hours
    last, total = page.row - 1, page.figures.hours.total
    rest = f"({page.totals.cell('hours')}-SUM(C{first}:C{last}))"
    page.line("Without a task", None, (rest, total - worked, HOURS))
    page.sum(
        (_sum(f"B{first}:B{last}"), _sum_known(plans), HOURS),
        (page.totals.cell("hours"), total, HOURS),
    )


def _persons(page: "CostSheetPage") -> None:
    rows = page.figures.persons
    if not rows:
        return
    page.head("By person", "Paid out", "Hours")
    first, paid, hours = page.row, ZERO, ZERO
    for row in rows:
        out = row.share.person.paid_out
        cells = (_paid_out(page, out), out, AMOUNT), (_worked(page, "person"), row.hours, HOURS)
        page.line(row.share.person.name, *cells)
        paid += out
        hours += row.hours
    last, total = page.row - 1, page.figures.hours.total
    received = sum((part.received_cost for part in page.figures.build.components), ZERO)
    all_paid = f"SUM({COMPONENTS.span('received_cost', *page.totals.span)})"
    all_hours = page.totals.cell("hours")
    page.line(
        "Nobody by name",
        (f"({all_paid}-SUM(B{first}:B{last}))", received - paid, AMOUNT),
        (f"({all_hours}-SUM(C{first}:C{last}))", total - hours, HOURS),
    )
    page.sum((all_paid, received, AMOUNT), (all_hours, total, HOURS))


def _paid_out(page: "CostSheetPage", now: Fraction) -> str:
    """What somebody paid for what was received; as it was where lines are not followed."""
    if not page.facts.follows_lines:
        return number(now)
    span = (2, max(2, page.facts.purchases))
    payer, state, landed = (PURCHASES.span(key, *span) for key in ("payer", "state", "landed"))
    return f"SUMPRODUCT(({payer}=$A{page.row})*({state}={quoted(State.RECEIVED)})*{landed})"


def _still_needed(page: "CostSheetPage") -> None:
    by_key = {row.position.component.key: row.position for row in page.figures.components}
    listed = [(part.row, by_key.get(pk)) for pk, part in page.facts.parts.items()]
    needed = [(at, position) for at, position in listed if position and position.still_needed]
    if not needed:
        return
    page.head("Still needed", "At prices so far", "New", "", "Quantity", "Unit")
    first = page.row
    costs = [_needed(page, at, position) for at, position in needed]
    last, totals = page.row - 1, page.totals
    out = f"({totals.cell('spent')}+{totals.cell('committed')})"
    sums: list[Cell] = []
    for column, key, values in zip("BC", PRICED, zip(*costs, strict=True), strict=True):
        rest = f"({totals.cell(key)}-{out})"
        none = f"COUNT({column}{first}:{column}{last})=0"
        sums.append((f"IF({none},{NOT_KNOWN},{rest})", _sum_known(values), AMOUNT))
    # A change can make more of them needed than had a row when this was written.
    all_needed = f'COUNTIF({COMPONENTS.span("needed", *totals.span)},">0")'
    more = f'{all_needed}-COUNTIF(E{first}:E{last},">0")'
    label = f'IF({more}>0,"Total, with "&({more})&" more since a change","Total")'
    page.sum(*sums, label=Formula(label, "Total"))


def _needed(
    page: "CostSheetPage", at: int, position: Position
) -> tuple[Fraction | None, Fraction | None]:
    """What is needed of a component and what that costs; gives both costs."""
    needed, tax = position.still_needed or ZERO, page.figures.build.retail_tax_share
    so_far, bought_new = (
        None if one is None else needed * one
        for one in average_and_new(position.component, position.average, tax)
    )

    def priced(key: str) -> str:
        return f"IF({COMPONENTS.cell('unforecast', at)}=1,{NOT_KNOWN},{COMPONENTS.cell(key, at)})"

    page.page.text(page.row, 5, position.component.unit, page.kinds[Kind.TEXT])
    page.line(
        position.component.name,
        (priced("low"), so_far, AMOUNT),
        (priced("high"), bought_new, AMOUNT),
        None,
        (COMPONENTS.cell("needed", at), needed, NUMBER),
    )
    return so_far, bought_new


def _sum_known(values: Iterable[Fraction | None]) -> Fraction | None:
    known = [value for value in values if value is not None]
    return sum(known, ZERO) if known else None
