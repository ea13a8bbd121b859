"""A cost sheet cut down to the parts a share link shows.

``access.open_link`` finds a link by the SHA-256 of its token. What is not ticked is ``None`` in the
frozen ``SharedSheet``, and the page is rendered from it without the request. A new figure goes into
the dataclass under its part (``money``, ``suppliers``, ``people``), and its text into
``tests/views/test_shared_page.py``. Tokens are kept out of the logs by ``buildledger.logs``; a
proxy's own log is outside the app. Wrong tokens are counted in Django's cache: with several
processes, one limit each unless ``CACHES`` is shared.
"""

from collections import defaultdict
from datetime import date
from fractions import Fraction

from django.db.models import Count, Q, Sum

from ..calc.left_out import list_left_out
from ..calc.progress.hours import task_progress
from ..calc.progress.needs import needs_met
from ..calc.reports import SOURCES, ComponentRow, CostSheet
from ..calc.types import Key
from ..choices import State
from ..models import Build, Purchase
from .progress import list_task_plans
from .reports import frac, get_cost_sheet
from .shared_types import (
    ComponentMoney,
    PersonMoney,
    SharedComponent,
    SharedElement,
    SharedMoney,
    SharedPerson,
    SharedSheet,
    SharedSource,
    SharedSupplier,
)
from .sharing import Parts

ZERO = Fraction(0)


def get_shared_sheet(build: Build, parts: Parts, on: date) -> SharedSheet:
    """The cost sheet of a build on a day as far as ``parts`` go; a fixed number of queries."""
    sheet = get_cost_sheet(build, on)
    return SharedSheet(
        name=build.name,
        on=on,
        areas=tuple(row.area for row in sheet.areas if row.area.area is not None),
        elements=_elements(sheet, parts),
        sources=_sources(sheet, parts),
        hours=tuple((kind.value, hours) for kind, hours in sheet.hours.by_kind.items()),
        hours_total=sheet.hours.total,
        hours_extra=sheet.hours.extra,
        tasks=task_progress(sheet, list_task_plans(build)),
        money=_money(sheet) if parts.prices else None,
        suppliers=_suppliers(build, parts) if parts.suppliers else None,
        people=_people(sheet, parts) if parts.people else None,
    )


def _elements(sheet: CostSheet, parts: Parts) -> tuple[SharedElement, ...]:
    groups: dict[Key | None, list[ComponentRow]] = defaultdict(list)
    for part in sheet.components:
        groups[part.position.component.element].append(part)
    tax, listed = sheet.build.retail_tax_share, []
    for row in sheet.elements:
        rows = groups[None if row.element is None else row.element.key]
        if not rows and not parts.prices and row.element is not None:
            continue
        code, name = ("", "Without an element")
        if row.element is not None:
            code, name = row.element.code, row.element.name
        worth = needs_met([part.position for part in rows], tax) if parts.prices else None
        components = tuple(_component(part, parts) for part in rows)
        listed.append(SharedElement(code, name, components, worth))
    return tuple(listed)


def _component(row: ComponentRow, parts: Parts) -> SharedComponent:
    position, part = row.position, row.position.component
    return SharedComponent(
        name=part.name,
        unit=part.unit,
        required=part.required,
        received=part.received,
        in_building=position.in_building,
        on_hand=part.on_hand,
        ordered=part.ordered,
        still_needed=position.still_needed,
        money=ComponentMoney(
            position.average, position.cost, row.retail_equivalent, part.would_buy_new
        )
        if parts.prices
        else None,
    )


def _sources(sheet: CostSheet, parts: Parts) -> tuple[SharedSource, ...]:
    rows = {row.source: row for row in sheet.sources}
    came = [(part.source, part.component) for part in sheet.build.sources]
    return tuple(
        SharedSource(
            source,
            len({component for from_, component in came if from_ == source}),
            rows[source] if parts.prices else None,
        )
        for source in SOURCES
    )


def _suppliers(build: Build, parts: Parts) -> tuple[SharedSupplier, ...]:
    """Where things were got or ordered; places of mere offers are not among them."""
    rows = (
        Purchase.objects.filter(
            build=build, supplier__isnull=False, state__in=[State.RECEIVED, State.ORDERED]
        )
        .order_by("supplier__name", "supplier_id")
        .values("supplier_id", "supplier__name", "supplier__place", "supplier__contact")
        .annotate(
            purchases=Count("pk"), landed=Sum("landed_amount", filter=Q(state=State.RECEIVED))
        )
    )
    return tuple(
        SharedSupplier(
            name=row["supplier__name"],
            place=row["supplier__place"],
            contact=row["supplier__contact"],
            purchases=row["purchases"],
            landed=(frac(row["landed"]) or ZERO) if parts.prices else None,
        )
        for row in rows
    )


def _people(sheet: CostSheet, parts: Parts) -> tuple[SharedPerson, ...]:
    return tuple(
        SharedPerson(
            row.share.person.name,
            row.hours,
            PersonMoney(row.share.person.paid_out, row.share.share, row.share.balance)
            if parts.prices
            else None,
        )
        for row in sheet.persons
    )


def _money(sheet: CostSheet) -> SharedMoney:
    build = sheet.build
    return SharedMoney(
        currency=build.currency,
        places=build.places,
        budget=sheet.budget,
        contingency=sheet.contingency,
        spent=sheet.spent,
        committed=sheet.committed,
        remaining=sheet.remaining,
        forecast=sheet.forecast,
        total=sheet.total,
        savings=sheet.savings,
        savings_percent=sheet.savings_percent,
        savings_after_own_labour=sheet.savings_after_own_labour,
        saved_per_extra_hour=sheet.saved_per_extra_hour,
        paid_labour=sheet.hours.paid_labour,
        own_labour_value=sheet.own_labour_value,
        own_labour_rate=build.own_labour_rate,
        areas=tuple(row for row in sheet.areas if row.area.area is not None),
        elements=sheet.elements,
        left_out=list_left_out(sheet, for_members=False),
    )
