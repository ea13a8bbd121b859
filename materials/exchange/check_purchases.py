"""The sheets Purchases and Charges."""

from dataclasses import replace
from datetime import date
from decimal import Decimal
from fractions import Fraction

from django.conf import settings

from ..calc.deadlines import is_skipped
from ..calc.money import MAX_AMOUNT
from ..calc.quantities import QuantityError
from ..calc.types import Basis
from ..calc.units import find_unit
from ..choices import ChargeKind, State
from ..fields import zone_named
from ..models import Charge, Purchase, PurchaseLine
from ..queries.days import NOT_YET_RECEIVED
from ..queries.offer_terms import TermsError, TypedTerms, check_terms
from ..queries.price_book import distance_in
from ..queries.quantities import priced_units, stored, with_unit
from .context import Context, group_rows, own_columns
from .faults import shown
from .plan import Planned, PlannedLine, PlannedPurchase
from .rows import Row, Table, is_missing

_DIFFERENT = (
    "{here} here, but {first} on the purchase's first line (row {row}): keep one of them, or give"
    " this line a purchase number of its own."
)
_TWO_LOTS = (
    "Two lots in one purchase disagree, {here} here and {first} on its first line (row {row}):"
    " give each lot a purchase number of its own."
)
_MAY_LOWER = (ChargeKind.DISCOUNT, ChargeKind.DEPOSIT, ChargeKind.OTHER)
HUNDRED = Decimal(100)


def check_purchases(ctx: Context, table: Table, charges: Table) -> list[PlannedPurchase]:
    """Purchases with their lines and charges."""
    groups = group_rows(table, "purchase")
    charge_groups = group_rows(charges, "purchase")
    existing = ctx.existing.purchases if ctx.existing else frozenset()
    for key, rows in charge_groups.items():
        if key not in groups:
            why = "recorded already" if key in existing else "not on the Purchases sheet"
            for row in rows:
                ctx.fault(
                    charges, row, "purchase", f"Purchase {shown(row.get('purchase'))} is {why}:"
                    " correct the number, or add the charge to it by hand."
                )  # fmt: skip
    purchases = []
    for key, rows in groups.items():
        purchase = _check_purchase(ctx, table, rows)
        made = tuple(
            charge
            for row in charge_groups.get(key, [])
            if (charge := _check_charge(ctx, charges, row, rows[0].get("date")))
        )
        _check_weights(ctx, table, rows, charge_groups.get(key, []))
        if key in existing:
            ctx.fault(
                table, rows[0], "purchase", (
                    f"Purchase {shown(rows[0].get('purchase'))} is in this build already: "
                    "leave it out, or give this one another number."
                )
            )  # fmt: skip
        if purchase is not None:
            purchases.append(replace(purchase, charges=made))
    return purchases


def _check_purchase(ctx: Context, table: Table, rows: list[Row]) -> PlannedPurchase | None:
    first = rows[0]
    own_columns(ctx, table, rows, _DIFFERENT, lot_price=_TWO_LOTS)
    bought_on = first.get("date")
    if bought_on is None and "date" not in first.bad:
        ctx.fault(table, first, "date", is_missing(table.sheet.column("date")))
    if "state" not in first.bad and first.get("state", State.RECEIVED) == State.RECEIVED:
        ctx.refuse_early(table, first, NOT_YET_RECEIVED)
    _check_deadlines(ctx, table, first)
    supplier, paid_by = first.get("supplier"), first.get("paid_by")
    lines = [_check_line(ctx, table, row) for row in rows]
    _check_lot(ctx, table, rows)
    if bought_on is None:
        return None
    said = table.sheet.stated(Purchase, first.values)
    if said.get("lot_split") == Basis.PRICE:
        # A lot has no prices of its own to go by: “price” there means the usual way.
        del said["lot_split"]
    links = {
        "supplier": ctx.suppliers.use(supplier) if supplier else None,
        "paid_by": ctx.persons.use(paid_by) if paid_by else None,
    }
    return PlannedPurchase(said, links, lines=tuple(line for line in lines if line))


