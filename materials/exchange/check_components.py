"""The sheets Elements, Suppliers, Components and Prices."""

from decimal import Decimal

from ..calc.money import round_half_up
from ..calc.quantities import QuantityError, parse_contents
from ..calc.safety.cautions import TRAIT_LABELS
from ..models import Component, Element, RetailPrice, Supplier
from ..queries.exchange import name_key
from ..queries.quantities import price_per, stored
from .context import Context, known_unit, required_quantity
from .faults import shown
from .plan import Planned, PlannedComponent
from .rows import Row, Table


def check_elements(ctx: Context, table: Table) -> None:
    """Make the listed elements known; those that exist already stay as they are."""
    seen: dict[str, int] = {}
    for row in table.rows:
        code, name = row.get("code"), row.get("name")
        if code is None or name is None:
            # Who refers to it is not at fault.
            ctx.faulty_elements |= {name_key(text) for text in (code, name) if text}
            continue
        key = name_key(code)
        if key in seen:
            ctx.fault(
                table, row, "code", f"The code {shown(code)} stands on row {seen[key]} already:"
                " keep one of them."
            )  # fmt: skip
            ctx.faulty_elements.add(name_key(name))
            continue
        seen[key] = row.number
        if key not in ctx.elements:
            ctx.add_element(code, name)
            ctx.new_elements.append(Planned(table.sheet.stated(Element, row.values)))


def check_suppliers(ctx: Context, table: Table) -> dict[str, Planned]:
    """Suppliers with more than a name, by key."""
    known: dict[str, Planned] = {}
    for row in table.rows:
        name = row.get("name")
        if name is None:
            continue
        key = name_key(name)
        if key in known:
            ctx.fault(table, row, "name", f"{shown(name)} is listed twice: keep one of them.")
            continue
        known[key] = Planned(table.sheet.stated(Supplier, row.values))
        ctx.suppliers.use(name)
    return known


def check_components(ctx: Context, table: Table) -> list[Planned]:
    """Make the listed components known; returns the prices that stand beside them."""
    prices: list[Planned] = []
    seen: dict[str, int] = {}
    for row in table.rows:
        name = row.get("name")
        if name is None:
            continue
        key = name_key(name)
        if key in seen:
            ctx.fault(
                table, row, "name", f"{shown(name)} is listed on row {seen[key]} already: keep"
                " one of them, or give this one a name of its own."
            )  # fmt: skip
            continue
        seen[key] = row.number
        part = _check_component(ctx, table, row, name)
        if key in (ctx.existing.components if ctx.existing else {}):
            _agree_with_existing(ctx, table, row, key, part)
        else:
            ctx.components[key] = part
            ctx.new_components.append(key)
        known = ctx.components[key]
        if known is None:
            continue
        if row.get("new_price") is not None:
            price = _check_price(ctx, table, row, key, known)
            prices += [price] if price else []
        elif row.get("new_price_per") or row.get("priced_on"):
            ctx.findings.note("Components: the unit or date of a price needs a New price.")
    return prices


def _check_component(ctx: Context, table: Table, row: Row, name: str) -> PlannedComponent | None:
    """The component of a row, or None where its unit or contents cannot be read."""
    element = ctx.find_element(table, row)
    part: PlannedComponent | None = None
    said = table.sheet.stated(Component, row.values)
    if row.get("unit") is not None:
        try:
            part = PlannedComponent(
                said | {"unit": known_unit(row.get("unit"))}, {"element": element}
            )
        except QuantityError as error:
            ctx.fault(table, row, "unit", str(error))
    contents = row.get("contents", "")
    try:
        parse_contents(contents)
    except QuantityError as error:
        ctx.fault(table, row, "contents", str(error))
        return None
    if row.get("new_per_one") == 0:
        ctx.fault(
            table, row, "new_per_one", (
                "0 would make new material free. Enter how many new ones replace one, or "
                "leave it empty for 1."
            )
        )  # fmt: skip
    if part is None or not row.is_fine("contents"):
        return None
    part.values.update(traits=_traits(ctx, table, row), life_years=_years(row))
    if part.values.pop("required_text", None) is not None:
        try:
            text, qty = required_quantity(row.get("required"), part)
            part.values.update(required_text=text, required_qty=qty)
        except QuantityError as error:
            ctx.fault(table, row, "required", str(error))
    return part


def _years(row: Row) -> Decimal | None:
    years = row.get("life_years")
    return None if years is None else round_half_up(years, 2)


def _agree_with_existing(
    ctx: Context, table: Table, row: Row, key: str, part: PlannedComponent | None
) -> None:
    existing = ctx.components[key]
    if part is None or existing is None or part.unit == existing.unit:
        return
    ctx.fault(
        table, row, "unit", f"{shown(existing.name)} is counted in {existing.unit} in this build,"
        f" here in {part.unit}: use {existing.unit}, or another name."
    )  # fmt: skip


def _check_price(
    ctx: Context, table: Table, row: Row, key: str, part: PlannedComponent
) -> Planned | None:
    per_text = row.get("new_price_per", "")
    try:
        per_qty = price_per(per_text, part)
    except QuantityError as error:
        ctx.fault(table, row, "new_price_per", str(error))
        return None
    if not row.is_fine("new_price", "new_price_per", "priced_on"):
        return None
    priced_on = row.get("priced_on")
    if priced_on is None:
        priced_on = ctx.today
        ctx.findings.note(
            f"{table.sheet.title}: a New price without a date is taken as of {ctx.today}."
        )
    if ctx.existing and (key, priced_on) in ctx.existing.prices:
        ctx.findings.note(
            f"{table.sheet.title}: new prices of a day that has one already are left out."
        )
        return None
    said = table.sheet.stated(RetailPrice, row.values)
    derived = {"priced_on": priced_on, "per_qty": stored(per_qty)}
    return Planned(said | derived, {"component": key})


def check_prices(ctx: Context, table: Table) -> list[Planned]:
    """Further dated prices."""
    prices = []
    for row in table.rows:
        key = ctx.find_component(table, row)
        part = ctx.components.get(key) if key else None
        if key and part and row.get("new_price") is not None and row.get("priced_on"):
            price = _check_price(ctx, table, row, key, part)
            prices += [price] if price else []
    return prices


def _traits(ctx: Context, table: Table, row: Row) -> list[str]:
    """What a component is for the cautions: the words of the component's page."""
    words = {label.casefold(): trait.value for trait, label in TRAIT_LABELS.items()}
    words |= {trait.value: trait.value for trait in TRAIT_LABELS}
    found = []
    for word in row.get("traits", "").split(","):
        wanted = " ".join(word.split()).casefold()
        if wanted and wanted not in words:
            ctx.fault(
                table, row, "traits", f"{shown(word.strip())} is not known here: enter words like"
                " painted, treated or masonry, with commas between them."
            )  # fmt: skip
        elif wanted:
            found.append(words[wanted])
    return list(dict.fromkeys(found))
