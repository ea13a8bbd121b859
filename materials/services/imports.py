"""Writing a checked workbook: all of it or nothing."""

from collections.abc import Iterable
from typing import Any, Protocol, TypeVar

from django.contrib.auth.models import User
from django.db import DataError, IntegrityError, models, transaction

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
from .begin import SUPPLIER_FIELDS
from .errors import LedgerError
from .history import RECORDS
from .import_fields import (
    BUILD_FIELDS,
    CHARGE_FIELDS,
    COMPONENT_FIELDS,
    CONVERSION_FIELDS,
    LABOUR_FIELDS,
    LEFT_FIELDS,
    LINE_FIELDS,
    PRICE_FIELDS,
    PURCHASE_FIELDS,
)
from .import_moves import planned_moves
from .import_undo import register_import
from .ledger import check_stock, cost_purchases, lock_build
from .settling_imports import write_settling
from .totals import rebuild_totals

BATCH = 1000
_TYPES = {model: kind for kind, (model, _) in RECORDS.items()}

Row = TypeVar("Row", bound=models.Model)


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
    moved_in: Iterable[Any]
    tasks: Iterable[Any]
    labour: Iterable[Any]
    shares: Iterable[Any]
    hand_overs: Iterable[Any]

    def told(self) -> str:
        """How many of each are added, in words."""


