"""Builds of any size, the same for the same seed.

Figures are derived in memory before the rows are written, as an import does, by the same
functions that every service uses; ``check_ledger`` finds nothing to say about them.
"""

import random
from collections.abc import Iterable
from datetime import date, timedelta
from decimal import Decimal

from django.db import models

from materials.choices import ChargeKind, Fate, LabourKind, Source, State
from materials.models import (
    Build,
    Change,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    Element,
    HandOver,
    LabourEntry,
    LeftOver,
    Move,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Supplier,
    Task,
)
from materials.queries.price_book import get_price_book
from materials.queries.purchases import derive_purchase
from materials.services.totals import rebuild_totals

START = date(2025, 1, 6)
LINES_A_PURCHASE = 8
BATCH = 500


class Maker:
    """Writes one build; ``least`` rows are on every list however few lines there are."""

    def __init__(self, name: str, lines: int, seed: int = 1, components: int = 60, least: int = 0):
        self.rng = random.Random(seed)
        self.lines, self.least = lines, least
        self.build = Build.objects.create(
            name=name,
            currency="USD",
            budget_amount=Decimal(100000),
            contingency_percent=Decimal(10),
            retail_tax_percent=Decimal(7),
            own_labour_rate=Decimal(20),
        )
        self._names(components)
        self._buy()
        self._convert()
        self._set_aside()
        self._work()
        self._note()

    def _create(self, rows: Iterable[models.Model]) -> list:
        listed = list(rows)
        if listed:
            type(listed[0])._default_manager.bulk_create(listed, batch_size=BATCH)
        return listed

    def _day(self) -> date:
        return START + timedelta(days=self.rng.randint(0, 500))

    def _cents(self, low: int, high: int) -> Decimal:
        return Decimal(self.rng.randint(low, high)) / 100

    def _some(self, per: int) -> range:
        """So many rows as there are lines for each ``per`` of them."""
        return range(max(self.least, self.lines // per))

    def _names(self, components: int) -> None:
        rng, build = self.rng, self.build
        elements = self._create(
            Element(build=build, code=f"X{n}", name=f"Part {n}") for n in range(15)
        )
        self.persons = self._create(Person(build=build, name=n) for n in ("Ann", "Ben", "Cy"))
        self.suppliers = self._create(
            Supplier(build=build, name=f"Yard {n}", place=f"Lane {n % 5}") for n in range(12)
        )
        self.parts = self._create(
            Component(
                build=build,
                element=rng.choice(elements),
                name=f"Component {n}",
                unit="piece",
                contents="1 piece = 16 ft",
                required_text=f"{n + 10} pieces",
                required_qty=Decimal(n + 10),
            )
            for n in range(components)
        )
        self._create(
            RetailPrice(component=part, price=self._cents(100, 4000), priced_on=START)
            for part in self.parts
            if rng.random() < 0.9
        )
        self.tasks = self._create(
            Task(build=build, name=f"Task {n}", planned_hours=Decimal(40)) for n in range(12)
        )

    def _buy(self) -> None:
        rng, parts = self.rng, self.parts
        states = [State.RECEIVED] * 9 + [State.ORDERED]
        purchases = [
            Purchase(
                build=self.build,
                number=f"P{n}",
                bought_on=self._day(),
                state=rng.choice(states),
                supplier=rng.choice([*self.suppliers, None]),
                paid_by=rng.choice([*self.persons, *self.persons, None]),
                lot_price_amount=self._cents(1000, 90000) if n % 7 == 0 else None,
            )
            for n in self._some(LINES_A_PURCHASE) or range(1)
        ]
        self._create(purchases)
        lines: list[list[PurchaseLine]] = [[] for _ in purchases]
        for n in range(max(self.lines, len(purchases))):
            which = n % len(purchases)
            in_lot = purchases[which].lot_price_amount is not None
            qty = rng.randint(1, 40)
            lines[which].append(
                PurchaseLine(
                    purchase=purchases[which],
                    position=len(lines[which]),
                    component=rng.choice(parts),
                    quantity_text=f"{qty} pieces",
                    base_qty=Decimal(qty),
                    source=rng.choice(Source.values),
                    usable_percent=Decimal(rng.choice([100, 90, 75])),
                    unit_price=None if in_lot else self._cents(0, 900),
                )
            )
        charges = [
            Charge(purchase=purchase, kind=ChargeKind.SALES_TAX, percent=Decimal("6.75"))
            for purchase in purchases
        ]
        book = get_price_book(self.build)
        for purchase, own, charge in zip(purchases, lines, charges, strict=True):
            derived = derive_purchase(purchase, own, [charge], book)
            rows, figures = [*own, charge], [*derived.lines, *derived.charges]
            for row, stored in zip(rows, figures, strict=True):
                for name, value in stored.items():
                    setattr(row, name, value)
        self._create(line for own in lines for line in own)
        self._create(charges)
        rebuild_totals(self.build)
        self.purchases = purchases

    def _convert(self) -> None:
        rng, parts = self.rng, self.parts
        half = len(parts) // 2
        conversions = self._create(
            Conversion(
                build=self.build,
                number=f"C{n}",
                converted_on=self._day(),
                source=parts[rng.randrange(half)],
                used_text="1 piece",
                used_qty=Decimal(1),
                extra_cost_amount=self._cents(0, 500),
                hours=Decimal(rng.randint(1, 8)) / 4,
            )
            for n in self._some(100)
        )
        self._create(
            ConversionOutput(
                conversion=conversion,
                position=position,
                component=parts[half + rng.randrange(half)],
                made_text="2 pieces",
                made_qty=Decimal(2),
            )
            for n, conversion in enumerate(conversions)
            for position in range(2 if n % 10 == 0 else 1)
        )

    def _set_aside(self) -> None:
        rng = self.rng
        fates = [fate for fate in Fate.values if fate != Fate.MOVED]
        self._create(
            LeftOver(
                component=rng.choice(self.parts),
                noted_on=self._day(),
                quantity_text="1 piece",
                base_qty=Decimal(1),
                fate=rng.choice(fates),
            )
            for _ in self._some(200)
        )
        self._create(
            Move(
                moved_on=self._day(),
                component=rng.choice(self.parts),
                quantity_text="1 piece",
                base_qty=Decimal(1),
                value_amount=self._cents(100, 900),
                elsewhere=f"Shed {n % 7}",
            )
            for n in self._some(500)
        )

    def _work(self) -> None:
        rng = self.rng
        self._create(
            LabourEntry(
                build=self.build,
                worked_on=self._day(),
                person=rng.choice(self.persons),
                task=rng.choice(self.tasks),
                kind=rng.choice(LabourKind.values),
                hours=Decimal(rng.randint(1, 32)) / 4,
                paid_amount=self._cents(1000, 9000) if n % 10 == 0 else None,
            )
            for n in self._some(5)
        )
        self._create(
            HandOver(
                build=self.build,
                handed_on=self._day(),
                giver=self.persons[n % 3],
                receiver=self.persons[(n + 1) % 3],
                amount=self._cents(1000, 9000),
            )
            for n in self._some(500)
        )

    def _note(self) -> None:
        """One line of history for each purchase, as long as a real one."""
        self._create(
            Change(
                build=self.build,
                actor_name=("ann", "ben", "cy")[n % 3],
                action="added" if n % 4 else "changed",
                record_type="purchase",
                record_id=purchase.pk,
                summary=purchase.number,
                after=[
                    {"model": "materials.purchaseline", "pk": n * 8 + k, "fields": _FIELDS}
                    for k in range(LINES_A_PURCHASE)
                ],
            )
            for n, purchase in enumerate(self.purchases)
        )


_FIELDS = {"component": 1, "quantity_text": "12 pieces", "source": "salvage", "unit_price": "1.50"}


def make_build(name: str, lines: int, **options: int) -> Build:
    """A build with so many purchase lines and all that hangs on them, derived.

    ``seed``, ``components``, and ``least``, the number of rows every list has at the least.
    """
    return Maker(name, lines, **options).build
