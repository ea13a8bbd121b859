"""Reads for import and export."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from typing import Any, NamedTuple, TypeVar

from django.contrib.auth import get_user_model
from django.contrib.auth.models import User
from django.db.models import Model, Prefetch, QuerySet

from ..calc.stock import work_out_positions
from ..models import (
    Build,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    DistanceRate,
    Element,
    LabourEntry,
    LeftOver,
    Lesson,
    Move,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Supplier,
    Task,
    WayToMake,
)
from ..models.lessons import ABOUT
from ..models.stated import stated_fields
from .stock import get_stock_inputs

CHUNK = 1000
Record = TypeVar("Record", bound=Model)


class WrittenLine(NamedTuple):
    """A purchase line as it is written; of derived figures only its landed cost, None unknown.

    A record of the database costs more than all else of a row; a hundred thousand are written.
    """

    purchase: Purchase
    component: Component
    # What is stated of it, by field.
    values: dict[str, Any]
    landed: Decimal | None


def name_key(name: str) -> str:
    """What makes two names the same: case and doubled spaces do not count."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True)
class ExistingComponent:
    """A component that is there already; ``on_site`` is what could still be used up."""

    name: str
    unit: str
    contents: str
    on_site: Fraction


@dataclass(frozen=True)
class ExistingBuild:
    """What an import into a build must agree with. Everything is found by ``name_key``."""

    name: str
    currency: str
    distance_unit: str
    time_zone: str
    rates: tuple[tuple[date | None, Decimal], ...]
    elements: dict[str, str]
    components: dict[str, ExistingComponent]
    suppliers: frozenset[str]
    persons: frozenset[str]
    tasks: frozenset[str]
    purchases: frozenset[str]
    conversions: frozenset[str]
    conversion_steps: frozenset[tuple[str, str]]
    prices: frozenset[tuple[str, date]]
    ways: frozenset[tuple[str, str]] = frozenset()
    lessons: frozenset[tuple[date, str, str]] = frozenset()


def find_import_owner(username: str | None) -> User | None:
    """The named user, or the only active one; None when nobody is named and there are several.

    Raises User.DoesNotExist for a name nobody has.
    """
    users = get_user_model().objects.filter(is_active=True)
    if username is not None:
        return users.get(**{get_user_model().USERNAME_FIELD: username})
    found = list(users[:2])
    return found[0] if len(found) == 1 else None


def get_existing_build(build: Build) -> ExistingBuild:
    """Everything an import is checked against, in a fixed number of queries."""

    def keys(queryset: QuerySet[Any], field: str) -> frozenset[str]:
        return frozenset(map(name_key, queryset.values_list(field, flat=True).order_by()))

    positions = work_out_positions(*get_stock_inputs(build))
    # What somebody else adds meanwhile has no position yet.
    in_building = {key: position.in_building for key, position in positions.items()}
    components = {
        name_key(name): ExistingComponent(name, unit, contents, in_building.get(pk, Fraction(0)))
        for pk, name, unit, contents in Component.objects.filter(build=build).values_list(
            "pk", "name", "unit", "contents"
        )
    }
    steps = ConversionOutput.objects.filter(conversion__build=build).order_by()
    prices = RetailPrice.objects.filter(component__build=build).order_by()
    return ExistingBuild(
        name=build.name,
        currency=build.currency,
        distance_unit=build.distance_unit,
        time_zone=build.time_zone,
        rates=tuple(
            DistanceRate.objects.filter(build=build).values_list("from_on", "rate").order_by()
        ),
        elements=dict(Element.objects.filter(build=build).values_list("code", "name").order_by()),
        components=components,
        suppliers=keys(Supplier.objects.filter(build=build), "name"),
        persons=keys(Person.objects.filter(build=build), "name"),
        tasks=keys(Task.objects.filter(build=build), "name"),
        purchases=keys(Purchase.objects.filter(build=build), "number"),
        conversions=keys(Conversion.objects.filter(build=build), "number"),
        conversion_steps=frozenset(
            (name_key(source), name_key(made))
            for source, made in steps.values_list(
                "conversion__source__name", "component__name"
            ).distinct()
        ),
        prices=frozenset(
            (name_key(name), on) for name, on in prices.values_list("component__name", "priced_on")
        ),
        ways=frozenset(
            (name_key(source), name_key(made))
            for source, made in WayToMake.objects.filter(build=build)
            .order_by()
            .values_list("source__name", "component__name")
        ),
        lessons=frozenset(
            (noted_on, kind, name_key(text))
            for noted_on, kind, text in Lesson.objects.filter(build=build)
            .order_by()
            .values_list("noted_on", "kind", "text")
        ),
    )


def list_distance_rates(build: Build) -> list[DistanceRate]:
    """Distance rates, the one from the beginning first."""
    rates = DistanceRate.objects.filter(build=build)
    return sorted(rates, key=lambda rate: rate.from_on or date.min)


def list_components(build: Build) -> QuerySet[Component]:
    """Components in no particular order."""
    return Component.objects.filter(build=build).order_by()


def iterate_elements(build: Build) -> Iterator[Element]:
    """Elements by code."""
    return _iterate(Element.objects.filter(build=build).order_by("code", "pk"))


def iterate_suppliers(build: Build) -> Iterator[Supplier]:
    """Suppliers by name."""
    return _iterate(Supplier.objects.filter(build=build))


