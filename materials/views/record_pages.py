"""The pages of an element, a supplier, a task and a person: their figures and their rows.

Each begins with at most three figures; all of them are those of the cost sheet.
"""

from collections.abc import Iterable
from typing import Any

from django.http import Http404, HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone

from ..calc.progress.hours import task_progress
from ..calc.progress.money import element_budgets
from ..calc.reports import compare
from ..calc.trace.settling import BALANCE, SHARE
from ..models import Build, Photo, PurchaseLine
from ..queries.kept import get_kept_sheet
from ..queries.labour import list_labour, list_tasks, sum_labour
from ..queries.lessons import lessons_touching
from ..queries.photos import receipts_of
from ..queries.progress import list_task_plans
from ..queries.purchases import list_lines, list_purchases
from ..queries.records import get_record
from ..queries.settling import list_payments_of
from ..queries.suppliers import list_suppliers, sum_received
from ..tables.base import LedgerTable
from ..tables.labour import LabourTable, TaskTable
from ..tables.purchases import LineTable, PurchaseTable
from ..tables.settling import PaymentTable
from ..templatetags.figures import Number, balance, hours, money, signed_percent, stated_percent
from .base import build_view, page, record_urls
from .builds import written
from .lessons import beside

SHOWN = 25
NONE_STATED = "none stated"
Row = dict[str, Any]


