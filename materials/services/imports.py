"""Writing a checked workbook: all of it or nothing."""

from collections.abc import Iterable
from typing import Any, Protocol, TypeVar, cast

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
    HandOver,
    LabourEntry,
    LeftOver,
    Lesson,
    Member,
    Move,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Share,
    Supplier,
    Task,
    WayToMake,
)
from ..queries.exchange import keyed, list_components
from ..queries.price_book import get_price_book
from ..queries.purchases import due_at
from .errors import LedgerError
from .history import RECORDS
from .import_undo import register_import
from .ledger import check_stock, cost_purchases, lock_build, put_figures
from .totals import rebuild_totals

BATCH = 1000
_TYPES = {model: kind for kind, (model, _) in RECORDS.items()}

Row = TypeVar("Row", bound=models.Model)


class ImportPlan(Protocol):
    """What a checked workbook adds; made by the exchange package."""

    build: Any
    elements: Iterable[Any]
    suppliers: Iterable[Any]
    persons: Iterable[Any]
    components: Iterable[Any]
    prices: Iterable[Any]
    purchases: Iterable[Any]
    conversions: Iterable[Any]
    ways: Iterable[Any]
    left_over: Iterable[Any]
    moved_out: Iterable[Any]
    moved_in: Iterable[Any]
    tasks: Iterable[Any]
    labour: Iterable[Any]
    shares: Iterable[Any]
    payments: Iterable[Any]
    lessons: Iterable[Any]

    def summary(self) -> str:
        """How many of each are added, in words."""


def import_plan(
    *,
    actor: User | None,
    plan: ImportPlan,
    build: Build | None = None,
    owner: User | None = None,
) -> Build:
    """Enter a plan into a new build, or into ``build``; ``owner`` becomes its owner.

    Raises LedgerError when the build changed since the plan was checked.
    """
    try:
        with transaction.atomic():
            return _Import(plan, build).run(actor, owner)
    except IntegrityError:
        raise LedgerError(
            "The build was changed while the workbook was checked. Import it again."
        ) from None
    except (OverflowError, DataError):
        raise LedgerError("An amount is too large. Check prices and charges.") from None


class _Import:
    """One import; the parts are written in the order in which they need each other."""

    def __init__(self, plan: ImportPlan, build: Build | None):
        self.plan = plan
        self.is_new = build is None
        self.made: list[tuple[str, int]] = []
        # Primary keys of what there is to be linked to, by kind and by name.
        self.keys: dict[type[models.Model], dict[str, int]] = {}
        self.parts: dict[int, Component] = {}
        self.build = lock_build(build) if build is not None else self._create_build()

    def run(self, actor: User | None, owner: User | None) -> Build:
        """Write everything, derive, check, and keep one line of history."""
        self._write_names()
        self._write_components()
        self._write_purchases()
        rebuild_totals(self.build)
        self._write_stock()
        self._write_labour()
        self._write_settling()
        self._create(self._copy(Lesson, one, build=self.build) for one in self.plan.lessons)
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
            summary=f"Workbook imported: {self.plan.summary()}"[:300],
        )
        if not self.is_new:
            # A build that an import began is not undone but deleted.
            register_import(self.build, change, self.made)
        return self.build

    def _create_build(self) -> Build:
        planned = self.plan.build
        build = self._copy(Build, planned)
        build.save()
        self._create(
            BuildArea(build=build, label=label, area_qty=qty, area_unit=unit)
            for label, qty, unit in planned.areas
        )
        self._create(
            DistanceRate(build=build, from_on=from_on, rate=rate) for from_on, rate in planned.rates
        )
        return build

    def _copy(self, model: type[Row], planned: Any, **more: Any) -> Row:
        """A row with the planned values and links, and some more."""
        for name, key in planned.links.items():
            linked = cast("models.ForeignKey[Any, Any]", model._meta.get_field(name))
            more.setdefault(linked.attname, key and self.keys[linked.related_model][key])
        return model(**planned.values, **more)

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
        named: tuple[tuple[type[models.Model], Iterable[Any], str], ...] = (
            (Element, self.plan.elements, "code"),
            (Supplier, self.plan.suppliers, "name"),
            (Person, self.plan.persons, "name"),
        )
        for model, planned, name in named:
            self._create(self._copy(model, one, build=self.build) for one in planned)
            self.keys[model] = keyed(model, self.build, name)

    def _write_components(self) -> None:
        self._create(self._copy(Component, part, build=self.build) for part in self.plan.components)
        self.keys[Component] = keyed(Component, self.build)
        self._create(self._copy(RetailPrice, price) for price in self.plan.prices)
        self.parts = {part.pk: part for part in list_components(self.build)}
        self.book = get_price_book(self.build)

    def _write_purchases(self) -> None:
        planned = list(self.plan.purchases)
        purchases = [self._copy(Purchase, purchase, build=self.build) for purchase in planned]
        for purchase in purchases:
            # All else that is derived follows from rows that need its key.
            purchase.due_at = due_at(purchase)
        self._create(purchases)
        lines: list[PurchaseLine] = []
        charges: list[Charge] = []
        for purchase, source in zip(purchases, planned, strict=True):
            own_lines = [
                self._copy(PurchaseLine, line, purchase=purchase, position=position)
                for position, line in enumerate(source.lines)
            ]
            for line in own_lines:
                # Read once for all of its lines.
                line.component = self.parts[line.component_id]
            own_charges = [
                self._copy(Charge, charge, purchase=purchase, position=position)
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
            put_figures(purchase, lines, charges, self.book)
        except (CostingError, QuantityError) as error:
            raise LedgerError(f"Purchase {purchase.number}: {error}") from None

    def _write_stock(self) -> None:
        planned = list(self.plan.conversions)
        conversions = self._create(
            self._copy(Conversion, conversion, build=self.build) for conversion in planned
        )
        self._create(
            self._copy(ConversionOutput, output, conversion=conversion, position=position)
            for conversion, source in zip(conversions, planned, strict=True)
            for position, output in enumerate(source.outputs)
        )
        self._create(self._copy(WayToMake, way, build=self.build) for way in self.plan.ways)
        self._create(self._copy(LeftOver, entry) for entry in self.plan.left_over)
        # The other build may be kept elsewhere, so that each row is one side only.
        transfers = (*self.plan.moved_in, *self.plan.moved_out)
        self._create(self._copy(Move, transfer) for transfer in transfers)

    def _write_labour(self) -> None:
        self._create(self._copy(Task, task, build=self.build) for task in self.plan.tasks)
        self.keys[Task] = keyed(Task, self.build)
        self._create(self._copy(LabourEntry, entry, build=self.build) for entry in self.plan.labour)

    def _write_settling(self) -> None:
        self._create(self._copy(Share, share, build=self.build) for share in self.plan.shares)
        self._create(self._copy(HandOver, row, build=self.build) for row in self.plan.payments)