def iterate_components(build: Build) -> Iterator[tuple[Component, RetailPrice | None]]:
    """Components by name, each with its newest price."""
    newest = Prefetch(
        "prices", RetailPrice.objects.order_by("-priced_on", "-pk"), to_attr="newest_first"
    )
    components = Component.objects.filter(build=build).select_related("element")
    for component in components.prefetch_related(newest).iterator(CHUNK):
        yield component, next(iter(component.newest_first), None)


def iterate_older_prices(build: Build) -> Iterator[RetailPrice]:
    """Every price but the newest of each component, oldest first."""
    prices = RetailPrice.objects.filter(component__build=build).select_related("component")
    held: RetailPrice | None = None
    for price in _iterate(prices.order_by("component_id", "priced_on", "pk")):
        if held is not None and held.component_id == price.component_id:
            yield held
        held = price


def iterate_ways(build: Build) -> Iterator[WayToMake]:
    """Stated ways to make, in order of entry."""
    ways = WayToMake.objects.filter(build=build).select_related("source", "component")
    return _iterate(ways.order_by("pk"))


def iterate_lessons(build: Build) -> Iterator[Lesson]:
    """Lessons in the order of entry."""
    lessons = Lesson.objects.filter(build=build).select_related(*ABOUT)
    return _iterate(lessons.order_by("pk"))


def iterate_purchase_lines(build: Build) -> Iterator[WrittenLine]:
    """Lines in the order of entry, those of one purchase together.

    What many of them share is read once: joined, it would be made anew for each line.
    """
    parts: dict[int, Component] = {}
    names = stated_fields(PurchaseLine)
    rows = (
        PurchaseLine.objects.filter(purchase__build=build)
        .order_by("purchase_id", "position", "pk")
        .values_list("purchase_id", "component_id", "price_amount", "landed_amount", *names)
        .iterator(CHUNK)
    )
    while chunk := list(islice(rows, CHUNK)):
        keys = {row[0] for row in chunk}
        purchases = Purchase.objects.select_related("supplier", "paid_by").in_bulk(keys)
        parts |= Component.objects.in_bulk({row[1] for row in chunk} - parts.keys())
        for purchase, component, price, landed, *values in chunk:
            # What was deleted a moment ago is no longer there to be written.
            if purchase in purchases and component in parts:
                said = dict(zip(names, values, strict=True)) | {"component": parts[component]}
                yield WrittenLine(
                    purchases[purchase], parts[component], said, None if price is None else landed
                )


def count_lines(build: Build) -> int:
    """How many purchase lines there are."""
    return PurchaseLine.objects.filter(purchase__build=build).count()


def iterate_charges(build: Build) -> Iterator[Charge]:
    """Charges in the order they apply, those of one purchase together."""
    return _iterate(
        Charge.objects.filter(purchase__build=build)
        .select_related("purchase")
        .order_by("purchase_id", "position", "pk")
    )


def list_charged(build: Build) -> dict[int, list[tuple[int, str]]]:
    """Place (from 2) and typed distance of each charge by purchase, in the same order."""
    charged: dict[int, list[tuple[int, str]]] = {}
    rows = Charge.objects.filter(purchase__build=build).order_by("purchase_id", "position", "pk")
    for place, (purchase, distance) in enumerate(
        rows.values_list("purchase_id", "distance_text").iterator(CHUNK), 2
    ):
        charged.setdefault(purchase, []).append((place, distance))
    return charged


def iterate_conversion_outputs(build: Build) -> Iterator[ConversionOutput]:
    """What conversions made, those of one conversion together."""
    return _iterate(
        ConversionOutput.objects.filter(conversion__build=build)
        .select_related("conversion__source", "component")
        .order_by("conversion_id", "position", "pk")
    )


def iterate_left_over(build: Build) -> Iterator[LeftOver]:
    """Left over in the order of entry."""
    return _iterate(
        LeftOver.objects.filter(component__build=build).select_related("component").order_by("pk")
    )


def iterate_transfers_out(build: Build) -> Iterator[Move]:
    """What left for other builds, in the order of entry."""
    transfers = Move.objects.filter(component__build=build).select_related("component")
    return _iterate(transfers.order_by("pk"))


def iterate_transfers_in(build: Build) -> Iterator[Move]:
    """What came from other builds, in the order of entry."""
    transfers = Move.objects.filter(to_component__build=build).select_related("to_component")
    return _iterate(transfers.order_by("pk"))


def iterate_tasks(build: Build) -> Iterator[Task]:
    """Tasks by name."""
    return _iterate(Task.objects.filter(build=build).select_related("element"))


def iterate_labour(build: Build) -> Iterator[LabourEntry]:
    """Labour in the order of entry."""
    return _iterate(
        LabourEntry.objects.filter(build=build).prefetch_related("person", "task").order_by("pk")
    )


def _iterate(queryset: QuerySet[Record]) -> Iterator[Record]:
    return queryset.iterator(CHUNK)


def keyed(model: type[Model], build: Build, field: str = "name") -> dict[str, int]:
    """Primary keys of a build's rows by ``name_key`` of a field."""
    rows = model._default_manager.filter(build=build).order_by().values_list("pk", field)
    return {name_key(name): pk for pk, name in rows}