def _check_deadlines(ctx: Context, table: Table, row: Row) -> None:
    """A time needs its day, and both must be there by the build's clocks."""
    zone = zone_named(ctx.build.values.get("time_zone", settings.TIME_ZONE))
    for on, at in (("ends_on", "ends_time"), ("fetch_on", "fetch_time")):
        day, clock = row.get(on), row.get(at)
        if not row.is_fine(on, at):
            continue
        if day is None and clock is not None:
            ctx.fault(table, row, on, "There is a time without its day: enter the day too.")
        elif day is not None and is_skipped(day, clock, zone):
            ctx.fault(
                table, row, on if clock is None else at, "Clocks are set forward over this time in"
                " the build's time zone, so there is no such time: enter another."
            )  # fmt: skip


def _check_line(ctx: Context, table: Table, row: Row) -> PlannedLine | None:
    component = ctx.find_component(table, row, quantity="quantity")
    quantity = ctx.quantity(table, row, "quantity", component)
    usable = row.get("usable_percent", HUNDRED)
    if 0 < usable < 1:
        ctx.fault(
            table, row, "usable_percent", (
                f"{usable.normalize():f} would be below 1%: enter 85 for 85%."
            )
        )  # fmt: skip
    unit_price, line_price = row.get("unit_price"), row.get("line_price")
    if unit_price is not None and line_price is not None:
        ctx.fault(
            table, row, "line_price", "The line has a unit price and a line price: keep one of"
            " them and leave the other empty."
        )  # fmt: skip
        return None
    if component is None or quantity is None or row.get("source") is None:
        return None
    text, base_qty = quantity
    price_per = row.get("price_per", "")
    if price_per or unit_price:
        try:
            units = priced_units(text, price_per, ctx.part(component))
        except QuantityError as error:
            ctx.fault(table, row, "price_per", str(error))
            return None
        _check_size(ctx, table, row, "unit_price", Fraction(unit_price or 0) * units)
    _check_terms(ctx, table, row, component, text)
    said = table.sheet.stated(PurchaseLine, row.values)
    said |= {"quantity_text": text, "origin_year": _year(ctx, table, row)}
    usable_qty = base_qty if usable == HUNDRED else stored(base_qty * usable / HUNDRED)
    return PlannedLine(said, {"component": component}, usable_qty)


def _check_terms(ctx: Context, table: Table, row: Row, component: str, quantity: str) -> None:
    """What a seller offers of it beyond the quantity must be readable, as typed."""
    columns = {"price_breaks": "price_breaks", "most_text": "most", "step_text": "step"}
    texts = {field: row.get(key, "") for field, key in columns.items()}
    line = TypedTerms(
        component=ctx.components[component],
        quantity_text=quantity,
        unit_price=row.get("unit_price"),
        price_per_text=row.get("price_per", ""),
        **texts,
    )
    try:
        check_terms(line)
    except TermsError as error:
        ctx.fault(table, row, columns[error.field], str(error))


def _year(ctx: Context, table: Table, row: Row) -> int | None:
    year = row.get("origin_year")
    if year is None:
        return None
    if year < 1500 or year != int(year):
        ctx.fault(table, row, "origin_year", "Enter the year with four digits, like 1962.")
        return None
    return int(year)


def _check_size(ctx: Context, table: Table, row: Row, key: str, amount: Fraction) -> None:
    if amount >= MAX_AMOUNT:
        ctx.fault(
            table, row, key, f"This comes to {MAX_AMOUNT:,} or more: correct the price or the"
            " quantity."
        )  # fmt: skip


def _lot_rows(rows: list[Row]) -> list[Row]:
    """Lines without a price of their own; a faulty price is a price."""
    own = ("unit_price", "line_price")
    return [
        row for row in rows if row.is_fine(*own) and all(row.get(price) is None for price in own)
    ]


