"""Writing a checked workbook: all of it or nothing."""

from collections.abc import Iterable
from typing import Any, Protocol

from django.contrib.auth.models import AbstractBaseUser
from django.db import IntegrityError, models, transaction

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..choices import Role
from ..models import (
    Build,
    BuildArea,
    Change,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    DistanceRate,
    Element,
    LabourEntry,
    LeftOver,
    Member,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Supplier,
    Task,
)
from ..queries.exchange import keyed, list_components
from ..queries.purchases import derive_purchase, get_price_book
from .errors import LedgerError
from .ledger import check_stock, cost_purchases, lock_build

BATCH = 1000


class ImportPlan(Protocol):
    """What a checked workbook adds; made by the exchange package."""

    build: Any
    elements: Iterable[Any]
    suppliers: Iterable[Any]
    persons: Iterable[str]
    components: Iterable[Any]
    prices: Iterable[Any]
    purchases: Iterable[Any]
    conversions: Iterable[Any]
    left_over: Iterable[Any]
    tasks: Iterable[Any]
    labour: Iterable[Any]

    def counts(self) -> dict[str, int]:
        """How many of each are added."""


def import_plan(
    *,
    actor: AbstractBaseUser | None,
    plan: ImportPlan,
    build: Build | None = None,
    owner: AbstractBaseUser | None = None,
) -> Build:
    """Write a plan into a new build, or into ``build``; ``owner`` becomes its owner.

    Raises LedgerError when the build changed since the plan was checked.
    """
    try:
        with transaction.atomic():
            return _Import(plan, build).run(actor, owner)
    except IntegrityError:
        raise LedgerError(
            "The build was changed while the workbook was being checked: import it again."
        ) from None


