"""Rows of a chunk to records: purchases, components, hours, new prices.

Rows were checked before; what changed in the build since then makes a sentence for the row,
never a broken ledger.
"""

from abc import ABC, abstractmethod
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Any

from django.utils import timezone

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.types import Basis
from ..choices import ChargeKind
from ..models import (
    Build,
    Charge,
    Component,
    ImportJob,
    ImportRow,
    LabourEntry,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Supplier,
    TableKind,
    Task,
)
from ..queries.imports import free_numbers
from ..queries.price_book import get_price_book
from ..queries.quantities import base_quantity
from .import_names import NameBook
from .ledger import cost_purchases, purchases_with, put_figures
from .totals import keep_totals

BATCH = 1000
_CHARGES = {
    "tax": ChargeKind.SALES_TAX,
    "haulage": ChargeKind.HAULAGE,
    "discount": ChargeKind.DISCOUNT,
}


@dataclass
class Written:
    """What became of rows, by their pk; ``made``: type and pk of every new record."""

    record_of: dict[int, int] = field(default_factory=dict)
    refused: dict[int, str] = field(default_factory=dict)
    made: list[tuple[str, int]] = field(default_factory=list)


class Writer(ABC):
    """Writes rows of one kind of table."""

    def __init__(self, build: Build, job: ImportJob):
        self.build, self.job = build, job
        self.written = Written()
        self.names = NameBook(build, job)

    def write(self, rows: Sequence[ImportRow]) -> Written:
        """Write the rows; the job is held."""
        self.names.prepare(rows)
        self.write_rows(rows)
        self.written.made = self.names.made + self.written.made
        return self.written

    @abstractmethod
    def write_rows(self, rows: Sequence[ImportRow]) -> None:
        """Write the rows, with all names at hand."""

    def create(self, kind: str, records: list[Any], rows: Sequence[ImportRow]) -> None:
        """Write one record for each row."""
        if records:
            type(records[0])._default_manager.bulk_create(records, batch_size=BATCH)
        for record, row in zip(records, rows, strict=True):
            self.written.record_of[row.pk] = record.pk
            self.written.made.append((kind, record.pk))


class PurchaseWriter(Writer):
    """One purchase for each group of rows."""

    def write_rows(self, rows: Sequence[ImportRow]) -> None:
        groups: dict[int, list[ImportRow]] = defaultdict(list)
        for row in rows:
            groups[row.group_no].append(row)
        self.book = get_price_book(self.build)
        self.numbers = iter(free_numbers(self.build, self.job, len(groups)))
        made: list[tuple[Purchase, list[PurchaseLine], list[Charge], list[ImportRow]]] = []
        for group in groups.values():
            try:
                made.append((*self._make(group), group))
            except (CostingError, QuantityError, LookupError) as error:
                sentence = str(error.args[0] if error.args else error)
                self.written.refused |= {row.pk: sentence for row in group}
        with keep_totals(self.build) as ids:
            self._create(made, ids)
        if made:
            self.job.carried = {"number": made[-1][0].number}

    def _make(self, rows: list[ImportRow]) -> tuple[Purchase, list[PurchaseLine], list[Charge]]:
        first = rows[0].values
        receipt = first.get("receipt", "")
        purchase = Purchase(
            build=self.build,
            number=next(self.numbers),
            bought_on=date.fromisoformat(first["date"]),
            supplier_id=self.names.find(Supplier, rows[0], "supplier"),
            paid_by_id=self.names.find(Person, rows[0], "paid_by"),
            state=first["state"],
            note=f"Receipt {receipt}" if receipt else "",
        )
        lines = [self._line(purchase, row, place) for place, row in enumerate(rows)]
        charges = self._charges(purchase, rows)
        put_figures(purchase, lines, charges, self.book)
        return purchase, lines, charges

    def _line(self, purchase: Purchase, row: ImportRow, position: int) -> PurchaseLine:
        values = row.values
        return PurchaseLine(
            purchase=purchase,
            position=position,
            component=self.names.component(row),
            quantity_text=values["quantity"],
            source=values["source"],
            obtained_by=values.get("obtained_by", ""),
            usable_percent=Decimal(values.get("usable", 100)),
            unit_price=_decimal(values.get("unit_price")),
            price_per_text=values.get("per", ""),
            line_price_amount=_decimal(values.get("total")),
            note=values.get("note", ""),
        )

    def _charges(self, purchase: Purchase, rows: list[ImportRow]) -> list[Charge]:
        """Amounts add up; one distance on several rows of a purchase is one trip."""
        charges = []
        for key, kind in _CHARGES.items():
            amount = sum((Decimal(row.values.get(key, 0)) for row in rows), Decimal(0))
            if amount:
                charges.append(Charge(purchase=purchase, kind=kind, amount=amount))
        trips = dict.fromkeys(row.values["distance"] for row in rows if "distance" in row.values)
        charges += [
            Charge(purchase=purchase, kind=ChargeKind.HAULAGE, distance_text=trip) for trip in trips
        ]
        for position, charge in enumerate(charges):
            charge.position, charge.spread_by = position, Basis.PRICE
        return charges

    def _create(self, made: list[Any], ids: list[int]) -> None:
        Purchase.objects.bulk_create([purchase for purchase, *_ in made], batch_size=BATCH)
        ids.extend(purchase.pk for purchase, *_ in made)
        for purchase, lines, charges, rows in made:
            # The keys were not known when the rows were made.
            for part in (*lines, *charges):
                part.purchase = purchase
            self.written.made.append(("purchase", purchase.pk))
            self.written.record_of |= {row.pk: purchase.pk for row in rows}
        PurchaseLine.objects.bulk_create(
            [line for _, lines, _, _ in made for line in lines], batch_size=BATCH
        )
        Charge.objects.bulk_create(
            [charge for _, _, charges, _ in made for charge in charges], batch_size=BATCH
        )