def _check_lot(ctx: Context, table: Table, rows: list[Row]) -> None:
    first = rows[0]
    if first.get("lot_price") is None:
        return
    lot = _lot_rows(rows)
    if not lot:
        ctx.fault(
            table, first, "lot_price", "There is a lot price, but every line has a price of its"
            " own: empty the prices of the lot's lines, or empty the lot price."
        )  # fmt: skip
    if first.get("lot_split") == Basis.WEIGHT:
        for row in lot:
            if row.get("lot_weight") is None and "lot_weight" not in row.bad:
                ctx.fault(
                    table, row, "lot_weight", "The lot is split by weight, but this line has no"
                    " weight: enter one, or choose another split."
                )  # fmt: skip


def _check_weights(ctx: Context, table: Table, rows: list[Row], charges: list[Row]) -> None:
    """A charge spread by weight needs the weight of every line, or of none (then it falls back)."""
    if not any(charge.get("spread_by") == Basis.WEIGHT for charge in charges):
        return
    if rows[0].get("lot_price") is not None and rows[0].get("lot_split") == Basis.WEIGHT:
        in_lot = {row.number for row in _lot_rows(rows)}
        rows = [row for row in rows if row.number not in in_lot]
        weighed = True
    else:
        weighed = any(row.get("lot_weight") is not None for row in rows)
    for row in rows:
        if weighed and row.get("lot_weight") is None and "lot_weight" not in row.bad:
            ctx.fault(
                table, row, "lot_weight", "A charge of this purchase is spread by weight, but this"
                " line has no weight: enter one (0 for a line that carries none of it)."
            )  # fmt: skip


def _check_charge(ctx: Context, table: Table, row: Row, bought_on: date | None) -> Planned | None:
    kind, sizes = row.get("kind"), ("amount", "percent", "distance")
    given = [key for key in sizes if row.get(key) is not None]
    distance = row.get("distance", "")
    if distance:
        distance = _check_distance(ctx, table, row, distance, bought_on)
    if not row.is_fine(*sizes):
        return None
    if len(given) != 1:
        text = (
            "The charge has no size: enter an amount, a percentage or a distance."
            if not given
            else f"The charge has {_both(given)}: keep one of them, or add two rows."
        )
        ctx.fault(table, row, given[1] if given else "amount", text)
        return None
    amount, percent = row.get("amount"), row.get("percent")
    negative = next((size for size in (amount, percent) if size is not None and size < 0), None)
    if negative is not None and kind is not None and kind not in _MAY_LOWER:
        ctx.fault(
            table, row, given[0], f"{negative} lowers the cost: make it a discount, or drop the"
            " minus sign."
        )  # fmt: skip
        return None
    if kind is None:
        return None
    said = table.sheet.stated(Charge, row.values)
    return Planned(said | {"distance_text": distance} if distance else said)


def _both(given: list[str]) -> str:
    words = {"amount": "an amount", "percent": "a percentage", "distance": "a distance"}
    return " and ".join(words[key] for key in given)


def _check_distance(
    ctx: Context, table: Table, row: Row, text: str, bought_on: date | None
) -> str | None:
    unit = find_unit(ctx.build.distance_unit)
    try:
        kept = with_unit(text, unit)
        distance = distance_in(kept, unit.symbol)
        if distance <= 0:
            raise QuantityError("A distance must be above zero: enter it like 36 mi.")
        highest_rate = max((rate for _, rate in ctx.build.rates), default=Decimal(0))
        _check_size(ctx, table, row, "distance", distance * Fraction(highest_rate))
    except QuantityError as error:
        ctx.fault(table, row, "distance", str(error))
        return None
    days = [from_on or date.min for from_on, _ in ctx.build.rates]
    if not days:
        ctx.fault(
            table, row, "distance", "The build has no distance rate: add a row Distance rate to"
            " the Build sheet, or enter the haulage as an amount."
        )  # fmt: skip
    elif bought_on is not None and min(days) > bought_on:
        ctx.fault(
            table, row, "distance", f"The first distance rate holds from {min(days)}, the purchase"
            f" is of {bought_on}: add an earlier rate, or enter the haulage as an amount."
        )  # fmt: skip
    return kept


def received(purchases: list[PlannedPurchase]) -> list[PlannedPurchase]:
    """Purchases whose material is there."""
    usual = State.RECEIVED
    return [one for one in purchases if one.values.get("state", usual) == State.RECEIVED]