@build_view()
def element(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """An element: what is in it, against its budget and against new."""
    record = _record(build, "element", pk)
    sheet, currency = get_kept_sheet(build, timezone.localdate()), build.currency
    parts = [row for row in sheet.components if row.position.component.element == pk]
    figures = compare(parts)
    budget = next((b for b in element_budgets(sheet) if b.element and b.element.key == pk), None)
    entries = list_labour(build).filter(task__element=pk)
    tasks = list_tasks(build).filter(element=pk)
    lines = list(list_lines(build).filter(component__element=pk)[:SHOWN])
    ordered = _url(build, "purchase_lines", f"?element={pk}&state=ordered")
    chief = [
        _figure("Cost", money(figures.cost, currency), "#parts-title"),
        _figure("Savings", money(figures.savings, currency), "#parts-title"),
    ]
    if budget is not None and budget.budget is not None:
        chief.insert(1, _figure("Left of the budget", money(budget.left, currency)))
    ledger = _sums(
        currency,
        ("Budget", budget.budget if budget else None, ""),
        ("Ordered", budget.committed if budget else None, ordered),
        ("Retail equivalent", figures.retail_equivalent, ""),
        ("Cost of the same components", figures.priced_cost, ""),
    )
    if worked := sum_labour(entries)["hours"]:
        url = _url(build, "labour", f"?element={pk}")
        ledger.append(_figure("Hours of its tasks", hours(worked), url))
    return _show(
        request,
        build,
        f"{record.code} {record.name}",
        "elements",
        edit_url=_url(build, "element_edit", pk=pk),
        edit_label="Change element",
        chief=chief,
        ledger=ledger,
        parts=parts,
        figures=figures,
        tables=[
            _rows(
                "Purchase lines",
                LineTable(lines, **_of(build)),
                _url(build, "purchase_lines", f"?element={pk}"),
            ),
            _rows("Tasks", TaskTable(tasks[:SHOWN], **_of(build, "element"))),
            _rows(
                "Hours",
                LabourTable(entries[:SHOWN], **_of(build)),
                _url(build, "labour", f"?element={pk}"),
            ),
        ],
        receipts=_receipts(build, lines),
        lessons=_lessons(request, build, "element", record),
        **record_urls(build, "element", pk),
    )


@build_view()
def supplier(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """A supplier: what came from there, against new."""
    record = list_suppliers(build).get(pk=pk)
    got = sum_received(build, record, get_kept_sheet(build, timezone.localdate()))
    below, currency = got.compared.below_new_percent, build.currency
    bought = _url(build, "purchase_lines", f"?supplier={pk}&state=received")
    landed = _figure("Landed cost received", money(got.landed, currency), bought)
    if got.unknown_lines:
        landed["more"] = "A price that is not known is left out."
    against = _figure("Against new", signed_percent(None if below is None else -below))
    if got.compared.left_out and below is not None:
        against["more"] = f"Without a new price: {money(got.compared.left_out, currency)}."
    last = f"{record.last_on:%-d %b %Y}" if record.last_on else written(None, "", currency)
    facts = [("Place", record.place), ("Contact", record.contact)]
    lines = list(list_lines(build).filter(of_supplier=pk)[:SHOWN])
    return _show(
        request,
        build,
        record.name,
        "suppliers",
        intro="No longer there." if record.is_gone else "",
        edit_url=_url(build, "supplier_edit", pk=pk),
        edit_label="Change supplier",
        chief=[landed, against, _figure("Last purchase", last)],
        facts=[fact for fact in facts if fact[1]],
        note=record.note,
        tables=[
            _rows(
                "Purchases",
                PurchaseTable(
                    list_purchases(build).filter(supplier=pk)[:SHOWN], **_of(build, "supplier")
                ),
                _url(build, "purchases", f"?supplier={pk}"),
            ),
            _rows(
                "Purchase lines",
                LineTable(lines, **_of(build)),
                _url(build, "purchase_lines", f"?supplier={pk}"),
            ),
        ],
        receipts=_receipts(build, lines),
        lessons=_lessons(request, build, "supplier", record),
        **record_urls(build, "supplier", pk),
    )


@build_view()
def task(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """A task: its hours against the plan."""
    record = list_tasks(build).get(pk=pk)
    sheet = get_kept_sheet(build, timezone.localdate())
    row = next(
        row
        for row in task_progress(sheet, list_task_plans(build))
        if row.task is not None and row.task.key == pk
    )
    entries = list_labour(build).filter(task=pk)
    own = _url(build, "labour", f"?task={pk}")
    facts = [("Done", stated_percent(row.done_percent))]
    return _show(
        request,
        build,
        record.name,
        "labour",
        edit_url=_url(build, "task_edit", pk=pk),
        edit_label="Change task",
        chief=[
            _figure("Worked", hours(row.worked), own),
            _figure("Planned", NONE_STATED if row.planned is None else hours(row.planned)),
            _figure("Forecast", hours(row.forecast)),
        ],
        element=record.element,
        facts=facts,
        tables=[_rows("Hours", LabourTable(entries[:SHOWN], **_of(build, "task")), own)],
        lessons=_lessons(request, build, "task", record),
        **record_urls(build, "task", pk),
    )


@build_view()
def person(request: HttpRequest, build: Build, pk: int) -> HttpResponse:
    """A person: what was paid, what falls to them, and the hours they worked."""
    sheet = get_kept_sheet(build, timezone.localdate())
    row = next((row for row in sheet.persons if row.share.person.key == pk), None)
    if row is None:
        raise Http404
    share, currency = row.share, build.currency
    paid = _url(build, "purchase_lines", f"?state=received&paid_by={pk}")
    worked = _url(build, "labour", f"?person={pk}")
    entries = list_labour(build).filter(person=pk)
    ledger = _sums(
        currency,
        ("Share", share.share, _trace(build, f"{SHARE}{pk}")),
        ("Own hours at the rate", share.worked, f"{worked}&paid=no"),
        ("Payments made", share.person.payments_made, _url(build, "hand_overs", f"?giver={pk}")),
        (
            "Payments received",
            share.person.payments_received,
            _url(build, "hand_overs", f"?receiver={pk}"),
        ),
        ("Paid to them for hours", sum_labour(entries)["paid"], f"{worked}&paid=yes"),
    )
    return _show(
        request,
        build,
        share.person.name,
        "settling",
        chief=[
            _figure("Balance", balance(share.balance, currency), _trace(build, f"{BALANCE}{pk}")),
            _figure("Paid", money(share.person.paid_out, currency), paid),
            _figure("Hours", hours(row.hours), worked),
        ],
        ledger=ledger,
        tables=[
            _rows(
                "Purchases paid",
                PurchaseTable(list_purchases(build).filter(paid_by=pk)[:SHOWN], **_of(build)),
                _url(build, "purchases", f"?paid_by={pk}"),
            ),
            _rows("Hours", LabourTable(entries[:SHOWN], **_of(build, "person")), worked),
            _rows("Payments", PaymentTable(list_payments_of(build, pk)[:SHOWN], **_of(build))),
        ],
    )


def _lessons(request: HttpRequest, build: Build, about: str, record: Any) -> Row:
    """What was learned of what is called so, here and in the user's other builds."""
    found = lessons_touching(request.user, build, **{about: [record.name]})
    return beside(found, about, record.pk)


def _receipts(build: Build, lines: Iterable[PurchaseLine]) -> list[tuple[Photo, str]]:
    """Photos of the purchases whose lines are shown."""
    return receipts_of(build, [line.purchase_id for line in lines], SHOWN)


def _record(build: Build, kind: str, pk: int) -> Any:
    record = get_record(build, kind, pk)
    if record is None:
        raise Http404
    return record


def _url(build: Build, name: str, query: str = "", pk: int | None = None) -> str:
    return reverse(name, args=[build.pk] if pk is None else [build.pk, pk]) + query


def _trace(build: Build, name: str) -> str:
    return reverse("figure", args=[build.pk, name])


def _figure(label: str, text: Any, url: str = "") -> Row:
    return {"label": label, "text": text, "url": url}


def _sums(currency: str, *rows: tuple[str, Number | None, str]) -> list[Row]:
    """An account of what there is: label, amount and the address of its rows."""
    return [_figure(label, money(amount, currency), url) for label, amount, url in rows if amount]


def _of(build: Build, *without: str) -> dict[str, Any]:
    """What a table of a page is made with: what its page is of needs no column."""
    return {"build": build, "exclude": without, "orderable": False}


def _rows(heading: str, table: LedgerTable, url: str = "") -> Row:
    return {"heading": heading, "table": table, "url": url}


def _show(
    request: HttpRequest,
    build: Build,
    title: str,
    section: str,
    *,
    tables: Iterable[Row],
    **context: Any,
) -> HttpResponse:
    """The page; a table without rows is left out."""
    filled = [part for part in tables if len(part["table"].rows)]
    return page(
        request, build, "record.html", section=section, title=title, tables=filled, **context
    )
