"""The inputs of a cost sheet: SQL sums scaled integers, Python sees one row a component.

Purchase lines come as running totals (``services.totals``). The number of queries does not
depend on how many lines, components or builds there are.
"""

from collections import defaultdict
from collections.abc import Collection
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import groupby

from django.db.models import Exists, OuterRef, Q, QuerySet

from ..calc.money import minor_units
from ..calc.reports import CostSheet, make_cost_sheet
from ..calc.types import (
    AreaInput,
    BuildInput,
    ComponentInput,
    ConversionInput,
    ElementInput,
    LabourInput,
    LabourKind,
    OutputInput,
    SourceInput,
    TaskInput,
)
from ..choices import Source, State
from ..fields import ExactSum
from ..models import (
    Build,
    BuildArea,
    Component,
    Conversion,
    ConversionOutput,
    Element,
    LabourEntry,
    Task,
)
from .price_book import PriceBook, list_prices_by_component
from .prices import list_newest_prices
from .settling import get_person_inputs
from .stock_sums import as_figures, sum_stock
from .totals import Sums, TotalKey, get_totals

ZERO = Fraction(0)


def get_cost_sheet(build: Build, on: date) -> CostSheet:
    """The cost sheet of a build with the new prices known on a date."""
    return make_cost_sheet(get_build_input(build, on))


def get_build_input(build: Build, on: date) -> BuildInput:
    """Everything the engine needs, in a fixed number of queries."""
    totals = get_totals(build)
    persons, payerless = get_person_inputs(build)
    return BuildInput(
        name=build.name,
        currency=build.currency,
        places=minor_units(build.currency),
        components=_components(build, on, totals),
        conversions=get_conversion_inputs(build),
        labour=_labour(build),
        sources=_sources(totals),
        elements=tuple(
            ElementInput(pk, code, name, frac(budget))
            for pk, code, name, budget in Element.objects.filter(build=build)
            .order_by("code", "pk")
            .values_list("pk", "code", "name", "budget_amount")
        ),
        tasks=tuple(
            TaskInput(pk, name, frac(planned))
            for pk, name, planned in Task.objects.filter(build=build).values_list(
                "pk", "name", "planned_hours"
            )
        ),
        persons=persons,
        areas=_areas(build),
        budget=frac(build.budget_amount),
        contingency_share=share(build.contingency_percent),
        retail_tax_share=share(build.retail_tax_percent) or ZERO,
        own_labour_rate=frac(build.own_labour_rate),
        own_hours_count=build.own_hours_count,
        payerless=payerless,
        unknown_ordered_lines=sum(
            sums.unknown for key, sums in totals.items() if key.state == State.ORDERED
        ),
    )


def frac(value: Decimal | None) -> Fraction | None:
    """Stored figure to exact fraction; None stays not known."""
    return None if value is None else Fraction(value)


def share(percent: Decimal | None) -> Fraction | None:
    """Per cent to a share of one."""
    return None if percent is None else Fraction(percent) / 100


def _components(build: Build, on: date, totals: dict[TotalKey, Sums]) -> tuple[ComponentInput, ...]:
    sums, unknown_transfers = sum_stock([build.pk])
    unknown: dict[int, int] = defaultdict(int)
    bought_new: dict[int, Fraction] = {}
    for of, total in totals.items():
        part = sums[of.component]
        if of.state == State.RECEIVED:
            part["received"] += total.usable
            part["received_cost"] += total.landed
            unknown[of.component] += total.unknown
            if of.source == Source.RETAIL and total.usable and not total.unknown:
                bought_new[of.component] = Fraction(total.landed) / Fraction(total.usable)
        elif of.state == State.ORDERED:
            part["ordered"] += total.usable
            part["ordered_cost"] += total.landed
    prices = _new_prices(build, on)
    listed = []
    # Plain values: nothing else of a component is asked for.
    for (
        key,
        name,
        unit,
        contents,
        element,
        required,
        waste,
        per_one,
        would,
    ) in Component.objects.filter(build=build).values_list(
        "pk",
        "name",
        "unit",
        "contents",
        "element_id",
        "required_qty",
        "waste_percent",
        "new_qty_per_one",
        "would_buy_new",
    ):
        listed.append(
            ComponentInput(
                key=key,
                name=name,
                unit=unit,
                contents=contents,
                element=element,
                required=frac(required),
                waste_share=share(waste) or ZERO,
                new_per_one=Fraction(per_one),
                retail_price=prices.get(key),
                bought_new=bought_new.get(key),
                would_buy_new=would,
                unknown_lines=unknown.get(key, 0),
                unknown_transfers=unknown_transfers.get(key, 0),
                **as_figures(sums.get(key, {})),
            )
        )
    return tuple(listed)


def _new_prices(build: Build, on: date) -> dict[int, Fraction]:
    """Newest new price on or before a date, of one base unit, by component."""
    rows = list_newest_prices(build, on)
    return {
        component: Fraction(price) / Fraction(per)
        for component, price, per in rows.values_list("component_id", "price", "per_qty")
    }


