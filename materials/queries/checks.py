"""Re-deriving every stored figure and listing the differences."""

from collections.abc import Callable, Iterator
from decimal import Decimal
from typing import Any

from ..calc.costing import CostingError
from ..calc.quantities import QuantityError
from ..calc.stock import ConversionCircle, work_out_positions
from ..models import (
    Build,
    Component,
    ConversionOutput,
    LeftOver,
    Move,
    Purchase,
    PurchaseLine,
    RetailPrice,
)
from ..tools import CHECKS
from .price_book import get_price_book
from .purchases import derive_purchase
from .quantities import base_quantity, price_per, stored
from .stock import get_stock_inputs, list_conversions
from .totals import NOTHING, Sums, get_totals, sum_by_key

CHUNK = 500


def find_differences(build: Build) -> Iterator[str]:
    """One sentence for each stored figure that is not what its facts give."""
    yield from _measures(build)
    yield from _transfers(build)
    yield from _purchases(build)
    yield from _totals(build)
    for check in CHECKS:
        yield from check(build)
    try:
        positions = work_out_positions(*get_stock_inputs(build))
    except ConversionCircle as circle:
        yield str(circle)
        return
    for position in positions.values():
        if position.in_building < 0:
            yield f"{position.component.name}: more was used than received."


def _measures(build: Build) -> Iterator[str]:
    for part in Component.objects.filter(build=build).iterator(CHUNK):
        what = f"component {part.name}, required"
        if part.required_text:
            yield from _differs(what, part.required_qty, part.required_text, part)
        else:
            yield from _text(what, part.required_qty, None)
    prices = RetailPrice.objects.filter(component__build=build).select_related("component")
    for price in prices.iterator(CHUNK):
        what = f"new price of {price.component} on {price.priced_on}"
        yield from _differs(what, price.per_qty, price.per_text, price.component, _price_per)
    for conversion in list_conversions(build).iterator(CHUNK):
        what = f"conversion {conversion.number}, quantity used"
        yield from _differs(what, conversion.used_qty, conversion.used_text, conversion.source)
    outputs = ConversionOutput.objects.filter(conversion__build=build).select_related(
        "component", "conversion"
    )
    for output in outputs.iterator(CHUNK):
        what = f"conversion {output.conversion.number}, made"
        yield from _differs(what, output.made_qty, output.made_text, output.component)
    left = LeftOver.objects.filter(component__build=build).select_related("component")
    for row in left.iterator(CHUNK):
        what = f"leftovers {row.component} of {row.noted_on}"
        yield from _differs(what, row.base_qty, row.quantity_text, row.component)


def _transfers(build: Build) -> Iterator[str]:
    """Each side by itself; what both share, the value, is stored once and cannot differ."""
    out = Move.objects.filter(component__build=build).select_related(
        "component__build", "to_component__build"
    )
    for transfer in out.iterator(CHUNK):
        what = f"transfer out of {transfer.component} on {transfer.moved_on}"
        yield from _differs(what, transfer.base_qty, transfer.quantity_text, transfer.component)
        available = transfer.to_component
        if available is not None and available.build.currency != build.currency:
            yield f"{what}: the build it went to is kept in {available.build.currency}."
    into = Move.objects.filter(to_component__build=build).select_related("to_component")
    for transfer in into.iterator(CHUNK):
        what = f"transfer into {transfer.to_component} on {transfer.moved_on}"
        yield from _differs(what, transfer.to_qty, transfer.to_text, transfer.to_component)


def _purchases(build: Build) -> Iterator[str]:
    book = get_price_book(build)
    purchases = (
        Purchase.objects.filter(build=build)
        .select_related("build")
        .prefetch_related("lines__component", "charges")
    )
    for purchase in purchases.iterator(CHUNK):
        lines, charges = list(purchase.lines.all()), list(purchase.charges.all())
        try:
            derived = derive_purchase(purchase, lines, charges, book)
        except (CostingError, QuantityError) as error:
            yield f"purchase {purchase.number}: {error}"
            continue
        for line, figures in zip(lines, derived.lines, strict=True):
            for name, value in figures.items():
                yield from _text(
                    f"purchase {purchase.number}, {line.component}, {name}",
                    getattr(line, name),
                    value,
                )
        for name, value in derived.purchase.items():
            yield from _text(f"purchase {purchase.number}, {name}", getattr(purchase, name), value)
        for charge, own in zip(charges, derived.charges, strict=True):
            what = f"purchase {purchase.number}, {charge}"
            yield from _text(what, charge.charged_amount, own["charged_amount"])


def _totals(build: Build) -> Iterator[str]:
    stored, summed = (
        get_totals(build),
        sum_by_key(PurchaseLine.objects.filter(purchase__build=build)),
    )
    for key in sorted(stored.keys() | summed.keys()):
        stored_sums, right = stored.get(key, NOTHING), summed.get(key, NOTHING)
        for name, one, other in zip(Sums._fields, stored_sums, right, strict=True):
            what = f"running total of component {key.component}, {key.source}, {key.state}, {name}"
            yield from _text(what, one, other)


def _price_per(text: str, component: Component) -> Decimal:
    return stored(price_per(text, component))


def _differs(
    what: str,
    stored: Decimal | None,
    text: str,
    component: Component | None,
    derive: Callable[[str, Component], Decimal] = base_quantity,
) -> Iterator[str]:
    assert component is not None
    try:
        value = derive(text, component)
    except QuantityError as error:
        yield f"{what}: {error}"
        return
    yield from _text(what, stored, value)


def _text(what: str, stored: Any, value: Any) -> Iterator[str]:
    if stored != value:
        yield f"{what}: stored {stored}, worked out {value}."
