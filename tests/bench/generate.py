"""Builds of any size, the same for the same seed."""

import random
from datetime import date, timedelta
from decimal import Decimal

from materials.choices import ChargeKind, Fate, LabourKind, Source, State
from materials.models import (
    Build,
    Charge,
    Component,
    Conversion,
    ConversionOutput,
    Element,
    LabourEntry,
    LeftOver,
    Person,
    Purchase,
    PurchaseLine,
    RetailPrice,
    Task,
)
from materials.services.ledger import cost_purchases
from materials.services.totals import rebuild_totals

START = date(2025, 1, 6)
LINES_A_PURCHASE = 8


def make_build(name: str, lines: int, seed: int = 1, components: int = 60) -> Build:
    """A build with about so many purchase lines and all that hangs on them, derived."""
    rng = random.Random(seed)
    build = Build.objects.create(
        name=name,
        currency="USD",
        budget_amount=Decimal(100000),
        contingency_percent=Decimal(10),
        retail_tax_percent=Decimal(7),
        own_labour_rate=Decimal(20),
    )
    elements = Element.objects.bulk_create(
        Element(build=build, code=f"X{n}", name=f"Part {n}") for n in range(15)
    )
    persons = Person.objects.bulk_create(Person(build=build, name=n) for n in ("Ann", "Ben", "Cy"))
    parts = Component.objects.bulk_create(
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
    RetailPrice.objects.bulk_create(
        RetailPrice(component=part, price=Decimal(rng.randint(100, 4000)) / 100, priced_on=START)
        for part in parts
        if rng.random() < 0.9
    )
    _buy(rng, build, parts, persons, lines)
    rebuild_totals(build)
    cost_purchases(build)
    _work(rng, build, parts, persons, lines)
    return build


def _day(rng: random.Random) -> date:
    return START + timedelta(days=rng.randint(0, 500))


def _buy(rng, build, parts, persons, lines) -> None:
    states = [State.RECEIVED] * 9 + [State.ORDERED]
    purchases = Purchase.objects.bulk_create(
        (
            Purchase(
                build=build,
                number=f"P{n}",
                bought_on=_day(rng),
                state=rng.choice(states),
                paid_by=rng.choice(persons),
                lot_price_amount=Decimal(rng.randint(1000, 90000)) / 100 if n % 7 == 0 else None,
            )
            for n in range(max(1, lines // LINES_A_PURCHASE))
        ),
        batch_size=500,
    )
    rows = []
    for n in range(lines):
        purchase = purchases[n % len(purchases)]
        in_lot = purchase.lot_price_amount is not None
        qty = rng.randint(1, 40)
        rows.append(
            PurchaseLine(
                purchase=purchase,
                position=n // len(purchases),
                component=rng.choice(parts),
                quantity_text=f"{qty} pieces",
                base_qty=Decimal(qty),
                usable_qty=Decimal(qty),
                source=rng.choice(Source.values),
                usable_percent=Decimal(rng.choice([100, 90, 75])),
                unit_price=None if in_lot else Decimal(rng.randint(0, 900)) / 100,
            )
        )
    PurchaseLine.objects.bulk_create(rows, batch_size=500)
    Charge.objects.bulk_create(
        (
            Charge(purchase=purchase, kind=ChargeKind.SALES_TAX, percent=Decimal("6.75"))
            for purchase in purchases
        ),
        batch_size=500,
    )


def _work(rng, build, parts, persons, lines) -> None:
    half = len(parts) // 2
    conversions = Conversion.objects.bulk_create(
        (
            Conversion(
                build=build,
                number=f"C{n}",
                converted_on=_day(rng),
                source=parts[rng.randrange(half)],
                used_text="1 piece",
                used_qty=Decimal(1),
                extra_cost_amount=Decimal(rng.randint(0, 500)) / 100,
                hours=Decimal(rng.randint(1, 8)) / 4,
            )
            for n in range(lines // 100)
        ),
        batch_size=500,
    )
    outputs = []
    for n, conversion in enumerate(conversions):
        for position in range(2 if n % 10 == 0 else 1):
            outputs.append(
                ConversionOutput(
                    conversion=conversion,
                    position=position,
                    component=parts[half + rng.randrange(half)],
                    made_text="2 pieces",
                    made_qty=Decimal(2),
                )
            )
    ConversionOutput.objects.bulk_create(outputs, batch_size=500)
    LeftOver.objects.bulk_create(
        (
            LeftOver(
                component=rng.choice(parts),
                noted_on=_day(rng),
                quantity_text="1 piece",
                base_qty=Decimal(1),
                fate=rng.choice(Fate.values),
            )
            for _ in range(lines // 200)
        ),
        batch_size=500,
    )
    tasks = Task.objects.bulk_create(
        Task(build=build, name=f"Task {n}", planned_hours=Decimal(40)) for n in range(12)
    )
    LabourEntry.objects.bulk_create(
        (
            LabourEntry(
                build=build,
                worked_on=_day(rng),
                person=rng.choice(persons),
                task=rng.choice(tasks),
                kind=rng.choice(LabourKind.values),
                hours=Decimal(rng.randint(1, 32)) / 4,
            )
            for _ in range(lines // 5)
        ),
        batch_size=500,
    )