def get_conversion_inputs(build: Build) -> tuple[ConversionInput, ...]:
    """A build's conversions."""
    return list_conversion_inputs([build.pk])


def list_conversion_inputs(builds: Collection[int]) -> tuple[ConversionInput, ...]:
    """Conversions: those with one output summed in SQL, the few with several one by one."""
    others = ConversionOutput.objects.filter(conversion=OuterRef("conversion")).exclude(
        pk=OuterRef("pk")
    )
    outputs = ConversionOutput.objects.filter(conversion__build__in=builds).annotate(
        has_others=Exists(others)
    )
    single = (
        outputs.filter(has_others=False)
        .order_by()
        .values_list("conversion__source_id", "component_id")
        .annotate(
            used=ExactSum("conversion__used_qty"),
            made=ExactSum("made_qty"),
            extra=ExactSum("conversion__extra_cost_amount"),
        )
    )
    summed = [
        ConversionInput(source, used, (OutputInput(component, made),), extra)
        for source, component, used, made, extra in single
    ]
    return (*summed, *_split_conversions(builds, outputs.filter(has_others=True)))


def _split_conversions(
    builds: Collection[int], outputs: QuerySet[ConversionOutput]
) -> list[ConversionInput]:
    rows = outputs.order_by("conversion_id", "position", "pk").values_list(
        "conversion_id",
        "conversion__converted_on",
        "conversion__source_id",
        "conversion__used_qty",
        "conversion__extra_cost_amount",
        "component_id",
        "component__new_qty_per_one",
        "made_qty",
    )
    # New prices are read only where there is something to split.
    book = PriceBook(list_prices_by_component(builds) if rows else {}, [])
    return [
        _conversion_input(on, source, used, extra, [row[5:] for row in own], book)
        for (_, on, source, used, extra), own in groupby(rows, key=lambda row: row[:5])
    ]


def conversion_input(
    conversion: Conversion, outputs: list[ConversionOutput], book: PriceBook
) -> ConversionInput:
    """One conversion as the engine takes it; the split is by new prices around its date."""
    return _conversion_input(
        conversion.converted_on,
        conversion.source_id,
        conversion.used_qty,
        conversion.extra_cost_amount,
        [(made.component_id, made.component.new_qty_per_one, made.made_qty) for made in outputs],
        book,
    )


def _conversion_input(
    on: date,
    source: int,
    used: Decimal,
    extra_cost: Decimal,
    outputs: list[tuple[int, Decimal, Decimal]],
    book: PriceBook,
) -> ConversionInput:
    """Plain values, since there may be many; an output is component, new for one, and made."""
    made = []
    for component, per_one, qty in outputs:
        price = book.new_price_of(component, per_one, on)
        amount = Fraction(qty)
        made.append(OutputInput(component, amount, None if price is None else amount * price))
    return ConversionInput(source, Fraction(used), tuple(made), Fraction(extra_cost))


def _labour(build: Build) -> tuple[LabourInput, ...]:
    unpaid = Q(paid_amount__isnull=True) | Q(paid_amount=0)
    rows = (
        LabourEntry.objects.filter(build=build)
        .order_by()
        .values_list("kind", "task_id", "person_id")
        .annotate(
            own=ExactSum("hours", filter=unpaid),
            paid_hours=ExactSum("hours", filter=~unpaid),
            paid=ExactSum("paid_amount"),
        )
    )
    entries = [
        LabourInput(LabourKind(kind), own or ZERO, paid_hours or ZERO, paid or ZERO, task, person)
        for kind, task, person, own, paid_hours, paid in rows
    ]
    worked = Conversion.objects.filter(build=build).aggregate(hours=ExactSum("hours"))["hours"]
    if worked:
        entries.append(LabourInput(LabourKind.PREPARING, own_hours=worked))
    return tuple(entries)


def _sources(totals: dict[TotalKey, Sums]) -> tuple[SourceInput, ...]:
    return tuple(
        SourceInput(key.source, key.component, Fraction(sums.usable), Fraction(sums.landed))
        for key, sums in totals.items()
        if key.state == State.RECEIVED and sums.lines
    )


def _areas(build: Build) -> tuple[AreaInput, ...]:
    """Floor and envelope always, measured or not; then the builder's own."""
    measured = {area.label: area for area in BuildArea.objects.filter(build=build)}
    labels = [BuildArea.FLOOR, BuildArea.ENVELOPE]
    labels += [label for label in measured if label not in labels]
    listed = []
    for label in labels:
        area = measured.get(label)
        key = label.lower().removesuffix(" area")
        qty, unit = (None, None) if area is None else (Fraction(area.area_qty), area.area_unit)
        listed.append(AreaInput(key, label, qty, unit))
    return tuple(listed)