class _Import:
    """One import; the parts are written in the order in which they need each other."""

    def __init__(self, plan: ImportPlan, build: Build | None):
        self.plan = plan
        self.is_new = build is None
        self.build = lock_build(build) if build is not None else self._create_build()
        self.elements: dict[str, int] = {}
        self.components: dict[str, int] = {}
        self.parts: dict[int, Component] = {}

    def run(self, actor: AbstractBaseUser | None, owner: AbstractBaseUser | None) -> Build:
        """Write everything, derive, check, and keep one line of history."""
        self._write_names()
        self._write_components()
        self._write_purchases()
        self._write_stock()
        self._write_labour()
        if owner is not None and self.is_new:
            Member.objects.create(build=self.build, user=owner, role=Role.OWNER)
        if not self.is_new and self.plan.prices:
            # New prices may divide lots differently that were bought before.
            cost_purchases(self.build)
        check_stock(self.build)
        counts = ", ".join(f"{count:,} {what}" for what, count in self.plan.counts().items())
        Change.objects.create(
            build=self.build,
            actor=actor,
            action="imported",
            record_type="build",
            record_id=self.build.pk,
            summary=f"Workbook imported: {counts or 'nothing new'}"[:300],
        )
        return self.build

    def _create_build(self) -> Build:
        planned = self.plan.build
        build = Build.objects.create(
            name=planned.name,
            currency=planned.currency,
            budget_amount=planned.budget_amount,
            contingency_percent=planned.contingency_percent,
            retail_tax_percent=planned.retail_tax_percent,
            own_labour_rate=planned.own_labour_rate,
            distance_unit=planned.distance_unit,
        )
        BuildArea.objects.bulk_create(
            BuildArea(build=build, label=label, area_qty=qty, area_unit=unit)
            for label, qty, unit in planned.areas
        )
        DistanceRate.objects.bulk_create(
            DistanceRate(build=build, from_on=from_on, rate=rate) for from_on, rate in planned.rates
        )
        return build

    def _create(self, rows: Iterable[models.Model]) -> list[Any]:
        """Write rows of one model in batches; they come back with their keys."""
        listed = list(rows)
        if listed:
            type(listed[0])._default_manager.bulk_create(listed, batch_size=BATCH)
        return listed

    def _write_names(self) -> None:
        plan, build = self.plan, self.build
        self._create(
            Element(build=build, code=e.code, name=e.name, budget_amount=e.budget_amount)
            for e in plan.elements
        )
        self.elements = keyed(Element, build, "code")
        self._create(
            Supplier(build=build, name=s.name, place=s.place, contact=s.contact, note=s.note)
            for s in plan.suppliers
        )
        self.suppliers = keyed(Supplier, build)
        self._create(Person(build=build, name=name) for name in plan.persons)
        self.persons = keyed(Person, build)

    def _element(self, key: str | None) -> int | None:
        return None if key is None else self.elements[key]

    def _write_components(self) -> None:
        self._create(
            Component(
                build=self.build,
                name=c.name,
                element_id=self._element(c.element),
                unit=c.unit,
                contents=c.contents,
                required_text=c.required_text,
                required_qty=c.required_qty,
                waste_percent=c.waste_percent,
                new_qty_per_one=c.new_qty_per_one,
                would_buy_new=c.would_buy_new,
                life_years=c.life_years,
                note=c.note,
            )
            for c in self.plan.components
        )
        self.components = keyed(Component, self.build)
        self._create(
            RetailPrice(
                component_id=self.components[p.component],
                price=p.price,
                per_text=p.per_text,
                per_qty=p.per_qty,
                priced_on=p.priced_on,
                priced_at=p.priced_at,
            )
            for p in self.plan.prices
        )
        self.parts = {part.pk: part for part in list_components(self.build)}
        self.book = get_price_book(self.build)

    def _write_purchases(self) -> None:
        planned = list(self.plan.purchases)
        purchases = self._create(
            Purchase(
                build=self.build,
                number=p.number,
                bought_on=p.bought_on,
                supplier_id=None if p.supplier is None else self.suppliers[p.supplier],
                state=p.state,
                paid_by_id=None if p.paid_by is None else self.persons[p.paid_by],
                lot_price_amount=p.lot_price_amount,
                lot_split=p.lot_split,
                note=p.note,
            )
            for p in planned
        )
        lines: list[PurchaseLine] = []
        charges: list[Charge] = []
        for purchase, source in zip(purchases, planned, strict=True):
            own_lines, own_charges = self._lines(purchase, source), self._charges(purchase, source)
            self._derive(purchase, own_lines, own_charges)
            lines += own_lines
            charges += own_charges
        self._create(lines)
        self._create(charges)

    def _lines(self, purchase: Purchase, source: Any) -> list[PurchaseLine]:
        return [
            PurchaseLine(
                purchase=purchase,
                position=position,
                component=self.parts[self.components[line.component]],
                quantity_text=line.quantity_text,
                source=line.source,
                obtained_by=line.obtained_by,
                usable_percent=line.usable_percent,
                unit_price=line.unit_price,
                price_per_text=line.price_per_text,
                line_price_amount=line.line_price_amount,
                lot_weight=line.lot_weight,
                note=line.note,
            )
            for position, line in enumerate(source.lines)
        ]

    def _charges(self, purchase: Purchase, source: Any) -> list[Charge]:
        return [
            Charge(
                purchase=purchase,
                position=position,
                kind=charge.kind,
                amount=charge.amount,
                percent=charge.percent,
                percent_on=charge.percent_on,
                distance_text=charge.distance_text,
                spread_by=charge.spread_by,
            )
            for position, charge in enumerate(source.charges)
        ]

    def _derive(self, purchase: Purchase, lines: list[PurchaseLine], charges: list[Charge]) -> None:
        """Fill the derived fields before the rows are written.

        The same figures as ``ledger.cost_purchases`` gives, which would have to read and write
        every row a second time: for a large workbook most of the time of an import.
        """
        try:
            derived = derive_purchase(purchase, lines, charges, self.book)
        except (CostingError, QuantityError) as error:
            raise LedgerError(f"Purchase {purchase.number}: {error}") from None
        for line, figures in zip(lines, derived.lines, strict=True):
            for name, value in figures.items():
                setattr(line, name, value)
        for charge, amount in zip(charges, derived.charges, strict=True):
            charge.charged_amount = amount

    def _write_stock(self) -> None:
        planned = list(self.plan.conversions)
        conversions = self._create(
            Conversion(
                build=self.build,
                number=c.number,
                converted_on=c.converted_on,
                source_id=self.components[c.source],
                used_text=c.used_text,
                used_qty=c.used_qty,
                extra_cost_amount=c.extra_cost_amount,
                hours=c.hours,
                note=c.note,
            )
            for c in planned
        )
        self._create(
            ConversionOutput(
                conversion=conversion,
                position=position,
                component_id=self.components[output.component],
                made_text=output.made_text,
                made_qty=output.made_qty,
            )
            for conversion, source in zip(conversions, planned, strict=True)
            for position, output in enumerate(source.outputs)
        )
        self._create(
            LeftOver(
                component_id=self.components[entry.component],
                noted_on=entry.noted_on,
                quantity_text=entry.quantity_text,
                base_qty=entry.base_qty,
                fate=entry.fate,
                proceeds_amount=entry.proceeds_amount,
                note=entry.note,
            )
            for entry in self.plan.left_over
        )

    def _write_labour(self) -> None:
        self._create(
            Task(
                build=self.build,
                name=t.name,
                element_id=self._element(t.element),
                planned_hours=t.planned_hours,
                done_percent=t.done_percent,
            )
            for t in self.plan.tasks
        )
        tasks = keyed(Task, self.build)
        self._create(
            LabourEntry(
                build=self.build,
                worked_on=entry.worked_on,
                person_id=self.persons[entry.person],
                task_id=None if entry.task is None else tasks[entry.task],
                kind=entry.kind,
                hours=entry.hours,
                paid_amount=entry.paid_amount,
                note=entry.note,
            )
            for entry in self.plan.labour
        )