def import_plan(
    *,
    actor: User | None,
    plan: ImportPlan,
    build: Build | None = None,
    owner: User | None = None,
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
    except (OverflowError, DataError):
        raise LedgerError("An amount is too large to be kept: check prices and charges.") from None


class _Import:
    """One import; the parts are written in the order in which they need each other."""

    def __init__(self, plan: ImportPlan, build: Build | None):
        self.plan = plan
        self.is_new = build is None
        self.made: list[tuple[str, int]] = []
        self.build = lock_build(build) if build is not None else self._create_build()
        self.elements: dict[str, int] = {}
        self.components: dict[str, int] = {}
        self.parts: dict[int, Component] = {}

    def run(self, actor: User | None, owner: User | None) -> Build:
        """Write everything, derive, check, and keep one line of history."""
        self._write_names()
        self._write_components()
        self._write_purchases()
        rebuild_totals(self.build)
        self._write_stock()
        self._write_labour()
        handed = write_settling(self.build, self.plan, self.persons)
        self.made += [("hand-over", row.pk) for row in handed]
        if owner is not None and self.is_new:
            Member.objects.create(build=self.build, user=owner, role=Role.OWNER)
        if not self.is_new and self.plan.prices:
            # New prices may divide lots differently that were bought before.
            cost_purchases(self.build)
        check_stock(self.build)
        change = Change.objects.create(
            build=self.build,
            actor=actor,
            actor_name=actor.get_username() if actor else "",
            action="imported",
            record_type="build",
            record_id=self.build.pk,
            summary=f"Workbook imported: {self.plan.told()}"[:300],
        )
        if not self.is_new:
            # A build that an import began is not undone but deleted.
            register_import(self.build, change, self.made)
        return self.build

    def _create_build(self) -> Build:
        planned = self.plan.build
        build = self._copy(Build, planned, BUILD_FIELDS)
        build.save()
        self._create(
            BuildArea(build=build, label=label, area_qty=qty, area_unit=unit)
            for label, qty, unit in planned.areas
        )
        self._create(
            DistanceRate(build=build, from_on=from_on, rate=rate) for from_on, rate in planned.rates
        )
        return build

    @staticmethod
    def _copy(model: type[Row], planned: Any, names: tuple[str, ...], **more: Any) -> Row:
        """A row with the planned values of the fields named, and some more."""
        return model(**{name: getattr(planned, name) for name in names}, **more)

    def _create(self, rows: Iterable[Row]) -> list[Row]:
        """Write rows of one model in batches; they come back with their keys."""
        listed = list(rows)
        if listed:
            model = type(listed[0])
            model._default_manager.bulk_create(listed, batch_size=BATCH)
            if kind := _TYPES.get(model):
                self.made += [(kind, row.pk) for row in listed]
        return listed

    def _write_names(self) -> None:
        plan, build = self.plan, self.build
        self._create(
            self._copy(Element, element, ("code", "name", "budget_amount"), build=build)
            for element in plan.elements
        )
        self.elements = keyed(Element, build, "code")
        self._create(
            self._copy(Supplier, supplier, SUPPLIER_FIELDS, build=build)
            for supplier in plan.suppliers
        )
        self.suppliers = keyed(Supplier, build)
        self._create(Person(build=build, name=name) for name in plan.persons)
        self.persons = keyed(Person, build)

    def _write_components(self) -> None:
        self._create(
            self._copy(
                Component,
                part,
                COMPONENT_FIELDS,
                build=self.build,
                element_id=_key(self.elements, part.element),
            )
            for part in self.plan.components
        )
        self.components = keyed(Component, self.build)
        self._create(
            self._copy(
                RetailPrice, price, PRICE_FIELDS, component_id=self.components[price.component]
            )
            for price in self.plan.prices
        )
        self.parts = {part.pk: part for part in list_components(self.build)}
        self.book = get_price_book(self.build)

    def _write_purchases(self) -> None:
        planned = list(self.plan.purchases)
        purchases = self._create(
            self._copy(
                Purchase,
                purchase,
                PURCHASE_FIELDS,
                build=self.build,
                supplier_id=_key(self.suppliers, purchase.supplier),
                paid_by_id=_key(self.persons, purchase.paid_by),
            )
            for purchase in planned
        )
        lines: list[PurchaseLine] = []
        charges: list[Charge] = []
        for purchase, source in zip(purchases, planned, strict=True):
            own_lines = [
                self._copy(
                    PurchaseLine,
                    line,
                    LINE_FIELDS,
                    purchase=purchase,
                    position=position,
                    component=self.parts[self.components[line.component]],
                )
                for position, line in enumerate(source.lines)
            ]
            own_charges = [
                self._copy(Charge, charge, CHARGE_FIELDS, purchase=purchase, position=position)
                for position, charge in enumerate(source.charges)
            ]
            self._derive(purchase, own_lines, own_charges)
            lines += own_lines
            charges += own_charges
        self._create(lines)
        self._create(charges)

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
            self._copy(
                Conversion,
                conversion,
                CONVERSION_FIELDS,
                build=self.build,
                source_id=self.components[conversion.source],
            )
            for conversion in planned
        )
        self._create(
            self._copy(
                ConversionOutput,
                output,
                ("made_text", "made_qty"),
                conversion=conversion,
                position=position,
                component_id=self.components[output.component],
            )
            for conversion, source in zip(conversions, planned, strict=True)
            for position, output in enumerate(source.outputs)
        )
        self._create(
            self._copy(LeftOver, entry, LEFT_FIELDS, component_id=self.components[entry.component])
            for entry in self.plan.left_over
            if entry.value_amount is None
        )
        # The other build may be kept elsewhere, so that each row is one side only.
        self._create(planned_moves(self.plan, self.components))

    def _write_labour(self) -> None:
        self._create(
            self._copy(
                Task,
                task,
                ("name", "planned_hours", "done_percent"),
                build=self.build,
                element_id=_key(self.elements, task.element),
            )
            for task in self.plan.tasks
        )
        tasks = keyed(Task, self.build)
        self._create(
            self._copy(
                LabourEntry,
                entry,
                LABOUR_FIELDS,
                build=self.build,
                person_id=self.persons[entry.person],
                task_id=_key(tasks, entry.task),
            )
            for entry in self.plan.labour
        )


def _key(keys: dict[str, int], name: str | None) -> int | None:
    return None if name is None else keys[name]