class ComponentWriter(Writer):
    """One component for each row, with its new price where there is one."""

    def write_rows(self, rows: Sequence[ImportRow]) -> None:
        fine, records = [], []
        for row in rows:
            values = row.values
            if self.names.has_component(row):
                self.written.refused[row.pk] = (
                    f"“{values['item']}” was added meanwhile: leave the row out."
                )
                continue
            part = Component(
                build=self.build,
                name=values["item"],
                element_id=self.names.element(row),
                unit=values["unit"],
                contents=values.get("contents", ""),
                required_text=values.get("quantity", ""),
                waste_percent=Decimal(values.get("waste", 0)),
                note=values.get("note", ""),
            )
            if part.required_text:
                part.required_qty = base_quantity(part.required_text, part)
            fine.append(row)
            records.append(part)
        self.create("component", records, fine)
        self.names.link_records(fine, records)
        prices = RetailPrice.objects.bulk_create(
            _price_of(part, row)
            for part, row in zip(records, fine, strict=True)
            if "unit_price" in row.values
        )
        self.written.made += [("price", price.pk) for price in prices]


class HoursWriter(Writer):
    """One entry of hours for each row."""

    def write_rows(self, rows: Sequence[ImportRow]) -> None:
        records = [
            LabourEntry(
                build=self.build,
                worked_on=date.fromisoformat(row.values["date"]),
                person_id=self.names.get(Person, row, "person"),
                task_id=self.names.find(Task, row, "task"),
                kind=row.values["labour"],
                hours=Decimal(row.values["hours"]),
                paid_amount=_decimal(row.values.get("paid")),
                note=row.values.get("note", ""),
            )
            for row in rows
        ]
        self.create("labour", records, rows)


class PriceWriter(Writer):
    """One dated new price for each row."""

    def write_rows(self, rows: Sequence[ImportRow]) -> None:
        parts = [self.names.component(row) for row in rows]
        records = [_price_of(part, row) for part, row in zip(parts, rows, strict=True)]
        self.create("price", records, rows)
        # New prices may divide lots and charges differently that were bought before.
        cost_purchases(self.build, purchases_with({part.pk: part for part in parts}.values()))


def _price_of(part: Component, row: ImportRow) -> RetailPrice:
    values = row.values
    day = values.get("date")
    return RetailPrice(
        component=part,
        price=Decimal(values["unit_price"]),
        per_text=values.get("per", ""),
        per_qty=Decimal(values["per_qty"]),
        priced_on=date.fromisoformat(day) if day else timezone.localdate(),
        priced_at=values.get("supplier", ""),
    )


def _decimal(text: str | None) -> Decimal | None:
    return None if text is None else Decimal(text)


WRITERS: dict[str, type[Writer]] = {
    TableKind.PURCHASES: PurchaseWriter,
    TableKind.COMPONENTS: ComponentWriter,
    TableKind.HOURS: HoursWriter,
    TableKind.PRICES: PriceWriter,
}
